"""What is asked of a search and what it hands over."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.match.ranking import EQUAL
from laydown.media.recipe import Recipe

Watch = Callable[[int, int], None]
"""Told (done, total) between short chunks of work; may raise to cancel."""
NOTHING = Recipe()


@dataclass(frozen=True, slots=True, eq=False)
class Wanted:
    """A wanted color, and how many recipes for it are asked."""

    lab: FloatArray
    """Shape (3,)."""
    top: int | None = 10
    """How many of the best; None for all that cost no more than `most`."""
    within: float = 0.0
    """Besides, all that cost no more than this above the last of the best."""
    most: float = np.inf
    """Nothing that costs more than this."""

    def reach(self, costs: FloatArray) -> float:
        """Return the cost up to which a recipe is of interest, given costs in rising order."""
        if self.top is None or len(costs) < self.top:
            return self.most
        return min(self.most, float(costs[self.top - 1]) + self.within)


@dataclass(frozen=True, slots=True, eq=False)
class Found:
    """The best recipes for one color."""

    recipes: tuple[Recipe, ...]
    """What is to be laid (over what lies there already), best first; equal costs in the order of
    the recipes' keys."""
    costs: FloatArray
    """Shape (n,), what each was ranked by."""
    considered: int
    """How many recipes were searched, the one that adds nothing included."""


def in_order(costs: FloatArray, keys: list[tuple[tuple[str, ...], ...]]) -> list[int]:
    """Return the order of rising cost, in which costs within 1e-9 of a group's least are equal.

    Examples
    --------
    >>> in_order(np.array([2.0, 1.0 + 1e-12, 1.0]), [(), (("a",),), (("b",),)])
    [1, 2, 0]
    """
    rising = np.argsort(costs, kind="stable")
    groups: list[list[int]] = []
    for i in rising.tolist():
        if groups and costs[i] - costs[groups[-1][0]] <= EQUAL:
            groups[-1].append(i)
        else:
            groups.append([i])
    return [i for group in groups for i in sorted(group, key=lambda i: keys[i])]
