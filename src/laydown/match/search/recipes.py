"""All recipes that a kit allows within limits: their numbers, counts, colors and efforts."""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace
from functools import cache, lru_cache
from itertools import product

import numpy as np
from numpy.typing import NDArray

from laydown.color.arrays import FloatArray
from laydown.color.lab import lab_from_reflectance
from laydown.match.ranking import NOTHING, USUAL_LIMITS, VALUE_FIRST, Limits, Ranking
from laydown.match.search.blocks import RecipeBlock, extend, ground_block
from laydown.match.search.sense import TRAIT, Sense, Traits, of_steps, sense_of, traits_of
from laydown.match.search.shelves import (
    REMEMBERED,
    Ints,
    Tops,
    UsableColorants,
    all_tops,
    shelves,
)
from laydown.media.kit.fit import AnyFit, KitFit
from laydown.media.marker.model import MarkerFit
from laydown.media.recipe import Colorant, Medium, Recipe, Step, may_follow

ROWS_AT_ONCE = 30_000
"""Recipes in a block at most: some ten megabytes."""


@dataclass(frozen=True, slots=True, eq=False)
class RecipeSpace:
    """All recipes that a kit allows within limits, over what lies there already.

    A recipe is a number with a digit for each step, the bottom one in the lowest place: 0 where
    there is none, otherwise which of all steps that may be laid.
    """

    ground: RecipeBlock
    """What lies there already, as a block of one."""
    limits: Limits
    """Which recipes may be laid."""
    ranking: Ranking
    """What they are ranked by."""
    budget: int
    """How many coats may still be laid in all."""
    tops: tuple[Tops, ...]
    """All that one step may be, by how it is laid."""
    steps: tuple[Step, ...]
    """The same one by one; the digit of the first is 1."""
    efforts: FloatArray
    """Shape (digits,), what each step adds to the cost beside the difference."""
    considered: int
    """How many recipes there are, the one that adds nothing included."""
    measured: Ints
    """Shape (k,), the numbers of recipes that are predicted by their swatches, rising."""
    factors: FloatArray
    """Shape (k, 36), what each swatch shows over what the model says."""
    sense: Sense | None = None
    traits: Traits | None = None
    """The rules of the trade, and shape (digits, 2), each step as they see it; None where they are
    not to count."""

    @property
    def base(self) -> int:
        """How many values a digit may have."""
        return len(self.steps) + 1

    @property
    def colorants(self) -> tuple[Colorant, ...]:
        """Those that may be used, medium by medium."""
        shelves = {tops.medium: tops.shelf for tops in self.tops}
        return tuple(c for shelf in shelves.values() for c in shelf.colorants)

    def digits(self, numbers: Ints) -> Ints:
        """Return the digits of recipes, shape (n, steps); 0 where a recipe has fewer."""
        powers = self.base ** np.arange(self.limits.steps, dtype=np.int64)
        return np.asarray(numbers, dtype=np.int64)[:, None] // powers % self.base

    def recipe(self, number: int) -> Recipe:
        """Return the recipe with a number."""
        digits = self.digits(np.array([number]))[0].tolist()
        return Recipe(tuple(self.steps[digit - 1] for digit in digits if digit))

    def number(self, recipe: Recipe) -> int | None:
        """Return the number of a recipe; None where it may not be laid."""
        places = {step: digit for digit, step in enumerate(self.steps, start=1)}
        digits = [places.get(step) if isinstance(step, Step) else None for step in recipe.steps]
        known = [digit for digit in digits if digit is not None]
        if len(known) < len(digits) or recipe.length > self.limits.steps:
            return None
        return sum(digit * int(self.base**place) for place, digit in enumerate(known))

    def members(self, numbers: Ints) -> Ints:
        """Return the places of recipes' colorants in `colorants`, shape (n, steps).

        Bottom first, both of a mixture; -1 where a recipe has fewer steps.
        """
        used = np.full((self.base, 2), -1, dtype=np.int64)
        for tops in self.tops:
            first = self.colorants.index(tops.shelf.colorants[0])
            digits = slice(tops.first, tops.first + len(tops))
            used[digits, : tops.colorants.shape[1]] = first + tops.colorants
        every = used[self.digits(numbers)].reshape(len(numbers), 2 * self.limits.steps)
        bare = np.argsort(every < 0, axis=1, kind="stable")
        return np.take_along_axis(every, bare, axis=1)[:, : max(1, self.limits.steps)]

    def effort(self, numbers: Ints, wanted: FloatArray | None = None) -> FloatArray:
        """Return what recipes add to their cost beside the difference, shape (n,).

        With the color wanted, what goes against the sense of the trade for it is in that; without,
        this is what they add whatever is wanted, and so no more.
        """
        if not len(numbers) or not (self.efforts.any() or self.traits is not None):
            return np.zeros(len(numbers))
        digits = self.digits(numbers)
        effort = np.asarray(self.efforts[digits].sum(axis=1))
        if wanted is None or self.sense is None or self.traits is None:
            return effort
        return effort + self.sense.cost(self.traits, digits, wanted)

    @property
    def alone(self) -> Ints:
        """The numbers of recipes that are scored one by one, rising.

        Those swatched, of which parts say what the model does, and the one that adds nothing.
        """
        return np.union1d(self.measured, [0])

    @property
    def least_effort(self) -> float:
        """What any other recipe adds to its cost at least."""
        if self.base == 1:
            return 0.0
        first = self.efforts[1:]
        rest = np.delete(self.efforts, self.alone[self.alone < self.base])
        return float(min(rest.min(initial=np.inf), 2.0 * first.min()))

    def efforts_of(self, tops: Tops) -> FloatArray:
        """Return what each of some steps adds to the cost, shape (c,)."""
        return self.efforts[tops.first : tops.first + len(tops)]

    def lab(self, numbers: Ints) -> FloatArray:
        """Return the colors of recipes by the model itself, shape (n, 3)."""
        digits = self.digits(numbers)
        of_digit = np.repeat(np.arange(len(self.tops) + 1), [1, *map(len, self.tops)])
        ways = of_digit[digits]
        alike = ways @ (len(self.tops) + 1) ** np.arange(ways.shape[1])
        lab = np.empty((len(digits), 3))
        for way in np.unique(alike):
            rows = np.flatnonzero(alike == way)
            block, below = self.ground, np.zeros(len(rows), dtype=np.int64)
            for place in range(int(np.count_nonzero(ways[rows[0]]))):
                tops = self.tops[ways[rows[0], place] - 1]
                block = extend(block, tops, below, digits[rows, place] - tops.first, self.base)
                below = np.arange(len(rows))
            lab[rows] = self.seen(block)
        return lab

    def seen(self, block: RecipeBlock) -> FloatArray:
        """Return the colors of a block, shape (n, 3), swatched laydowns as their swatches have."""
        lab = block.lab
        rows = np.flatnonzero(np.isin(block.numbers, self.measured))
        if len(rows):
            factors = self.factors[np.searchsorted(self.measured, block.numbers[rows])]
            lab = np.array(lab)
            looks = block.rows(rows).reflectance * factors
            lab[rows] = lab_from_reflectance(looks[:, None])[:, 0]
        return lab

    def fitting(self, block: RecipeBlock, room: int = 0) -> tuple[RecipeBlock, list[Tops]]:
        """Return what may be laid on a block and leaves room for so many steps more.

        And the block, with what it looks like, where a film of another medium may lie on that.
        """
        left, media = self.limits.steps - block.steps - room, block.media
        fit = [t for t in self.tops if t.steps <= left and may_follow(media, t.medium)]
        seen = any(tops.medium not in {Medium.MARKER, block.medium} for tops in fit)
        return replace(block, seen=block.reflectance) if seen else block, fit

    def allowed(self, block: RecipeBlock, tops: Tops, room: int = 0) -> NDArray[np.bool_]:
        """Return shape (n, c): whether a step is another than the last, and its coats are left."""
        coats = block.laid[:, None] + (tops.coats + room) <= self.budget
        return np.asarray(coats & (block.last[:, None] != tops.kind))

    def in_single_precision(self) -> "RecipeSpace":
        """Return the same, laid in single precision where it is markers alone."""
        if [tops.medium for tops in self.tops] != [Medium.MARKER] or len(self.ground.media) > 1:
            return self
        (tops,), pile = self.tops, self.ground.pile
        shelf = replace(tops.shelf, k=tops.shelf.k.astype(np.float32))
        ground = replace(self.ground, pile=pile and (pile[0].astype(np.float32), *pile[1:]))
        return replace(self, tops=(replace(tops, shelf=shelf),), ground=ground)

    def levels(
        self, room: int = 0, most: Callable[[], float] = lambda: np.inf
    ) -> Iterator[RecipeBlock]:
        """Go through all recipes that leave room for so many steps more, those of fewest first.

        `room`: how many steps, in all that is gone through. `most`: asked again and again: what so
        many more steps on it can't but make dearer by effort alone is left out. So where recipes
        are many, those of few coats come first.
        """
        level: Iterable[RecipeBlock] = (self.ground,)
        for last in range(self.limits.steps - room, -1, -1):
            level = level if last == 0 else list(level)
            yield from level
            many = last and sum(map(len, level)) * self.base > 2 * ROWS_AT_ONCE
            coats = range(1, self.budget + 1) if many else (0,)
            below = product(coats, level)
            level = (above for n, block in below for above in self._above(block, room, most, n))

    def _above(
        self, block: RecipeBlock, room: int, most: Callable[[], float], coats: int
    ) -> Iterator[RecipeBlock]:
        """Lay one step more, for so many coats in all (0: any)."""
        more = room * float(self.efforts[1:].min(initial=np.inf))
        block, fitting = self.fitting(block, room)
        for tops in fitting:
            at_once = max(1, (8 if coats else 1) * ROWS_AT_ONCE // len(tops))
            for start in range(0, len(block), at_once):
                part = block.rows(slice(start, start + at_once))
                efforts = self.effort(part.numbers)[:, None] + self.efforts_of(tops)
                worth = efforts + more <= most()
                if coats:
                    worth &= part.laid[:, None] + tops.coats == coats + self.ground.laid[0]
                rows, picked = np.nonzero(self.allowed(part, tops, room) & worth)
                if len(rows):
                    yield extend(part, tops, rows, picked, self.base)


@lru_cache(REMEMBERED)
def recipe_space(
    fit: AnyFit,
    *,
    limits: Limits = USUAL_LIMITS,
    ranking: Ranking = VALUE_FIRST,
    over: Recipe = NOTHING,
) -> RecipeSpace:
    """Return all recipes that a kit allows.

    `fit`: the kit's colorants on the paper. `limits`, `ranking`: which recipes, and what they are
    ranked by. `over`: what lies on the paper already.
    """
    kit = KitFit(markers=fit) if isinstance(fit, MarkerFit) else fit
    held = tuple(shelves(kit, limits.without).items())
    tops, steps, efforts = _digits(held, limits.steps, limits.coats, ranking)
    most = kit.paper.coats_limit if limits.total_coats is None else limits.total_coats
    ground, budget = ground_block(kit, over), max(0, most - over.coats)
    count = _count(tops, ground.media, limits.steps, budget)
    measured = _measured(kit, over, steps)
    space = RecipeSpace(ground, limits, ranking, budget, tops, steps, efforts, count, *measured)
    if not ranking.sense:
        return space
    traits = _traits(held, limits.steps, limits.coats)
    return replace(space, sense=sense_of(kit, limits.without, over), traits=traits)


def _measured(kit: KitFit, over: Recipe, steps: tuple[Step, ...]) -> tuple[Ints, FloatArray]:
    """Return which recipes are predicted by their swatches, and by what factor on the model.

    With something there already, that alone may be one: the recipe that adds nothing to it.
    """
    whole = [over] if over.steps else [over, *(Recipe((step,)) for step in steps)]
    factors = [kit.of(r.colorants[0].medium).factor(r) if r.only_step else None for r in whole]
    numbers = [number for number, factor in enumerate(factors) if factor is not None]
    told = np.array([factors[number] for number in numbers], dtype=np.float64)
    return np.array(numbers, dtype=np.int64), told.reshape(-1, kit.paper.reflectance.shape[0])


@lru_cache(REMEMBERED)
def _traits(held: tuple[tuple[Medium, UsableColorants], ...], steps: int, coats: int) -> Traits:
    """Return steps by their digits as the rules of the trade see them; 0 is none."""
    filled = all_tops(dict(held), Limits(steps=steps, coats=coats))[1]
    own = {label: one for _, shelf in held for label, one in traits_of(shelf).items()}
    return np.concatenate([np.zeros((1, 2), dtype=TRAIT), of_steps(filled, own)])


@lru_cache(REMEMBERED)
def _digits(
    held: tuple[tuple[Medium, UsableColorants], ...], steps: int, coats: int, ranking: Ranking
) -> tuple[tuple[Tops, ...], tuple[Step, ...], FloatArray]:
    """Return what a digit may stand for, see `RecipeSpace`: the tops, the steps, their efforts."""
    tops, filled = all_tops(dict(held), Limits(steps=steps, coats=coats))
    efforts = np.array([0.0, *(ranking.effort(Recipe((step,))) for step in filled)])
    return tops, filled, efforts


def _count(every: tuple[Tops, ...], below: frozenset[Medium], most_steps: int, budget: int) -> int:
    """Count recipes without laying them: by what lies below, as many steps are left out as it was.

    What matters of the recipe below is its media, its steps and coats, and in how many ways of
    laying its last step stands.
    """
    kinds = [
        (tops, coats, frozenset(tops.kind.tolist()), int(np.sum(tops.coats == coats)))
        for tops in every
        for coats in sorted(set(tops.coats.tolist()))
    ]

    @cache
    def go(media: frozenset[Medium], last: frozenset[int], steps: int, coats: int) -> int:
        total = 1
        for tops, laid, kind, ways in kinds:
            if tops.steps <= steps and laid <= coats and may_follow(media, tops.medium):
                left = steps - tops.steps, coats - laid
                total += (ways - (kind == last)) * go(media | {tops.medium}, kind, *left)
        return total

    return go(below, frozenset(), most_steps, budget)
