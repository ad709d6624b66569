"""A lesson converted as a whole: what departs from the nearest recipes, why, and what is lost."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import combinations, pairwise
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from laydown.color.arrays import FloatArray
from laydown.color.lab import ciede2000
from laydown.color.value import value_from_lab
from laydown.match.outcome import Target
from laydown.match.question import Question
from laydown.match.ranking import VALUE_FIRST
from laydown.match.search.repertoire import Repertoire
from laydown.media.kit.fit import color_of
from laydown.media.recipe import Recipe
from laydown.plan.kit.problem import Places
from laydown.plan.lesson.lesson import Lesson, Turn, turned
from laydown.plan.run.runs import Mending, Shade, mending
from laydown.plan.run.runs import turn as way_round

# What a whole palette costs: nearness, order and spacing of values, colors kept apart.
#
# The cost is written down, with its reasons, in docs/decisions/lessons.md.

BROKEN = 1000.0
"""A pair of a passage whose order of values is broken: more than all else together."""
MERGED = 8.0
"""A pair of colors that were different and aren't any more."""
SPACING = 3.0
"""A value step between neighbors of a passage that is off by one."""
TOLD_APART = 0.1
"""Wanted values nearer than this have no order to keep; the threshold "value right"."""
SAME_VALUE = 1e-6
"""Value steps that are none: the same recipe, computed in two ways, comes out so near (chosen)."""
DIFFERENT = 4.6
"""Wanted colors at least this far apart in CIELAB are to be kept apart."""
STILL_DIFFERENT = 2.3
"""Colors nearer than this in CIELAB look the same side by side; read in a secondary source."""


@dataclass(frozen=True, slots=True, eq=False)
class Palette:
    """Wanted colors with the recipes that may stand for each."""

    lab: FloatArray
    value: FloatArray
    """Shape (n, 3) and (n,), of the wanted colors."""
    passages: tuple[int, ...]
    """Shape (n,), numbers of passages; -1 for a color of none."""
    labs: tuple[FloatArray, ...]
    values: tuple[FloatArray, ...]
    costs: tuple[FloatArray, ...]
    """For each color its recipes: shapes (k, 3), (k,), (k,); costs are nearness times weight."""

    def __len__(self) -> int:
        """Return how many colors are wanted."""
        return len(self.passages)

    def only(self, keep: Sequence[Places]) -> "Palette":
        """Return it with some of the recipes of each color, by their places."""
        labs, values, costs = (
            tuple(x[k] for x, k in zip(of, keep, strict=True))
            for of in (self.labs, self.values, self.costs)
        )
        return replace(self, labs=labs, values=values, costs=costs)

    def in_one_passage(self, i: int, j: int) -> bool:
        """Return whether two colors belong to the same passage."""
        return self.passages[i] == self.passages[j] >= 0

    @property
    def neighbors(self) -> frozenset[tuple[int, int]]:
        """Pairs that follow each other in value within a passage."""
        found = set()
        for passage in set(self.passages) - {-1}:
            row = self.from_light([i for i, p in enumerate(self.passages) if p == passage])
            found |= set(pairwise(row))
        return frozenset(found)

    def from_light(self, colors: Sequence[int]) -> list[int]:
        """Return colors from light to dark."""
        return sorted(colors, key=lambda i: (-float(self.value[i]), i))


def palette_of(
    targets: Sequence[Target],
    labs: Sequence[FloatArray],
    weights: FloatArray,
    costs: Sequence[FloatArray] | None = None,
) -> Palette:
    """Return the palette of targets with the colors of the recipes for each, and what they cost.

    Where nobody says what they cost, it is their difference alone.
    """
    if costs is None:
        pairs = zip(targets, labs, strict=True)
        costs = [VALUE_FIRST.difference(target.lab, seen) for target, seen in pairs]
    names = list(dict.fromkeys(t.passage for t in targets if t.passage))
    lab = np.array([t.lab for t in targets]).reshape(-1, 3)
    return Palette(
        lab=lab,
        value=np.asarray(value_from_lab(lab)).reshape(-1),
        passages=tuple(names.index(t.passage) if t.passage else -1 for t in targets),
        labs=tuple(labs),
        values=tuple(np.asarray(value_from_lab(seen)) for seen in labs),
        costs=tuple(weight * cost for cost, weight in zip(costs, weights, strict=True)),
    )


def pair_cost(palette: Palette, i: int, j: int, *, neighbors: bool) -> FloatArray:
    """Return what each recipe of color i beside each of color j costs, shape (k_i, k_j).

    `neighbors`: whether they follow each other in value within their passage.
    """
    cost = merged(palette, i, j) * MERGED
    if not palette.in_one_passage(i, j):
        return np.asarray(cost)
    wanted = float(palette.value[i] - palette.value[j])
    got = palette.values[i][:, None] - palette.values[j][None, :]
    if abs(wanted) >= TOLD_APART:
        cost = cost + BROKEN * (got * np.sign(wanted) <= SAME_VALUE)
    if neighbors:
        cost = cost + SPACING * np.abs(got - wanted)
    return np.asarray(cost)


def merged(palette: Palette, i: int, j: int) -> FloatArray:
    """Return 1 where two colors that were different no longer are, shape (k_i, k_j)."""
    a, b = palette.labs[i], palette.labs[j]
    if float(np.linalg.norm(palette.lab[i] - palette.lab[j])) < DIFFERENT:
        return np.zeros((len(a), len(b)))
    square = np.sum(a**2, axis=1)[:, None] + np.sum(b**2, axis=1)[None, :] - 2.0 * a @ b.T
    return np.asarray(square < STILL_DIFFERENT**2, dtype=np.float64)


def chosen_only(palette: Palette, choice: Sequence[int]) -> Palette:
    """Return the palette with one recipe for each color."""
    return palette.only([np.array([place]) for place in choice])


def total_cost(palette: Palette, choice: Sequence[int]) -> float:
    """Return the cost of a choice of one recipe for each color, straight from the definition."""
    one = chosen_only(palette, choice)
    near = one.neighbors
    total = sum(float(cost[0]) for cost in one.costs)
    for i, j in combinations(range(len(one)), 2):
        beside = (i, j) in near or (j, i) in near
        total += float(pair_cost(one, i, j, neighbors=beside)[0, 0])
    return total


def broken_orders(palette: Palette, choice: Sequence[int]) -> list[tuple[int, int]]:
    """Return the pairs of a passage whose values are out of order, the one wanted lighter first."""
    one = chosen_only(palette, choice)
    got = np.array([values[0] for values in one.values])
    return [(i, j) for i, j in crossed(one.value, got) if one.in_one_passage(i, j)]


def crossed(wanted: FloatArray, got: FloatArray) -> list[tuple[int, int]]:
    """Return the pairs whose values come out in the wrong order, the one wanted lighter first.

    `wanted`, `got`: shape (n,), values; wanted ones that can't be told apart have no order to keep.

    >>> crossed(np.array([8.0, 5.0, 4.95]), np.array([6.0, 6.5, 6.6]))
    [(0, 1), (0, 2)]
    """
    return [
        (i, j)
        for i in range(len(wanted))
        for j in range(len(wanted))
        if float(wanted[i] - wanted[j]) >= TOLD_APART and got[i] - got[j] <= SAME_VALUE
    ]


# The best recipes for a whole palette at once, proven.
#
# Each passage is solved by itself, by a search in depth whose bound is exact along the chain of
# its neighbors; only passages with colors that come out the same are then solved together. What
# is left out in between costs nothing or more: the sum is a bound, and the answer when nothing is
# left out.

_Answer: TypeAlias = tuple[dict[int, int], float]
FIRST_LOOK = 24
"""Recipes of each color in the first look, which tells how far the others can matter."""
MOST = 500
"""More recipes of a color than this are left out, and the bound says so."""
NODES = 40_000
"""Nodes of a search in depth before it is given up with its bound."""


@dataclass(frozen=True, slots=True)
class Optimum:
    """How good the best choice found is."""

    cost: float
    """As `laydown.plan.lesson.conversion.total_cost` has it."""
    bound: float
    """No choice costs less."""

    @property
    def proven(self) -> bool:
        """Whether no other choice is better."""
        return self.cost <= self.bound + 1e-6


Choice: TypeAlias = tuple[int, ...]
"""For each color the place of its recipe among those that may stand for it."""


def best_palette(palette: Palette, *, start: Sequence[int] = ()) -> tuple[Choice, Optimum]:
    """Choose one recipe for each color.

    `palette`: the colors, each with at least one recipe. `start`: a choice that is known already,
    such as the nearest recipe color by color. The bound of what is returned is its cost where the
    search came to an end.
    """
    if not len(palette):
        return (), Optimum(0.0, 0.0)
    order = [np.argsort(cost, kind="stable") for cost in palette.costs]
    looked = [places[:FIRST_LOOK] for places in order]
    if start:
        looked = [np.union1d(places, [s]) for places, s in zip(looked, start, strict=True)]
    first_choice, first = _on(palette, looked)
    lowest = np.array([float(cost.min()) for cost in palette.costs])
    spare = first.cost - first_bound(palette)
    kept, least_left_out = [], np.inf
    for place, (places, cost) in enumerate(zip(order, palette.costs, strict=True)):
        may_be = places[cost[places] <= lowest[place] + spare + 1e-9]
        kept.append(may_be[:MOST])
        if len(may_be) > MOST:
            left_out = float(cost[may_be[MOST]]) - lowest[place]
            least_left_out = min(least_left_out, first_bound(palette) + left_out)
    if start:
        kept = [np.union1d(places, [s]) for places, s in zip(kept, start, strict=True)]
    choice, found = _on(palette, kept)
    if first.cost < found.cost:
        choice, found = first_choice, Optimum(first.cost, found.bound)
    return choice, Optimum(found.cost, min(found.bound, least_left_out, found.cost))


def first_bound(palette: Palette) -> float:
    """Return a bound that asks of each color only its nearest recipe."""
    return sum(float(cost.min()) for cost in palette.costs)


def _on(palette: Palette, kept: Sequence[Places]) -> tuple[Choice, Optimum]:
    """Solve with some of the recipes; the choice is in places of the whole."""
    small = palette.only(kept)
    choice, bound = _by_groups(small)
    whole = tuple(int(places[c]) for places, c in zip(kept, choice, strict=True))
    return whole, Optimum(total_cost(palette, whole), bound)


def _by_groups(palette: Palette) -> tuple[list[int], float]:
    """Solve passage by passage, and together those whose colors come out the same."""
    groups = _passages(palette)
    active: set[tuple[int, int]] = set()
    solved: dict[tuple[tuple[int, ...], frozenset[tuple[int, int]]], _Answer] = {}
    while True:
        choice: dict[int, int] = {}
        bound = 0.0
        for group in groups:
            inside = frozenset(pair for pair in active if set(pair) <= set(group))
            if (group, inside) not in solved:
                solved[group, inside] = _solved(palette, group, inside)
            found, least = solved[group, inside]
            choice |= found
            bound += least
        clash = _clashes(palette, choice) - active
        if not clash:
            return [choice[i] for i in range(len(palette))], bound
        active |= clash
        groups = _joined(groups, clash)


def _passages(palette: Palette) -> list[tuple[int, ...]]:
    groups: dict[int, list[int]] = {}
    for i, passage in enumerate(palette.passages):
        groups.setdefault(passage if passage >= 0 else -1 - i, []).append(i)
    return [tuple(palette.from_light(group)) for group in groups.values()]


def _clashes(palette: Palette, choice: dict[int, int]) -> set[tuple[int, int]]:
    """Return the pairs of different passages that came out the same."""
    one = chosen_only(palette, [choice[i] for i in range(len(palette))])
    return {
        (i, j)
        for i, j in combinations(range(len(palette)), 2)
        if not palette.in_one_passage(i, j) and merged(one, i, j)[0, 0]
    }


def _joined(
    groups: Sequence[tuple[int, ...]], clash: set[tuple[int, int]]
) -> list[tuple[int, ...]]:
    joined = [list(group) for group in groups]
    for i, j in sorted(clash):
        with_i = next(g for g in joined if i in g)
        with_j = next(g for g in joined if j in g)
        if with_i is not with_j:
            with_i += with_j
            joined.remove(with_j)
    return [tuple(group) for group in joined]


_Pairs: TypeAlias = dict[tuple[int, int], FloatArray]
"""What the recipes of two colors cost beside each other, by the colors' places in a group."""


def _solved(
    palette: Palette, colors: tuple[int, ...], active: frozenset[tuple[int, int]]
) -> _Answer:
    """Solve colors together, settled in this order; the bound is the cost where the search ended.

    `active`: pairs of different passages that count.
    """
    pairs = _pairs(palette, colors, active)
    first = [palette.costs[i] for i in colors]
    ahead = _look_ahead(pairs, first)
    best, choice, nodes = np.inf, tuple[int, ...](), 0

    def settle(
        settled: tuple[int, ...], total: float, costs: list[FloatArray], onward: list[FloatArray]
    ) -> None:
        """Try the recipes of the next color, those first that promise most.

        `costs` holds what each recipe still to come costs beside those settled. Where a passage
        begins, the look ahead is taken anew, since what is settled bears on it.
        """
        nonlocal best, choice, nodes
        place = len(settled)
        if place and not palette.in_one_passage(*colors[place - 1 : place + 1]):
            onward = _look_ahead(pairs, costs, place)
        promise = total + costs[place] + onward[place]
        for recipe in np.argsort(promise, kind="stable").tolist():
            if promise[recipe] >= best - 1e-9 or nodes >= NODES:
                return
            nodes += 1
            now, sum_now = (*settled, recipe), total + float(costs[place][recipe])
            if place + 1 == len(colors):
                best, choice = sum_now, now
                return
            settle(now, sum_now, _beside(pairs, place, recipe, costs), onward)

    settle((), 0.0, first, ahead)
    bound = best if nodes < NODES else float((first[0] + ahead[0]).min())
    return dict(zip(colors, choice, strict=True)), bound


def _pairs(palette: Palette, colors: tuple[int, ...], active: frozenset[tuple[int, int]]) -> _Pairs:
    near, pairs = palette.neighbors, {}
    for b, j in enumerate(colors):
        for a, i in enumerate(colors[:b]):
            if palette.in_one_passage(i, j) or (min(i, j), max(i, j)) in active:
                cost = pair_cost(palette, i, j, neighbors=(i, j) in near)
                if cost.any():
                    pairs[a, b] = cost
    return pairs


def _look_ahead(pairs: _Pairs, costs: list[FloatArray], first: int = 0) -> list[FloatArray]:
    """Find what the colors after each cost at least, by the recipe it has; from `first` on.

    Places below `first` hold nothing of use.
    """
    onward = [np.zeros(len(cost)) for cost in costs]
    for a in range(len(costs) - 2, first - 1, -1):
        rest = costs[a + 1] + onward[a + 1]
        pair = pairs.get((a, a + 1))
        onward[a] += float(rest.min()) if pair is None else (pair + rest).min(axis=1)
    return onward


def _beside(pairs: _Pairs, place: int, recipe: int, costs: list[FloatArray]) -> list[FloatArray]:
    """Return the costs still to come once this recipe is settled."""
    further = list(costs)
    for later in range(place + 1, len(costs)):
        pair = pairs.get((place, later))
        if pair is not None:
            further[later] = further[later] + pair[recipe]
    return further


YIELDS = 8.0
"""How much further off than its nearest recipe [CIEDE2000 at kL 0.5] a color may come out for the
sake of the others (chosen: beyond it a color is no longer the one that was asked for)."""


FEW_MORE = 12
"""So many of a color's recipes, those that promise most, have their doubt worked out at a time."""


@dataclass(frozen=True, slots=True, eq=False)
class Options:
    """For each color the recipes that may stand for it."""

    repertoire: Repertoire
    """The short recipes of the kit."""
    questions: tuple[Question, ...]
    weights: FloatArray
    """What is asked for each color, and shape (colors,), how much it counts."""
    places: tuple[Places, ...]
    """For each color their places in the repertoire."""
    more: tuple[tuple[Recipe, ...], ...]
    """For each color further recipes, such as longer ones found for it alone."""
    palette: Palette
    """The colors of all of them, those of `more` last. What a recipe costs is known from below: as
    predicted, without its doubt; of those that are `sure` it is what they cost."""
    sure: tuple[NDArray[np.bool_], ...]
    """For each color, which."""
    earned: tuple[float, ...]
    """For each color the effort of its own recipe, the first of `more`; 0 where it has none. Every
    recipe is counted at least as much: what steps and coats earned for the color alone isn't spent
    again for the sake of the others, so that none is further off for being plainer."""

    def recipe(self, color: int, place: int) -> Recipe:
        """Return one of a color's recipes."""
        short = self.places[color]
        if place < len(short):
            return self.repertoire.recipe(int(short[place]))
        return self.more[color][place - len(short)]

    def recipes(self, choice: Sequence[int]) -> tuple[Recipe, ...]:
        """Return the recipes of a choice of one for each color."""
        return tuple(self.recipe(color, place) for color, place in enumerate(choice))

    def first_of_more(self, color: int) -> int:
        """Return the place of a color's first further recipe."""
        return len(self.places[color])

    def surer(self, choice: Sequence[int]) -> "Options":
        """Return it with a choice's costs made sure, and of its unsure colors some more."""
        costs = [cost.copy() for cost in self.palette.costs]
        sure = [known.copy() for known in self.sure]
        for color, place in enumerate(choice):
            if sure[color][place]:
                continue
            promising = np.argsort(np.where(sure[color], np.inf, costs[color]), kind="stable")
            for one in {place, *promising[:FEW_MORE].tolist()}:
                if not sure[color][one]:
                    question, recipe = self.questions[color], self.recipe(color, one)
                    spared = max(self.earned[color] - question.effort(recipe), 0.0)
                    costs[color][one] = self.weights[color] * (question.cost(recipe) + spared)
                    sure[color][one] = True
        return replace(self, palette=replace(self.palette, costs=tuple(costs)), sure=tuple(sure))


def options(
    questions: Sequence[Question],
    repertoire: Repertoire,
    weights: FloatArray,
    *,
    more: Sequence[Sequence[Recipe]] = (),
) -> Options:
    """Gather the recipes that may stand for each color.

    `questions`: what is asked for each color, of the kit that the repertoire is of. `repertoire`:
    the short recipes of the kit, with what they are ranked by. `weights`: shape (colors,), how much
    each color counts. `more`: for each color further recipes, found for it alone. Returns every
    short recipe that costs, as predicted, no more than `YIELDS` above the best; where a color was
    asked by the name of what is its best recipe, that alone.
    """
    further = tuple(tuple(m) for m in more) or ((),) * len(questions)
    places, labs, costs, sure, earned = [], [], [], [], []
    for question, known in zip(questions, further, strict=True):
        target, over = question.target, question.over
        cost = question.ranking.difference(target.lab, repertoire.lab)
        earned.append(question.effort(known[0]) if known else 0.0)
        effort = repertoire.space.effort(repertoire.numbers, target.lab)
        cost += np.maximum(effort, earned[-1])
        near = np.flatnonzero(cost <= float(cost.min()) + YIELDS)
        if target.asked_as is not None and target.asked_as in known:
            near = near[:0]
        seen = [color_of(question.fit, over.then(recipe)) for recipe in known]
        labs.append(np.concatenate([repertoire.lab[near], np.array(seen).reshape(-1, 3)]))
        places.append(near)
        costs.append(np.append(cost[near], [question.cost(recipe) for recipe in known]))
        sure.append(np.arange(len(costs[-1])) >= len(near))
    palette = palette_of([question.target for question in questions], labs, weights, costs)
    return Options(
        repertoire=repertoire,
        questions=tuple(questions),
        weights=weights,
        places=tuple(places),
        more=further,
        palette=palette,
        sure=tuple(sure),
        earned=tuple(earned),
    )


def nearest(found: Options) -> tuple[int, ...]:
    """Return the choice of the nearest recipe color by color."""
    return tuple(int(np.argmin(cost)) for cost in found.palette.costs)


def best_together(found: Options, start: Sequence[int] = ()) -> tuple[Options, Choice, Optimum]:
    """Return the best choice for the palette as a whole, and the options with what was made sure.

    Doubt only adds to a cost. So the best choice by what is known of the costs is the best of all
    once the costs of its own recipes are sure; until they are, more are made so.
    """
    found = found.surer(start or nearest(found))
    while True:
        choice, optimum = best_palette(found.palette, start=start or nearest(found))
        if all(found.sure[color][place] for color, place in enumerate(choice)):
            return found, choice, optimum
        found = found.surer(choice)


FLAT = 0.6
"""A passage that spans less than this share of the values wanted has lost its shape (chosen)."""
LEAST_SPAN = 1.0
"""A passage wanted flatter than this many value steps has little shape to lose (chosen)."""
TURNS = tuple(float(angle) for angle in range(0, 360, 15))
SHARES = (1.0, 0.7, 0.45)
APART = 45.0
"""Turns nearer than this in hue are too alike to be offered both [degrees] (chosen)."""
ROUGHLY = 24
"""Recipes looked at for each color when turns are compared at first."""


@dataclass(frozen=True, slots=True)
class Departure:
    """A color whose recipe is not the nearest one, and why."""

    name: str
    """The color."""
    instead_of: Recipe
    recipe: Recipe
    """The nearest recipe, and the one taken."""
    further_off: float
    """By how much CIEDE2000 (kL 1) is greater; below 0 where it is less, for the nearest recipe is
    the nearest by value first."""
    reason: str
    """A sentence."""

    @property
    def words(self) -> str:
        """How much further off that is, as a sentence."""
        off = round(self.further_off, 1)
        if not off:
            return "No further off."
        return f"Further off by {off:.1f}." if off > 0 else f"Closer by {-off:.1f}."


@dataclass(frozen=True, slots=True)
class LostShape:
    """A passage that loses its shape whatever is chosen, and what would mend it."""

    passage: str
    words: str
    mending: Mending


@dataclass(frozen=True, slots=True)
class Turned:
    """A turn of the whole palette that this kit reaches well."""

    turn: Turn
    """Of hue and chroma; values stay."""
    recipes: tuple[Recipe, ...]
    """One for each color, in the lesson's order: what is laid over what lies there."""
    mean: float
    largest: float
    """CIEDE2000 between the turned colors and these recipes."""
    broken: int
    """How many pairs are out of order in value."""
    proven: bool
    """Whether no other choice of recipes costs less."""


@dataclass(frozen=True, slots=True, eq=False)
class LessonConversion:
    """A lesson converted as a whole."""

    recipes: tuple[Recipe, ...]
    """One for each color, in the lesson's order: what is laid over what lies there."""
    optimum: Optimum
    """What they cost together, and the bound."""
    broken_singly: tuple[tuple[str, str], ...]
    broken: tuple[tuple[str, str], ...]
    """Pairs out of order in value, color by color and as a whole, by name."""
    mean_singly: float
    mean: float
    """Mean CIEDE2000, color by color and as a whole."""
    departures: tuple[Departure, ...]
    lost: tuple[LostShape, ...]
    """What differs from color by color; passages that lose their shape."""


def convert(
    lesson: Lesson, found: Options, singly: Sequence[int], shop: Sequence[Shade] = ()
) -> LessonConversion:
    """Choose the recipes of a lesson as a whole.

    `singly`: for each color the place of the recipe taken color by color. `shop`: what could be
    bought, to name what would mend a passage. Value orders are broken no more often than singly.
    """
    found, best, optimum = best_together(found, start=tuple(singly))
    choice = _only_what_gains(found.palette, best, singly, most=optimum.cost + NO_GAIN)
    names = [color.name for color in lesson.colors]

    def named(choice: Sequence[int]) -> tuple[tuple[str, str], ...]:
        return tuple((names[i], names[j]) for i, j in broken_orders(found.palette, choice))

    return LessonConversion(
        recipes=found.recipes(choice),
        optimum=optimum,
        broken_singly=named(singly),
        broken=named(choice),
        mean_singly=float(np.mean(off(found.palette, singly))),
        mean=float(np.mean(off(found.palette, choice))),
        departures=_departures(names, found, singly, choice),
        lost=_lost(lesson, found, choice, shop),
    )


NO_GAIN = 1e-6
"""Cost that is none: the same color, computed in two ways, comes out so near (chosen)."""


def _only_what_gains(
    palette: Palette, best: Sequence[int], singly: Sequence[int], *, most: float
) -> Choice:
    """Return the best choice with each color's own recipe wherever the whole costs no more so."""
    choice = [*best]
    for color, own in enumerate(singly):
        back = [*choice[:color], own, *choice[color + 1 :]]
        if choice[color] != own and total_cost(palette, back) <= most:
            choice = back
    return tuple(choice)


def off(palette: Palette, choice: Sequence[int]) -> FloatArray:
    """Return the CIEDE2000 (kL 1) of each color of a choice, shape (colors,)."""
    seen = np.array([lab[place] for lab, place in zip(palette.labs, choice, strict=True)])
    return np.asarray(ciede2000(palette.lab, seen.reshape(-1, 3)), dtype=np.float64)


def _departures(
    names: Sequence[str], found: Options, singly: Sequence[int], choice: Sequence[int]
) -> tuple[Departure, ...]:
    before, after = off(found.palette, singly), off(found.palette, choice)
    departed = []
    for i, (old, new) in enumerate(zip(singly, choice, strict=True)):
        a, b = found.recipe(i, old), found.recipe(i, new)
        if a != b:
            reason = _reason(names, found.palette, i, old, choice)
            departed.append(Departure(names[i], a, b, float(after[i] - before[i]), reason))
    return tuple(departed)


def _reason(names: Sequence[str], palette: Palette, i: int, old: int, choice: Sequence[int]) -> str:
    """Say what the nearest recipe would do beside the others as they were chosen."""
    back = [*choice[:i], old, *choice[i + 1 :]]
    spoiled = set(broken_orders(palette, back)) - set(broken_orders(palette, choice))
    if spoiled:
        pairs = ", ".join(f"{names[a]} would not be lighter than {names[b]}" for a, b in spoiled)
        return f"With its own recipe {pairs}."
    one, other = chosen_only(palette, back), chosen_only(palette, choice)
    alike = [
        names[j]
        for j in range(len(names))
        if j != i and merged(one, i, j)[0, 0] and not merged(other, i, j)[0, 0]
    ]
    if alike:
        return f"With its own recipe it would look the same as {' and '.join(alike)}."
    near = [j for pair in palette.neighbors if i in pair for j in pair if j != i]
    spaced = [
        names[j]
        for j in sorted(near)
        if pair_cost(other, i, j, neighbors=True)[0, 0] < pair_cost(one, i, j, neighbors=True)[0, 0]
    ]
    if spaced:
        return f"It keeps the step in value to {' and '.join(spaced)} nearer to what is wanted."
    return "It follows another color that moved."


def _lost(
    lesson: Lesson, found: Options, choice: Sequence[int], shop: Sequence[Shade]
) -> tuple[LostShape, ...]:
    palette = found.palette
    got = np.array([v[c] for v, c in zip(palette.values, choice, strict=True)])
    broken = broken_orders(palette, choice)
    lost = []
    for passage in dict.fromkeys(c.passage for c in lesson.colors if c.passage):
        row = [i for i, c in enumerate(lesson.colors) if c.passage == passage]
        wanted = float(np.ptp(palette.value[row]))
        flat = wanted >= LEAST_SPAN and float(np.ptp(got[row])) < FLAT * wanted
        crossed = [pair for pair in broken if pair[0] in row]
        if not (flat or crossed):
            continue
        worst = max(row, key=lambda i: abs(float(got[i] - palette.value[i])))
        words = _lost_words(passage, wanted, float(np.ptp(got[row])), len(crossed))
        name = f"{lesson.colors[worst].name} in {passage}"
        mend = mending(name, palette.lab[worst], found.repertoire, shop)
        lost.append(LostShape(passage, words, mend))
    return tuple(lost)


def _lost_words(passage: str, wanted: float, got: float, crossed: int) -> str:
    said = f"{passage} spans {got:.1f} value steps where {wanted:.1f} are wanted"
    if crossed:
        come = "comes" if crossed == 1 else "come"
        said += f", and {crossed} of its pairs {come} out in the wrong order"
    return f"{said}, whatever is chosen from this kit."


def transposed(
    lesson: Lesson, questions: Sequence[Question], repertoire: Repertoire, *, count: int = 3
) -> tuple[Turned, ...]:
    """Return the few turns of the whole palette that a kit reaches best.

    All turns by 15 degrees, as vivid or more muted, are compared by the nearest recipes; the best
    that are not too alike are then chosen as a whole. The palette as it is, is not among them.

    `questions`: what is asked for each color of the lesson. `count`: how many to return at most.
    """
    turns = [Turn(hue, share) for share in SHARES for hue in TURNS if (hue, share) != (0.0, 1.0)]
    ranked = sorted(turns, key=lambda t: (_roughly(lesson, t, repertoire), t.hue, -t.chroma))
    kept: list[Turn] = []
    for turn in ranked:
        apart = (abs(float(way_round(other.hue, turn.hue))) >= APART for other in kept)
        if len(kept) < count and all(apart):
            kept.append(turn)
    return tuple(_turned(lesson, turn, questions, repertoire) for turn in kept)


def _roughly(lesson: Lesson, turn: Turn, repertoire: Repertoire) -> float:
    """Return the weighted mean difference of the nearest recipes, less a little for vividness."""
    targets = [turned(target, turn) for target in lesson.targets]
    offs = np.array([repertoire.nearest(t.lab, ROUGHLY)[1][0] for t in targets])
    return float(np.average(offs, weights=lesson.weights)) - 0.5 * turn.chroma


def _turned(
    lesson: Lesson, turn: Turn, questions: Sequence[Question], repertoire: Repertoire
) -> Turned:
    asked = [replace(question, target=turned(question.target, turn)) for question in questions]
    found, choice, optimum = best_together(options(asked, repertoire, lesson.weights))
    differences = off(found.palette, choice)
    return Turned(
        turn=Turn(turn.hue, turn.chroma, turn_words(turn)),
        recipes=found.recipes(choice),
        mean=float(differences.mean()),
        largest=float(differences.max()),
        broken=len(broken_orders(found.palette, choice)),
        proven=optimum.proven,
    )


def turn_words(turn: Turn) -> str:
    """Say a turn in words.

    >>> turn_words(Turn(90.0, 0.7)), turn_words(Turn(330.0, 1.0))
    ('hues turned 90° from red towards yellow, more muted', 'hues turned 30° from red towards blue')
    """
    hue = float(way_round(0.0, turn.hue))
    towards = "yellow" if hue > 0 else "blue"
    said = "the same hues" if not hue else f"hues turned {abs(hue):.0f}° from red towards {towards}"
    if turn.chroma < 0.6:
        return f"{said}, much more muted"
    return f"{said}, more muted" if turn.chroma < 1.0 else said
