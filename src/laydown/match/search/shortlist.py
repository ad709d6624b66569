"""The recipes that may be among the best for wanted colors, scored in full by the model."""

from collections.abc import Iterator, Sequence

import numpy as np
from numpy.typing import NDArray

from laydown.color.arrays import FloatArray
from laydown.match.ranking import Found, Wanted, in_order
from laydown.match.search.blocks import RecipeBlock
from laydown.match.search.coloring import ColoredPart
from laydown.match.search.nearness import EVERYTHING, NOWHERE, met_by, near, window
from laydown.match.search.recipes import RecipeSpace
from laydown.match.search.shelves import Ints

MARGIN = 1e-4
"""How far above the reach [CIEDE2000] a recipe is still kept, so that none is lost by rounding."""
AT_FIRST = 64
"""So many are scored first for a color, those that promise most, before the reach is taken anew."""
MOST_UNSURE = 512
"""Of so many for a color, before the end, some are scored to let the reach fall."""
DRAWN_ANEW = 0.97
"""A box is drawn anew when the reach has fallen to this share: drawing takes longer than looking
at the few colors more."""
Candidates = NDArray[np.void]
"""Recipes that may be within reach, see `CANDIDATE`."""
CANDIDATE = np.dtype([("color", "u1"), ("number", "i8"), ("least", "f8"), ("most", "f8")])
"""Which wanted color a recipe may be near, its number, and bounds of its cost: both the same once
it was scored in full."""


class Shortlist:
    """The best recipes for each of a few wanted colors so far, and all that cost little more."""

    def __init__(self, space: RecipeSpace, wanted: Sequence[Wanted], error: float) -> None:
        """Begin with all recipes and the m colors, `laydown.match.search.nearness.AT_ONCE` at most.

        `error`: how far f(X/Xn) and its fellows may be off in any part.
        """
        self.space, self.wanted, self.error = space, wanted, error
        self.least_effort = 0.0
        """What of a cost any recipe adds that is looked at."""
        self.cells: Ints
        """What the boxes drawn last meet."""
        self.drawn: dict[float, tuple[FloatArray, FloatArray, Ints]] = {}
        """By an effort: shape (m,), the reach that boxes were drawn for; the boxes, shape (m, 6);
        and the cells that they meet."""
        self.keep(self._alone())

    def _alone(self) -> Candidates:
        """Score in full what is predicted by its swatch: parts say of it what the model does.

        So `look` passes over it, and no bound is needed for what a swatch shows beside the model;
        nor for the recipe that adds nothing, which has no effort.
        """
        numbers = self.space.alone
        labs = self.space.lab(numbers)
        colors, places = np.divmod(np.arange(len(self.wanted) * len(numbers)), len(numbers))
        seen = np.empty(len(colors), dtype=CANDIDATE)
        seen["color"], seen["number"] = colors, numbers[places]
        costs = self.space.ranking.difference(self.labs[colors], labs[places])
        seen["least"] = seen["most"] = costs + self._effort(seen["color"], seen["number"])
        return seen

    def _effort(self, colors: NDArray[np.uint8], numbers: Ints) -> FloatArray:
        """Return what recipes add to their costs for the colors they may be near, shape (n,)."""
        if self.space.sense is None:
            return self.space.effort(numbers)
        effort = np.empty(len(numbers))
        for color in np.unique(colors).tolist():
            rows = np.flatnonzero(colors == color)
            effort[rows] = self.space.effort(numbers[rows], self.labs[color])
        return effort

    @property
    def ks(self) -> FloatArray:
        """The weights kL, kC, kH."""
        ranking = self.space.ranking
        return np.array([ranking.k_L, ranking.k_C, ranking.k_H])

    @property
    def labs(self) -> FloatArray:
        """The wanted colors, shape (m, 3)."""
        return np.array([one.lab for one in self.wanted])

    def most(self) -> float:
        """Return the cost up to which a recipe is of interest for any color."""
        return float(self.reach.max(initial=-np.inf))

    def draw(self, effort: float = 0.0) -> FloatArray:
        """Draw boxes around what is within reach now, one for each color that something is.

        Returns shape (n, 6): first the one around them all, then, if there are several, each.

        `effort`: what all recipes that are looked at next add to their cost at least.
        """
        self.least_effort = max(effort, self.space.least_effort)
        none = np.full(len(self.wanted), np.inf), np.tile(EVERYTHING, (len(self.wanted), 1))
        drawn, boxes, self.cells = self.drawn.get(effort) or (*none, met_by(none[1]))
        left = self.reach - self.least_effort
        fallen = np.flatnonzero((left < DRAWN_ANEW * drawn) & (drawn > 0.0)).tolist()
        for i in fallen:
            some = left[i] >= 0.0
            boxes[i] = window(self.wanted[i].lab, self.ks, left[i], self.error) if some else NOWHERE
        if fallen:
            drawn[fallen], self.cells = np.maximum(0.0, left[fallen]), met_by(boxes)
            self.drawn[effort] = drawn, boxes, self.cells
        some = boxes[left >= 0.0] if (left >= 0.0).any() else NOWHERE[None]
        around = np.where(np.arange(6) % 2, some.max(axis=0), some.min(axis=0))
        return np.concatenate([around[None], some]) if len(some) > 1 else around[None]

    def look(self, part: ColoredPart) -> Candidates:
        """Return what of a part may be within reach by effort; threads may do this together."""
        xyz, numbers, error = part
        room = len(numbers) * len(self.wanted)
        places, colors = np.empty(room, dtype=np.int32), np.empty(room, dtype=np.uint8)
        bounds = np.empty((2, room), dtype=np.float32)
        reach = self.reach - self.least_effort
        kept = near(
            xyz, len(numbers), self.cells, self.labs, self.ks, error, reach,
            places, colors, bounds,
        )  # fmt: skip
        seen = np.empty(kept, dtype=CANDIDATE)
        seen["color"], seen["number"] = colors[:kept], numbers[places[:kept]]
        seen["least"], seen["most"] = bounds[:, :kept] + self.space.effort(seen["number"])
        modeled = ~np.isin(seen["number"], self.space.alone)
        near_enough: Candidates = seen[modeled & (seen["least"] <= self.reach[seen["color"]])]
        return near_enough

    def score(self, block: RecipeBlock) -> Candidates:
        """Score in full what the model says of a block, for every color."""
        block = block.rows(np.flatnonzero(~np.isin(block.numbers, self.space.alone)))
        seen = np.empty((len(self.wanted), len(block)), dtype=CANDIDATE)
        seen["color"], seen["number"] = np.arange(len(self.wanted))[:, None], block.numbers
        costs = self.space.ranking.difference(self.labs[:, None], block.lab)
        efforts = [self.space.effort(block.numbers, lab) for lab in self.labs]
        seen["least"] = seen["most"] = costs + np.array(efforts)
        return seen.ravel()

    def offer(self, seen: Sequence[Candidates]) -> None:
        """Keep what may be among the best of what was seen, the sense of the trade added."""
        some = np.concatenate([self.held[:0], *seen])
        if self.space.sense is not None:
            more = self._effort(some["color"], some["number"]) - self.space.effort(some["number"])
            some["least"] += more
            some["most"] += more
        self.keep(np.concatenate([self.held, some]))
        unsure = self.held["color"][self._unsure()]
        if np.bincount(unsure).max(initial=0) > MOST_UNSURE:
            self._score(AT_FIRST)

    def keep(self, held: Candidates) -> None:
        """Take the reach from what is sure, and keep what may lie within."""
        held = held[np.argsort(held["color"], kind="stable")]
        costs = [np.sort(held["most"][of]) for of in self._of_each(held)]
        reach = [one.reach(c) for one, c in zip(self.wanted, costs, strict=True)]
        self.reach = np.array(reach, dtype=np.float64) + MARGIN
        self.held = held[held["least"] <= self.reach[held["color"]]]

    def _of_each(self, held: Candidates) -> Iterator[slice]:
        ends = np.searchsorted(held["color"], np.arange(len(self.wanted) + 1)).tolist()
        return map(slice, ends[:-1], ends[1:])

    def _unsure(self) -> NDArray[np.bool_]:
        return np.asarray(self.held["least"] < self.held["most"])

    def _score(self, size: int) -> bool:
        """Score in full what promises most, so many for each color; say whether any was unsure."""
        held, unsure = self.held, self._unsure()
        for of in self._of_each(held):
            rest = of.start + np.flatnonzero(unsure[of])
            unsure[rest[np.argsort(held["least"][rest], kind="stable")[size:]]] = False
        if not unsure.any():
            return False
        colors, numbers = held["color"][unsure], held["number"][unsure]
        costs = self.space.ranking.difference(self.labs[colors], self.space.lab(numbers))
        costs += self._effort(colors, numbers)
        held["least"][unsure] = held["most"][unsure] = costs
        self.keep(held)
        return True

    def scored(self) -> list[Candidates]:
        """Return what is within reach of each color, every recipe scored in full, in no order."""
        size = AT_FIRST
        while self._score(size):
            size *= 2
        return [self.held[of] for of in self._of_each(self.held)]

    def found(self) -> tuple[Found, ...]:
        """Return the best for each color, in one order whatever came first."""
        return tuple(map(self._found, self.wanted, self.scored()))

    def _found(self, wanted: Wanted, best: Candidates) -> Found:
        recipes = [self.space.recipe(number) for number in best["number"].tolist()]
        costs = best["least"]
        order = in_order(costs, [recipe.key for recipe in recipes])
        kept = int(np.sum(costs <= wanted.reach(costs[order])))
        if wanted.top is not None and wanted.within <= 0.0:
            kept = min(wanted.top, int(np.sum(costs <= wanted.most)))
        order = order[:kept]
        return Found(tuple(recipes[i] for i in order), costs[order], self.space.considered)
