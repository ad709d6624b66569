"""What a whole palette costs: nearness, order and spacing of values, colors kept apart.

The cost is written down, with its reasons, in docs/decisions/0031-the-lessons-optimum.md.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.color.value import value_from_lab
from laydown.match.outcome import Target
from laydown.match.ranking import VALUE_FIRST
from laydown.plan.kit_problem import Places

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
    """Wanted colors with the recipes that may stand for each.

    Parameters
    ----------
    lab, value
        Shape (n, 3) and (n,), of the wanted colors.
    passages
        Shape (n,), numbers of passages; -1 for a color of none.
    labs, values, costs
        For each color its recipes: shapes (k, 3), (k,), (k,); costs are nearness times weight.
    """

    lab: FloatArray
    value: FloatArray
    passages: tuple[int, ...]
    labs: tuple[FloatArray, ...]
    values: tuple[FloatArray, ...]
    costs: tuple[FloatArray, ...]

    def __len__(self) -> int:
        """Return how many colors are wanted."""
        return len(self.passages)

    def only(self, keep: Sequence[Places]) -> "Palette":
        """Return it with some of the recipes of each color, by their places."""
        return Palette(
            self.lab,
            self.value,
            self.passages,
            tuple(x[k] for x, k in zip(self.labs, keep, strict=True)),
            tuple(x[k] for x, k in zip(self.values, keep, strict=True)),
            tuple(x[k] for x, k in zip(self.costs, keep, strict=True)),
        )

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
    targets: Sequence[Target], labs: Sequence[FloatArray], weights: FloatArray
) -> Palette:
    """Return the palette of targets with the colors of the recipes for each."""
    names = list(dict.fromkeys(t.passage for t in targets if t.passage))
    lab = np.array([t.lab for t in targets]).reshape(-1, 3)
    costs = tuple(
        weight * VALUE_FIRST.difference(target.lab, seen)
        for target, seen, weight in zip(targets, labs, weights, strict=True)
    )
    return Palette(
        lab=lab,
        value=np.asarray(value_from_lab(lab)).reshape(-1),
        passages=tuple(names.index(t.passage) if t.passage else -1 for t in targets),
        labs=tuple(labs),
        values=tuple(np.asarray(value_from_lab(seen)) for seen in labs),
        costs=costs,
    )


def pair_cost(palette: Palette, i: int, j: int, *, neighbors: bool) -> FloatArray:
    """Return what each recipe of color i beside each of color j costs, shape (k_i, k_j).

    Parameters
    ----------
    palette
        The colors.
    i, j
        Two of them.
    neighbors
        Whether they follow each other in value within their passage.
    """
    cost = merged(palette, i, j) * MERGED
    if not together(palette, i, j):
        return np.asarray(cost)
    wanted = float(palette.value[i] - palette.value[j])
    got = palette.values[i][:, None] - palette.values[j][None, :]
    if abs(wanted) >= TOLD_APART:
        cost = cost + BROKEN * (got * np.sign(wanted) <= SAME_VALUE)
    if neighbors:
        cost = cost + SPACING * np.abs(got - wanted)
    return np.asarray(cost)


def together(palette: Palette, i: int, j: int) -> bool:
    """Return whether two colors belong to the same passage."""
    return palette.passages[i] == palette.passages[j] >= 0


def merged(palette: Palette, i: int, j: int) -> FloatArray:
    """Return 1 where two colors that were different no longer are, shape (k_i, k_j)."""
    a, b = palette.labs[i], palette.labs[j]
    if not are_different(palette, i, j):
        return np.zeros((len(a), len(b)))
    square = np.sum(a**2, axis=1)[:, None] + np.sum(b**2, axis=1)[None, :] - 2.0 * a @ b.T
    return np.asarray(square < STILL_DIFFERENT**2, dtype=np.float64)


def are_different(palette: Palette, i: int, j: int) -> bool:
    """Return whether two wanted colors are to be kept apart."""
    return float(np.linalg.norm(palette.lab[i] - palette.lab[j])) >= DIFFERENT


def chosen_only(palette: Palette, choice: Sequence[int]) -> Palette:
    """Return the palette with one recipe for each color."""
    return palette.only([np.array([place]) for place in choice])


def total_cost(palette: Palette, choice: Sequence[int]) -> float:
    """Return the cost of a choice of one recipe for each color, straight from the definition."""
    one = chosen_only(palette, choice)
    near = one.neighbors
    total = sum(float(cost[0]) for cost in one.costs)
    for i in range(len(one)):
        for j in range(i + 1, len(one)):
            beside = (i, j) in near or (j, i) in near
            total += float(pair_cost(one, i, j, neighbors=beside)[0, 0])
    return total


def broken_orders(palette: Palette, choice: Sequence[int]) -> list[tuple[int, int]]:
    """Return the pairs of a passage whose values are out of order, the one wanted lighter first."""
    one = chosen_only(palette, choice)
    got = np.array([values[0] for values in one.values])
    return [(i, j) for i, j in crossed(one.value, got) if one.passages[i] == one.passages[j] >= 0]


def crossed(wanted: FloatArray, got: FloatArray) -> list[tuple[int, int]]:
    """Return the pairs whose values come out in the wrong order, the one wanted lighter first.

    Parameters
    ----------
    wanted, got
        Shape (n,), values; wanted ones that can't be told apart have no order to keep.

    Examples
    --------
    >>> crossed(np.array([8.0, 5.0, 4.95]), np.array([6.0, 6.5, 6.6]))
    [(0, 1), (0, 2)]
    """
    return [
        (i, j)
        for i in range(len(wanted))
        for j in range(len(wanted))
        if float(wanted[i] - wanted[j]) >= TOLD_APART and got[i] - got[j] <= SAME_VALUE
    ]
