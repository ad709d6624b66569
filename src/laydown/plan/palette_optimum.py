"""The best recipes for a whole palette at once, proven.

Each passage is solved by itself, by a search in depth whose bound is exact along the chain of its
neighbors; only passages with colors that come out the same are then solved together. What is left
out in between costs nothing or more: the sum is a bound, and the answer when nothing is left out.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import TypeAlias

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.plan.kit_problem import Places
from laydown.plan.palette_cost import Palette, merged, pair_cost, together, total_cost

_Answer: TypeAlias = tuple[dict[int, int], float]
FIRST_LOOK = 24
"""Recipes of each color in the first look, which tells how far the others can matter."""
MOST = 500
"""More recipes of a color than this are left out, and the bound says so."""
NODES = 40_000
"""Nodes of a search in depth before it is given up with its bound."""


@dataclass(frozen=True, slots=True)
class Optimum:
    """The best choice found.

    Parameters
    ----------
    choice
        For each color the place of its recipe.
    cost
        As `laydown.plan.palette_cost.total_cost` has it.
    bound
        No choice costs less.
    """

    choice: tuple[int, ...]
    cost: float
    bound: float

    @property
    def proven(self) -> bool:
        """Whether no other choice is better."""
        return self.cost <= self.bound + 1e-6


def best_palette(palette: Palette, *, start: Sequence[int] = ()) -> Optimum:
    """Choose one recipe for each color.

    Parameters
    ----------
    palette
        The colors, each with at least one recipe.
    start
        A choice that is known already, such as the nearest recipe color by color.

    Returns
    -------
    Optimum
        With its bound, which is its cost where the search came to an end.

    Examples
    --------
    ``best_palette(palette).proven`` is true but for palettes larger than any lesson.
    """
    if not len(palette):
        return Optimum((), 0.0, 0.0)
    order = [np.argsort(cost, kind="stable") for cost in palette.costs]
    looked = [places[:FIRST_LOOK] for places in order]
    if start:
        looked = [np.union1d(places, [s]) for places, s in zip(looked, start, strict=True)]
    first = _on(palette, looked)
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
    found = _on(palette, kept)
    best = min((found, first), key=lambda o: o.cost)
    return Optimum(best.choice, best.cost, min(found.bound, least_left_out, best.cost))


def first_bound(palette: Palette) -> float:
    """Return a bound that asks of each color only its nearest recipe."""
    return sum(float(cost.min()) for cost in palette.costs)


def _on(palette: Palette, kept: Sequence[Places]) -> Optimum:
    """Solve with some of the recipes; the choice is in places of the whole."""
    small = palette.only(kept)
    choice, bound = _by_groups(small)
    whole = tuple(int(places[c]) for places, c in zip(kept, choice, strict=True))
    return Optimum(whole, total_cost(palette, whole), bound)


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
                solved[group, inside] = _Group(palette, group, inside).solve()
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
    one = palette.only([np.array([choice[i]]) for i in range(len(palette))])
    return {
        (i, j)
        for j in range(len(palette))
        for i in range(j)
        if not together(palette, i, j) and merged(one, i, j)[0, 0]
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


@dataclass(slots=True, eq=False)
class _Group:
    """Colors that are solved together, in the order in which they are settled."""

    palette: Palette
    colors: tuple[int, ...]
    active: frozenset[tuple[int, int]]
    pairs: dict[tuple[int, int], FloatArray] = field(default_factory=dict)
    best: float = np.inf
    choice: tuple[int, ...] = ()
    nodes: int = 0

    def solve(self) -> tuple[dict[int, int], float]:
        """Return the best choice, and a bound that is its cost where the search ended."""
        self._write_pairs()
        costs = [self.palette.costs[i] for i in self.colors]
        onward = self._look_ahead(0, costs)
        least = float((costs[0] + onward[0]).min())
        self._settle((), 0.0, costs, onward)
        bound = self.best if self.nodes < NODES else least
        return dict(zip(self.colors, self.choice, strict=True)), bound

    def _write_pairs(self) -> None:
        near = self.palette.neighbors
        for b, j in enumerate(self.colors):
            for a, i in enumerate(self.colors[:b]):
                if together(self.palette, i, j) or (min(i, j), max(i, j)) in self.active:
                    cost = pair_cost(self.palette, i, j, neighbors=(i, j) in near)
                    if cost.any():
                        self.pairs[a, b] = cost

    def _look_ahead(self, first: int, costs: list[FloatArray]) -> list[FloatArray]:
        """Find what the colors after each cost at least, by the recipe it has; from `first` on.

        Places below `first` hold nothing of use.
        """
        onward = [np.zeros(len(cost)) for cost in costs]
        for a in range(len(costs) - 2, first - 1, -1):
            rest = costs[a + 1] + onward[a + 1]
            pair = self.pairs.get((a, a + 1))
            onward[a] += float(rest.min()) if pair is None else (pair + rest).min(axis=1)
        return onward

    def _settle(
        self,
        settled: tuple[int, ...],
        total: float,
        costs: list[FloatArray],
        onward: list[FloatArray],
    ) -> None:
        """Try the recipes of the next color, those first that promise most.

        `costs` holds what each recipe still to come costs beside those settled. Where a passage
        begins, the look ahead is taken anew, since what is settled bears on it.
        """
        place = len(settled)
        if place and not together(self.palette, self.colors[place - 1], self.colors[place]):
            onward = self._look_ahead(place, costs)
        promise = total + costs[place] + onward[place]
        for recipe in np.argsort(promise, kind="stable").tolist():
            if promise[recipe] >= self.best - 1e-9 or self.nodes >= NODES:
                return
            self.nodes += 1
            now, sum_now = (*settled, recipe), total + float(costs[place][recipe])
            if place + 1 == len(self.colors):
                self.best, self.choice = sum_now, now
                return
            self._settle(now, sum_now, self._beside(place, recipe, costs), onward)

    def _beside(self, place: int, recipe: int, costs: list[FloatArray]) -> list[FloatArray]:
        """Return the costs still to come once this recipe is settled."""
        further = list(costs)
        for later in range(place + 1, len(costs)):
            pair = self.pairs.get((place, later))
            if pair is not None:
                further[later] = further[later] + pair[recipe]
        return further
