"""The exact search for kits of pencils, washes and several media.

Every recipe within the limits is reached; a film's recipes are passed over only where their
lightness alone proves them worse than what is found. The proof per medium stands in
docs/decisions/search.md. Recipes of markers alone go to the search for markers.
"""

from dataclasses import dataclass, field

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.color.lab import lab_from_reflectance
from laydown.color.tristimulus import WEIGHTS_D50, WHITE_D50
from laydown.match.ranking import VALUE_FIRST, Ranking
from laydown.match.search.blocks import (
    Ints,
    RecipeBlock,
    UsableColorants,
    extend,
    film_tops,
    ground_block,
    grounds,
    shelves,
)
from laydown.match.search.exact import Finder, search_exactly
from laydown.match.search.film_loops import lightness_span, score_films
from laydown.match.search.found import NOTHING, Found, Watch, in_order
from laydown.match.search.mixed_space import Slot, may_lie, slots
from laydown.match.space import USUAL_LIMITS, Limits
from laydown.media.film.model import FilmFit
from laydown.media.kit.fit import AnyFit, KitFit, reflectance
from laydown.media.laydown import Medium
from laydown.media.marker.marker import MarkerFit
from laydown.media.recipe import Recipe, Step

MARGIN = 1e-4
"""How far above the k-th best [CIEDE2000] a recipe is still rescored by the model itself."""
CHUNK = 24
"""So many grounds of about one lightness share a bound."""
POOL = 20_000
"""Candidates kept before those that the bound has overtaken are dropped."""
WEIGHTS = np.ascontiguousarray((WEIGHTS_D50 / WHITE_D50).T)
IMPOSSIBLE = 1e9


@dataclass(slots=True, eq=False)
class _Best:
    """The lowest costs so far, and every recipe that may be among them or within a margin."""

    top: int
    within: float
    lowest: FloatArray
    pool: list[tuple[float, RecipeBlock, int, Slot | None, int]] = field(default_factory=list)

    @property
    def bound(self) -> float:
        """Return the cost up to which a recipe is of interest: little above the k-th best."""
        return float(self.lowest[-1]) + MARGIN + self.within

    def offer(self, costs: FloatArray, block: RecipeBlock, slot: Slot | None) -> None:
        """Take in costs (n, c) of what fills a slot on a block."""
        rows, tops = np.nonzero((costs <= self.bound) & (costs < IMPOSSIBLE))
        if not len(rows):
            return
        found = costs[rows, tops]
        self.lowest = np.sort(np.concatenate([self.lowest, found]))[: self.top]
        kept = np.flatnonzero(found <= self.bound)
        self.pool += [
            (float(found[i]), block, int(rows[i]), slot, int(tops[i])) for i in kept.tolist()
        ]
        if len(self.pool) > POOL:
            self.pool = self.candidates()

    def candidates(self) -> list[tuple[float, RecipeBlock, int, Slot | None, int]]:
        """Return what may be among the best."""
        return [entry for entry in self.pool if entry[0] <= self.bound]


@dataclass(slots=True, eq=False)
class _Task:
    """A search under way."""

    wanted: FloatArray
    ranking: Ranking
    shelves: dict[Medium, UsableColorants]
    choices: dict[Slot, Ints]
    efforts: dict[Slot, FloatArray]
    delegated: bool
    best: _Best
    considered: int = 1

    @property
    def ks(self) -> FloatArray:
        """Return kL, kC, kH."""
        return np.array([self.ranking.k_L, self.ranking.k_C, self.ranking.k_H])

    def effort(self, block: RecipeBlock) -> FloatArray:
        """Return what each recipe of a block adds to its cost beside its difference, shape (n,)."""
        total = np.zeros(len(block.choices))
        for place, slot in enumerate(block.slots):
            total += self.efforts[slot][block.choices[:, place]]
        return total

    def recipe(self, block: RecipeBlock, row: int, slot: Slot | None, top: int) -> Recipe:
        """Return the recipe of a candidate."""
        filled = list(zip(block.slots, block.choices[row].tolist(), strict=True))
        filled += [(slot, top)] if slot else []
        steps = [
            self.shelves[one.medium].step(one, tuple(self.choices[one][chosen].tolist()))
            for one, chosen in filled
        ]
        return Recipe(tuple(steps))


def search_kit(
    fit: AnyFit,
    lab: FloatArray,
    *,
    limits: Limits = USUAL_LIMITS,
    ranking: Ranking = VALUE_FIRST,
    top: int = 10,
    over: Recipe = NOTHING,
    watch: Watch | None = None,
    within: float = 0.0,
    finder: Finder | None = None,
) -> Found:
    """Find the best of all recipes within the limits, of whatever media the kit holds.

    What each medium may be laid as stands in
    `laydown.match.search.mixed_space.slots`; a palette mixture
    counts as two steps; orders that ruin tools or work don't occur. No treatment is added, so the
    answer is always a way without solvent.

    Parameters
    ----------
    fit
        The kit's colorants on the paper; of markers alone it goes to `laydown.match.search.exact`.
    lab
        Shape (3,), the wanted color.
    limits, ranking, top, over, watch
        Which recipes, what they are ranked by, how many of the best, what lies there already, and
        who is told how far the search is.
    within, finder
        As in `laydown.match.search.exact.search_exactly`; the finder is asked for markers' recipes.

    Returns
    -------
    Found
        Ranked by the model itself.

    Examples
    --------
    ``search_kit(kit_fit, wanted, limits=Limits(steps=2)).recipes[0]``
    """
    if isinstance(fit, MarkerFit):
        return search_exactly(
            fit,
            lab,
            limits=limits,
            ranking=ranking,
            top=top,
            over=over,
            watch=watch,
            within=within,
            finder=finder,
        )
    wanted = np.array(lab, dtype=np.float64)
    ground = ground_block(fit, over)
    task, found = (
        _task(fit, wanted, limits, ranking, _Best(top, within, np.full(top, IMPOSSIBLE))),
        None,
    )
    if fit.markers is not None and ground.media <= {Medium.MARKER}:
        task.delegated = True
        found = search_exactly(
            fit.markers,
            wanted,
            limits=limits,
            ranking=ranking,
            top=top,
            over=over,
            within=within,
            finder=finder,
        )
    _offer_nothing(task, ground, found)
    most = fit.paper.coats_limit if limits.total_coats is None else limits.total_coats
    _visit(task, ground, limits.steps, max(0, most - over.coats), watch)
    return _ranked(task, fit, over, found)


def _task(fit: KitFit, wanted: FloatArray, limits: Limits, ranking: Ranking, best: _Best) -> _Task:
    held = shelves(fit, limits.without)
    choices = {
        slot: filled
        for medium, one in held.items()
        for slot in slots(medium, limits)
        if (filled := slot.choices(len(one.colorants)))
    }
    efforts = {
        slot: np.array(
            [ranking.effort(Recipe((held[slot.medium].step(slot, one),))) for one in filled]
        )
        for slot, filled in choices.items()
    }
    arrays = {
        slot: np.array(filled, dtype=np.int64).reshape(-1, slot.steps)
        for slot, filled in choices.items()
    }
    return _Task(wanted, ranking, held, arrays, efforts, False, best)


def _offer_nothing(task: _Task, ground: RecipeBlock, found: Found | None) -> None:
    if found is None:
        cost = task.ranking.difference(task.wanted, lab_from_reflectance(ground.seen))
        task.best.offer(cost[:, None], ground, None)
        return
    task.considered = found.considered
    costs = np.concatenate([task.best.lowest, found.costs])
    task.best.lowest = np.sort(costs)[: task.best.top]


def _visit(task: _Task, block: RecipeBlock, steps: int, budget: int, watch: Watch | None) -> None:
    """Score all that may be laid on a block, then do the same on what that makes."""
    fitting = [
        slot
        for slot in task.choices
        if slot.steps <= steps and slot.laydown.coats <= budget and may_lie(block.media, slot)
    ]
    for done, slot in enumerate(fitting):
        allowed = _allowed(task, block, slot)
        if not _only_markers(task, block, slot):
            task.considered += int(allowed.sum())
            _score(task, block, slot, allowed)
        left, coats = steps - slot.steps, budget - slot.laydown.coats
        if left > 0 and coats > 0 and allowed.any():
            rows, tops = np.nonzero(allowed)
            shelf_of = task.shelves[slot.medium]
            above = extend(block, shelf_of, slot, (rows, tops), task.choices[slot])
            _visit(task, above, left, coats, None)
        if watch:
            watch(done + 1, len(fitting))


def _allowed(task: _Task, block: RecipeBlock, slot: Slot) -> FloatArray:
    """Return shape (n, c): whether a choice is another than the one right below it."""
    allowed = np.ones((len(block.choices), len(task.choices[slot])), dtype=np.bool_)
    if block.slots and (block.slots[-1].medium, block.slots[-1].parts) == (slot.medium, slot.parts):
        allowed[np.arange(len(allowed)), block.choices[:, -1]] = False
    return np.asarray(allowed)


def _only_markers(task: _Task, block: RecipeBlock, slot: Slot) -> bool:
    """Whether a recipe is of markers alone, so that the search for markers has it."""
    return task.delegated and {slot.medium, *block.media} == {Medium.MARKER}


def _score(task: _Task, block: RecipeBlock, slot: Slot, allowed: FloatArray) -> None:
    shelf_of, choices = task.shelves[slot.medium], task.choices[slot]
    if isinstance(shelf_of.fit, FilmFit):
        costs = _film_costs(task, block, slot)
    else:
        rows, tops = np.nonzero(allowed)
        laid = extend(block, shelf_of, slot, (rows, tops), choices)
        costs = np.full(allowed.shape, IMPOSSIBLE)
        costs[rows, tops] = task.ranking.difference(task.wanted, lab_from_reflectance(laid.seen))
    costs += task.effort(block)[:, None] + task.efforts[slot]
    task.best.offer(np.where(allowed, costs, IMPOSSIBLE), block, slot)


def _film_costs(task: _Task, block: RecipeBlock, slot: Slot) -> FloatArray:
    """Return the costs (n, c) of films on a block, `IMPOSSIBLE` where lightness rules them out."""
    shelf_of = task.shelves[slot.medium]
    assert isinstance(shelf_of.fit, FilmFit)
    load = block.load if block.medium is slot.medium else 0.0
    reflected, squared, _ = film_tops(shelf_of, slot, task.choices[slot], load)
    below = grounds(block, slot, slot.medium, shelf_of.fit)
    costs = np.full((len(below), len(reflected)), IMPOSSIBLE)
    order = np.argsort((below @ WEIGHTS[1]).mean(axis=1), kind="stable")
    for start in range(0, len(order), CHUNK):
        rows = order[start : start + CHUNK]
        near = np.ascontiguousarray(below[rows])
        bounded = float(reflected.max() * near.max()) < 1.0
        films = np.arange(len(reflected))
        if bounded:
            films = np.flatnonzero(_reachable(task, near, reflected, squared))
        if not len(films):
            continue
        part = np.empty((len(rows), len(films)))
        score_films(
            near,
            reflected[films],
            squared[films],
            WEIGHTS,
            task.wanted,
            task.ks,
            task.best.bound,
            part,
        )
        costs[np.ix_(rows, films)] = part
    return costs


def _reachable(
    task: _Task, near: FloatArray, reflected: FloatArray, squared: FloatArray
) -> FloatArray:
    """Return shape (c,): whether a film's lightness on any of these grounds may come near enough.

    The lightness term of CIEDE2000 falls toward the wanted lightness from either side
    (`laydown.match.search.window.lightness_reach`), so the nearer end of the span bounds it.
    """
    if task.best.bound >= IMPOSSIBLE:
        return np.ones(len(reflected))
    span = np.empty((len(reflected), 2))
    low, high = near.min(axis=0), near.max(axis=0)
    lightness_span(low, high, reflected, squared, WEIGHTS, span)
    nearest = np.clip(task.wanted[0], span[:, 0], span[:, 1])
    mean = 0.5 * (nearest + task.wanted[0]) - 50.0
    s_l = 1.0 + 0.015 * mean**2 / np.sqrt(20.0 + mean**2)
    term = np.abs(nearest - task.wanted[0]) / (task.ranking.k_L * s_l)
    return np.asarray(term <= task.best.bound, dtype=np.float64)


def _ranked(task: _Task, fit: KitFit, over: Recipe, found: Found | None) -> Found:
    """Score what may be among the best by the model itself, and put the best first."""
    recipes = [task.recipe(*entry[1:]) for entry in task.best.candidates()]
    recipes += list(found.recipes) if found else []
    seen = np.array([reflectance(fit, over.then(recipe)) for recipe in recipes])
    costs = task.ranking.difference(task.wanted, lab_from_reflectance(seen))
    costs = costs + [task.ranking.effort(recipe) for recipe in recipes]
    order = in_order(costs, [recipe.key for recipe in recipes])
    kept = min(task.best.top, len(order))
    if task.best.within > 0.0:
        kept = max(kept, int(np.sum(costs <= costs[order[kept - 1]] + task.best.within)))
    order = order[:kept]
    return Found(tuple(recipes[i] for i in order), costs[order], task.considered)


def every_recipe(fit: KitFit, limits: Limits, over: Recipe = NOTHING) -> list[Recipe]:
    """Return all recipes within the limits, one by one: the plain definition, slow on purpose."""
    found: list[Recipe] = []
    most = fit.paper.coats_limit if limits.total_coats is None else limits.total_coats
    steps_of = _fillings(fit, limits)
    media = frozenset(s.colorant.medium for s in over.steps if isinstance(s, Step))

    def go(recipe: Recipe, below: frozenset[Medium], steps: int, budget: int) -> None:
        found.append(recipe)
        for slot, fillings in steps_of.items():
            left, coats = steps - slot.steps, budget - slot.laydown.coats
            if left < 0 or coats < 0 or not may_lie(below, slot):
                continue
            for step in fillings:
                if not (recipe.steps and _alike(recipe.steps[-1], step)):
                    go(Recipe((*recipe.steps, step)), below | {slot.medium}, left, coats)

    go(Recipe(), media, limits.steps, max(0, most - over.coats))
    return found


def _fillings(fit: KitFit, limits: Limits) -> dict[Slot, list[Step]]:
    return {
        slot: [one.step(slot, choice) for choice in slot.choices(len(one.colorants))]
        for m, one in shelves(fit, limits.without).items()
        for slot in slots(m, limits)
    }


def _alike(below: object, above: Step) -> bool:
    return isinstance(below, Step) and (below.colorant, below.mixed) == (
        above.colorant,
        above.mixed,
    )
