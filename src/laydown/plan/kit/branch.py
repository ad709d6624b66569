"""Which purchase is the best, proven: purchases are split in two again and again, and bounded.

`laydown.plan.kit.bounds` bounds each part; the part that promises most is split next, by the offer
that lifts the bounds of both halves most.
"""

import heapq
from collections.abc import Callable
from math import ceil
from typing import TypeAlias

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.plan.kit.bounds import Bounding, Foothold
from laydown.plan.kit.moments import Moments, Standing
from laydown.plan.kit.problem import Aim, KitProblem, Places
from laydown.plan.kit.swaps import Choice, better, exchanged, judged, swapped

WHOLE = 1e-6
"""A share this near to none or all of an offer is that; a bound this near a value reaches it."""
TRIED = 8
"""Offers that are looked at, at most, before one is chosen to split by."""
TRUSTED = 2
"""After so many looks at an offer what they showed is relied on."""
LITTLE = 1e-3
"""Keeps an offer that lifts one half alone from counting as nothing."""


Part: TypeAlias = tuple[float, int, frozenset[int], frozenset[int], Foothold | None]
"""A part of all purchases: none of it comes to less; its number, since parts of equal bound are
split in the order in which they were made; which offers are bought and which left in it; and where
the solver stood for the part that it is half of."""


class Branching:
    """A search that can be carried on where it stopped.

    `problem`: a reduced problem. `start`: a good choice.
    """

    def __init__(self, problem: KitProblem, start: Choice) -> None:
        self.problem = problem
        self.best = start
        self._bounding = Bounding(problem)
        self._parts: list[Part] = [(0.0, 0, frozenset(problem.must), frozenset(), None)]
        self._made = 1
        self._lift = np.zeros((2, len(problem.offers)))
        self._looks = np.zeros((2, len(problem.offers)))

    @property
    def bound(self) -> float:
        """No purchase that misses as few colors makes the aim's value smaller than this."""
        known = self._bounding.value_of(self.best)
        least = min([known, *(bound for bound, *_ in self._parts[:1])])
        return self.best.value - (known - least)

    def learn(self, choice: Choice) -> None:
        """Take over a choice found elsewhere, if it is better than the best one known."""
        self.best = better(self.problem, self.best, choice)

    def run(self, is_over: Callable[[], bool]) -> bool:
        """Split parts until none can hold anything better, or time is over.

        `is_over`: asked before each split.

        Returns whether the best choice known is proven to be the best of all.
        """
        while self._parts and not is_over():
            part = heapq.heappop(self._parts)
            if self._is_hopeless(part[0]):
                self._parts.clear()
                return True
            self._split(part, is_over)
        return not self._parts

    def _is_hopeless(self, bound: float) -> bool:
        return bound > self._bounding.value_of(self.best) - self._step()

    def _step(self) -> float:
        """Return by how much a choice is better at least if it is better at all."""
        if self.problem.aim is Aim.BEST:
            return WHOLE * max(1.0, self.best.value)
        return price_unit(self.problem) - WHOLE * max(1.0, self.best.value)

    def _split(self, part: Part, is_over: Callable[[], bool]) -> None:
        least, number, bought, left, foothold = part
        enough = self._bounding.value_of(self.best) - self._step()
        found = self._bounding.bounded(bought, left, foothold=foothold, enough=enough, stop=is_over)
        if found is None:
            return
        bound, shares, settled, foothold = found
        self._round_off(shares)
        part = max(least, bound), number, bought, left, foothold
        if self._is_hopeless(part[0]):
            return
        open_ = np.flatnonzero((shares > WHOLE) & (shares < 1.0 - WHOLE))
        if len(open_):
            self._push_halves(part, bound, shares, open_)
        elif not settled:
            heapq.heappush(self._parts, part)

    def _round_off(self, shares: FloatArray) -> None:
        """See what the offers bought for the greater part come to."""
        likely = np.argsort(-shares, kind="stable")
        most = self.problem.most if self.problem.most is not None else len(likely)
        if self.problem.aim is Aim.BEST:
            chosen = likely[:most][shares[likely[:most]] > WHOLE]
        else:
            chosen = likely[:most][shares[likely[:most]] > 1.0 - WHOLE]
        offers = frozenset(chosen.tolist()) | self.problem.must
        if affordable(self.problem, offers):
            self.learn(judged(self.problem, offers))

    def _push_halves(self, part: Part, bound: float, shares: FloatArray, open_: Places) -> None:
        least, _, bought, left, foothold = part
        offer, bounds = self._chosen(part, bound, shares, open_)
        settled = (bought, left | {offer}), (bought | {offer}, left)
        for half, seen in zip(settled, bounds, strict=True):
            if not self._is_hopeless(seen):
                heapq.heappush(self._parts, (max(least, seen), self._made, *half, foothold))
                self._made += 1

    def _chosen(
        self, part: Part, bound: float, shares: FloatArray, open_: Places
    ) -> tuple[int, tuple[float, float]]:
        """Return the offer to split by, and bounds of the half without and the half with it."""
        promise = np.prod(np.maximum(self._expected(shares), LITTLE), axis=0)
        order = open_[np.argsort(-promise[open_], kind="stable")]
        best, least, bounds = int(order[0]), -1.0, (part[0], part[0])
        for offer in order[:TRIED].tolist():
            if self._looks[:, offer].min() >= TRUSTED:
                lifts = self._expected(shares)[:, offer]
                seen = (part[0], part[0])
            else:
                seen = self._looked_at(part, bound, offer, float(shares[offer]))
                lifts = np.array(seen) - bound
            worth = float(np.prod(np.maximum(lifts, LITTLE)))
            if worth > least:
                best, least, bounds = offer, worth, seen
        return best, bounds

    def _looked_at(self, part: Part, bound: float, offer: int, share: float) -> tuple[float, float]:
        """Bound both halves in haste, and remember what that showed."""
        _, _, bought, left, foothold = part
        without = self._bounding.glanced(bought, left | {offer}, foothold)
        with_it = self._bounding.glanced(bought | {offer}, left, foothold)
        top = self._bounding.value_of(self.best)
        for side, seen, way in ((0, without, share), (1, with_it, 1.0 - share)):
            self._lift[side, offer] += max(0.0, min(seen, top) - bound) / max(way, WHOLE)
            self._looks[side, offer] += 1
        return without, with_it

    def _expected(self, shares: FloatArray) -> FloatArray:
        """Return how far settling each offer is likely to lift either half, shape (2, offers)."""
        looks = np.maximum(self._looks, 1)
        known = self._looks > 0
        usual = self._lift.sum() / max(1.0, self._looks.sum()) if known.any() else 1.0
        each = np.where(known, self._lift / looks, usual)
        return np.asarray(each * np.array([shares, 1.0 - shares]))


ROUNDS, HALF_ROUNDS, ALL_WAYS = 10, 3, 3
"""Rounds of cuts for the whole, and for each half of a part; and in how many of the first ones all
ways are looked at, since it isn't known yet which matter."""
TURNS = 80
"""Steps of the solver in a round (chosen: with fewer the bounds of halves rise too little)."""


class BranchingByMoments:
    """The same search where purchases are alike, with far stronger and slower bounds.

    Parts are bounded a round at a time, always the one that promises most: none gets more rounds
    than it takes to promise less than another.

    `problem`: a reduced problem whose purchases are alike. `start`: a good choice.
    """

    def __init__(self, problem: KitProblem, start: Choice) -> None:
        self.problem = problem
        self.best = start
        self._offers = {offer.colorants[0]: n for n, offer in enumerate(problem.offers)}
        self._program = Moments(problem)
        self._parts = list[tuple[float, int, int, Standing, FloatArray, FloatArray]]()
        self._made = 0

    @property
    def bound(self) -> float:
        """No purchase makes the aim's value smaller than this."""
        return min([self.best.value, *(bound for bound, *_ in self._parts[:1])])

    def run(self, is_over: Callable[[], bool]) -> bool:
        """Split parts as `Branching` does; return whether the best one known is proven."""
        self._add(0.0, ROUNDS, self._program.start())
        while self._parts and not is_over():
            bound, _, rounds, standing, costs, over = heapq.heappop(self._parts)
            if rounds:
                looked_at = None if self._made <= ALL_WAYS else over
                standing = self._program.solved_on(standing, TURNS, looked_at)
                self._add(bound, rounds - 1, self._program.cut_off(standing))
            else:
                place = int(np.argmax(self._program.worth_splitting_by(standing, costs)))
                for into in (False, True):
                    half = self._program.settled(standing, place, into=into)
                    self._add(bound, HALF_ROUNDS, half)
        return not self._parts

    def _add(self, least: float, rounds: int, standing: Standing) -> None:
        """Bound a part, and keep it where it may hold anything better than the best one known.

        `least`: what it was bounded by so far. `rounds`: how many more it gets before it is split.
        `standing`: where its solver stands.
        """
        self._learn(standing)
        more = self._program.most - int((standing.settled > 0).sum())
        if not 0 < more < int((standing.settled == 0).sum()):
            return
        bound, costs, over = self._program.bounded(standing)
        least = max(least, bound)
        if least <= self.best.value - WHOLE * max(1.0, self.best.value):
            self._made += 1
            heapq.heappush(self._parts, (least, self._made, rounds, standing, costs, over))

    def _learn(self, standing: Standing) -> None:
        """See what the colorants come to that are held most often."""
        held = np.where(standing.settled == 0, self._program.held(standing), 2.0 * standing.settled)
        likely = self._program.colorants[np.argsort(-held, kind="stable")]
        chosen = likely[: max(0, self._program.most)].tolist()
        offers = self.problem.must | {self._offers[place] for place in chosen}
        self.best = better(self.problem, self.best, judged(self.problem, offers))


def price_unit(problem: KitProblem) -> float:
    """Return what all prices are multiples of."""
    prices = problem.prices.astype(np.int64)
    positive = prices[prices > 0]
    return float(np.gcd.reduce(positive)) if len(positive) else 1.0


def affordable(problem: KitProblem, offers: frozenset[int]) -> bool:
    """Return whether a purchase keeps to the limits on number and price."""
    if problem.most is not None and len(offers) > problem.most:
        return False
    price = sum(problem.offers[place].price for place in offers)
    return problem.budget is None or price <= problem.budget


# The best choice of colorants that is known, and what is proven of it.
#
# docs/decisions/runs-and-kits.md has how, and what was measured.

SHORT_WALK = 120
"""Turns of the walk before the first try to prove its end: a second at most."""
FIRST_TRY = 0.3
"""Share of the time for that walk and that first try."""
FIRST_GLANCE = 0.05
"""The same where purchases are alike and stronger bounds can take over."""
LONG_WALK = 0.7
"""Share of the time at which the long walk ends at the latest, so that some is left to prove."""

Clock = Callable[[], float]
"""Seconds from some beginning; the core has no clock of its own. It may raise: that ends the work
wherever it stands, for it is looked at again and again."""


def solved(problem: KitProblem, *, seconds: float, clock: Clock) -> tuple[Choice, float, bool]:
    """Find the best choice: a short walk and a try to prove it; where that fails, a long one.

    `problem`: a reduced problem. `seconds`: how long to try to prove, in all. What is proven is so
    on any machine; whether it is proven in time is not. `clock`: tells the time.

    Returns the best choice known; a bound: no purchase that misses as few colors makes the aim's
    value smaller; and whether it is proven that none is better.
    """
    begin = clock()

    def after(share: float) -> Callable[[], bool]:
        return lambda: clock() - begin >= share * seconds

    first = after(FIRST_GLANCE if problem.alike else FIRST_TRY)
    walked = swapped(problem, turns=SHORT_WALK, is_over=first)
    search = Branching(problem, exchanged(problem, walked, shakes=0, is_over=first))
    done = search.run(first)
    if not done and problem.alike:
        start = exchanged(problem, search.best, is_over=after(LONG_WALK))
        further = BranchingByMoments(problem, start)
        done = further.run(after(1.0))
        return further.best, max(further.bound, search.bound), done
    if not done:
        over = after(LONG_WALK)
        search.learn(exchanged(problem, swapped(problem, is_over=over), is_over=over))
        done = search.run(after(1.0))
    return search.best, search.best.value if done else _bound(problem, search), done


def _bound(problem: KitProblem, search: Branching) -> float:
    """Return what is proven where time ended, rounded up to what prices can come to."""
    best = search.best
    if problem.aim is Aim.BEST:
        return min(best.value, search.bound)
    unit = price_unit(problem)
    whole = ceil((search.bound - WHOLE * max(1.0, search.bound)) / unit) * unit
    return float(min(best.value, max(0.0, whole)))
