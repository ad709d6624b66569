"""The recipes that may be among the best for one color, each scored in full by the model."""

from dataclasses import dataclass, field

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.match.search.coloring import ColoredPart
from laydown.match.search.found import Found, Wanted, in_order
from laydown.match.search.nearness import Single, near, window
from laydown.match.search.recipes import RecipeSpace
from laydown.match.search.shelves import Ints

MARGIN = 1e-4
"""How far above the reach [CIEDE2000] a recipe is still kept, so that none is lost by rounding."""
AT_FIRST = 32
"""So many are scored first, those that promise most, before the reach is taken anew."""
Candidates = tuple[Ints, Single]
"""Recipes that may be within reach, shape (n,), and lower bounds of their differences."""
NONE: Candidates = np.empty(0, dtype=np.int64), np.empty(0, dtype=np.float32)


@dataclass(slots=True, eq=False)
class Shortlist:
    """The best recipes for a wanted color so far, and all that cost little more.

    Parameters
    ----------
    space
        All recipes.
    wanted
        The color.
    numbers, costs
        Shape (n,), the recipes and what each costs, in rising order.
    waiting
        What was offered and is not scored yet.
    boxes
        The last box by error, and the reach it was drawn for.
    """

    space: RecipeSpace
    wanted: Wanted
    numbers: Ints = field(default_factory=lambda: np.empty(0, dtype=np.int64))
    costs: FloatArray = field(default_factory=lambda: np.empty(0))
    waiting: Candidates = field(default_factory=lambda: NONE)
    boxes: dict[float, tuple[float, FloatArray]] = field(default_factory=dict)

    @property
    def reach(self) -> float:
        """The cost up to which a recipe is of interest."""
        return self.wanted.reach(self.costs) + MARGIN

    @property
    def ks(self) -> FloatArray:
        """The weights kL, kC, kH."""
        ranking = self.space.ranking
        return np.array([ranking.k_L, ranking.k_C, ranking.k_H])

    def box(self, error: float) -> FloatArray:
        """Return the least and most X/Xn, Y/Yn, Z/Zn of what is within reach."""
        drawn = self.boxes.get(error)
        if drawn is None or drawn[0] != self.reach:
            drawn = self.reach, window(self.wanted.lab, self.ks, self.reach, error)
            self.boxes[error] = drawn
        return drawn[1]

    def look(self, part: ColoredPart, box: FloatArray) -> Candidates | None:
        """Return what of a part may be within reach; threads may do this together."""
        xyz, numbers, error = part
        count = len(numbers)
        places, least = np.empty(count, dtype=np.int64), np.empty(count, dtype=np.float32)
        lab, reach = self.wanted.lab, self.reach
        kept = near(xyz, count, lab, self.ks, error, box, reach, places, least)
        if not kept:
            return None
        found = numbers[places[:kept]].astype(np.int64)
        modeled = ~np.isin(found, self.space.measured)
        return found[modeled], least[:kept][modeled]

    def begin(self) -> None:
        """Score first what is predicted by its swatch: what parts say of it is the model's color.

        So `look` passes over it, and no bound is needed for what a swatch shows beside the model.
        """
        self.take(self.space.measured)

    def offer(self, candidates: Candidates, *, now: bool = False) -> None:
        """Score what may be within reach, what promises most first, and keep what is.

        Where there is little, it waits for more: the reach hardly falls by it, and numpy takes its
        time for few as for many.
        """
        numbers = np.concatenate([self.waiting[0], candidates[0]])
        least = np.concatenate([self.waiting[1], candidates[1]])
        if len(numbers) < AT_FIRST and not now:
            self.waiting = numbers, least
            return
        self.waiting = NONE
        costs = least + self.space.effort(numbers)
        order = np.argsort(costs, kind="stable")
        start, size = 0, AT_FIRST
        while start < len(order):
            some = order[start : start + size]
            some = some[costs[some] <= self.reach]
            if not len(some):
                return
            self.take(numbers[some])
            start, size = start + size, 2 * size

    def take(self, numbers: Ints) -> None:
        """Score recipes and keep those within reach."""
        costs = np.concatenate([self.costs, self._costs(numbers)])
        order = np.argsort(costs, kind="stable")
        self.numbers, self.costs = np.concatenate([self.numbers, numbers])[order], costs[order]
        kept = int(np.searchsorted(self.costs, self.reach, side="right"))
        self.numbers, self.costs = self.numbers[:kept], self.costs[:kept]

    def _costs(self, numbers: Ints) -> FloatArray:
        off = self.space.ranking.difference(self.wanted.lab, self.space.lab(numbers))
        return off + self.space.effort(numbers)

    def found(self) -> Found:
        """Return the best: all scored once more together, in one order whatever came first."""
        self.offer(NONE, now=True)
        numbers = np.sort(self.numbers)
        recipes = [self.space.recipe(number) for number in numbers.tolist()]
        costs = self._costs(numbers)
        order = in_order(costs, [recipe.key for recipe in recipes])
        kept = int(np.sum(costs <= self.wanted.reach(costs[order])))
        if self.wanted.top is not None and self.wanted.within <= 0.0:
            kept = min(self.wanted.top, int(np.sum(costs <= self.wanted.most)))
        order = order[:kept]
        return Found(tuple(recipes[i] for i in order), costs[order], self.space.considered)
