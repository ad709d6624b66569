"""The recipes that may be among the best for a wanted color, scored in full by the model."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from laydown.color.arrays import FloatArray
from laydown.match.ranking import Found, Wanted, in_order
from laydown.match.search.blocks import RecipeBlock
from laydown.match.search.coloring import ColoredPart
from laydown.match.search.nearness import EVERYTHING, NOWHERE, near, window
from laydown.match.search.recipes import RecipeSpace
from laydown.match.search.shelves import Ints

MARGIN = 1e-4
"""How far above the reach [CIEDE2000] a recipe is still kept, so that none is lost by rounding."""
AT_FIRST = 64
"""So many are scored first, those that promise most, before the reach is taken anew."""
MOST_UNSURE = 512
"""Of so many, before the end, some are scored to let the reach fall."""
DRAWN_ANEW = 0.97
"""A box is drawn anew when the reach has fallen to this share: drawing takes longer than looking
at the few colors more."""
Candidates = NDArray[np.void]
"""Recipes that may be within reach, see `CANDIDATE`."""
CANDIDATE = np.dtype([("number", "i8"), ("least", "f8"), ("most", "f8")])
"""A recipe's number, and bounds of its cost: both the same once it was scored in full."""


class Shortlist:
    """The best recipes for a wanted color so far, and all that cost little more."""

    def __init__(self, space: RecipeSpace, wanted: Wanted, error: float) -> None:
        """Begin with all recipes; f(X/Xn) and its fellows may be off by `error` in any part.

        What is predicted by its swatch is scored in full at once: parts say of it what the model
        does. So `look` passes over it, and no bound is needed for what a swatch shows beside the
        model; nor for the recipe that adds nothing, which has no effort.
        """
        self.space, self.wanted, self.error = space, wanted, error
        self.least_effort = 0.0
        """What of a cost any recipe adds that is looked at."""
        self.box = EVERYTHING
        self.drawn: dict[float, tuple[float, FloatArray]] = {}
        """By an effort: the reach that a box was drawn for, and the box, shape (6,)."""
        self.keep(self._in_full(space.alone, space.lab(space.alone)))

    def _in_full(self, numbers: Ints, labs: FloatArray) -> Candidates:
        """Return recipes, shape (n,), of these colors, shape (n, 3), scored in full."""
        seen = np.empty(len(numbers), dtype=CANDIDATE)
        costs = self.space.ranking.difference(self.wanted.lab, labs)
        seen["number"] = numbers
        seen["least"] = seen["most"] = costs + self.space.effort(numbers, self.wanted.lab)
        return seen

    @property
    def ks(self) -> FloatArray:
        """The weights kL, kC, kH."""
        ranking = self.space.ranking
        return np.array([ranking.k_L, ranking.k_C, ranking.k_H])

    def draw(self, effort: float = 0.0) -> FloatArray:
        """Draw a box around what is within reach now, shape (6,).

        `effort`: what all recipes that are looked at next add to their cost at least.
        """
        self.least_effort = max(effort, self.space.least_effort)
        drawn, self.box = self.drawn.get(effort, (np.inf, EVERYTHING))
        left = self.reach - self.least_effort
        if left < DRAWN_ANEW * drawn and drawn > 0.0:
            self.box = NOWHERE
            if left >= 0.0:
                self.box = window(self.wanted.lab, self.ks, left, self.error)
            self.drawn[effort] = max(0.0, left), self.box
        return self.box

    def look(self, part: ColoredPart) -> Candidates:
        """Return what of a part may be within reach by effort; threads may do this together."""
        xyz, numbers, error = part
        room, reach = len(numbers), self.reach - self.least_effort
        places, bounds = np.empty(room, dtype=np.int32), np.empty((2, room), dtype=np.float32)
        kept = near(xyz, room, self.box, self.wanted.lab, self.ks, error, reach, places, bounds)
        seen = np.empty(kept, dtype=CANDIDATE)
        seen["number"] = numbers[places[:kept]]
        seen["least"], seen["most"] = bounds[:, :kept] + self.space.effort(seen["number"])
        modeled = ~np.isin(seen["number"], self.space.alone)
        near_enough: Candidates = seen[modeled & (seen["least"] <= self.reach)]
        return near_enough

    def score(self, block: RecipeBlock) -> Candidates:
        """Score in full what the model says of a block."""
        block = block.rows(np.flatnonzero(~np.isin(block.numbers, self.space.alone)))
        return self._in_full(block.numbers, block.lab)

    def offer(self, seen: Sequence[Candidates]) -> None:
        """Keep what may be among the best of what was seen, the sense of the trade added."""
        some = np.concatenate([self.held[:0], *seen])
        if self.space.sense is not None:
            numbers = some["number"]
            more = self.space.effort(numbers, self.wanted.lab) - self.space.effort(numbers)
            some["least"] += more
            some["most"] += more
        self.keep(np.concatenate([self.held, some]))
        if np.count_nonzero(self.held["least"] < self.held["most"]) > MOST_UNSURE:
            self._score(AT_FIRST)

    def keep(self, held: Candidates) -> None:
        """Take the reach from what is sure, and keep what may lie within."""
        self.reach = self.wanted.reach(np.sort(held["most"])) + MARGIN
        self.held = held[held["least"] <= self.reach]

    def _score(self, size: int) -> bool:
        """Score in full so many that promise most; say whether any was unsure."""
        held = self.held
        unsure = np.flatnonzero(held["least"] < held["most"])
        unsure = np.sort(unsure[np.argsort(held["least"][unsure], kind="stable")[:size]])
        if len(unsure):
            numbers = held["number"][unsure]
            held[unsure] = self._in_full(numbers, self.space.lab(numbers))
            self.keep(held)
        return bool(len(unsure))

    def scored(self) -> Candidates:
        """Return what is within reach, every recipe scored in full, in no order."""
        size = AT_FIRST
        while self._score(size):
            size *= 2
        return self.held

    def found(self) -> Found:
        """Return the best, in one order whatever came first."""
        wanted, best = self.wanted, self.scored()
        recipes = [self.space.recipe(number) for number in best["number"].tolist()]
        costs = best["least"]
        order = in_order(costs, [recipe.key for recipe in recipes])
        kept = int(np.sum(costs <= wanted.reach(costs[order])))
        if wanted.top is not None and wanted.within <= 0.0:
            kept = min(wanted.top, int(np.sum(costs <= wanted.most)))
        order = order[:kept]
        return Found(tuple(recipes[i] for i in order), costs[order], self.space.considered)
