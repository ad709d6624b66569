"""A good choice of colorants by adding and dropping one purchase at a time; nothing is proven here.

A short memory keeps the walk from going back at once, and colors that are missed again and again
come to weigh more. No chance is drawn: the same problem walks the same way.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from laydown.color.arrays import FloatArray
from laydown.plan.kit.problem import Aim, KitProblem, costs_of, holding

TURNS = 4000
"""Exchanges tried before the walk ends: some ten seconds for 300 colors and 120 colorants."""
HALFWAY = 0.1
"""What a color counts as gained when a way to it is two purchases off instead of three."""
MEMORY = 3, 5
"""An offer just moved rests for so many turns at least, and up to so many more."""
NEVER = 1e12
"""Stands for a loss that is out of the question."""
EQUAL = 1e-9


@dataclass(frozen=True, slots=True, eq=False)
class Choice:
    """Offers bought, what they count in the aim, and what each color then costs."""

    offers: frozenset[int]
    """Places in the problem's offers."""
    value: float
    """What the aim makes as small as possible: colorants, price, or the sum of costs."""
    costs: FloatArray
    """Shape (targets,)."""
    missed: int
    """How many colors are not made at all, of those that some way makes."""


def judged(problem: KitProblem, offers: frozenset[int]) -> Choice:
    """Return what a purchase comes to.

    `problem`: a reduced problem. `offers`: what is bought, with what must be.
    """
    costs = costs_of(problem, holding(problem, offers))
    value = float(problem.prices[list(offers)].sum())
    makeable = np.zeros(problem.targets, dtype=np.bool_)
    makeable[problem.ways.target] = True
    missed = int(np.sum(makeable & (costs >= problem.missed)))
    return Choice(offers, float(costs.sum()) if problem.aim is Aim.BEST else value, costs, missed)


def never() -> bool:
    """Say that time is not over: it never is."""
    return False


def swapped(
    problem: KitProblem, *, turns: int = TURNS, is_over: Callable[[], bool] = never
) -> Choice:
    """Return a good choice.

    `problem`: a reduced problem; where there is a limit on purchases or price it is kept. `turns`:
    how many exchanges to try. `is_over`: asked before each; the walk ends where it says so.
    """
    walk = _Walk(problem)
    walk.fill()
    best = walk.choice()
    for turn in range(turns):
        if is_over():
            break
        if problem.aim is not Aim.BEST and walk.all_made():
            walk.prune()
            best = better(problem, best, walk.choice())
            if not walk.drop(turn):
                break
        if not walk.exchange(turn):
            break
        if problem.aim is Aim.BEST or best.missed:
            best = better(problem, best, walk.choice())
    return best


def better(problem: KitProblem, old: Choice, new: Choice) -> Choice:
    """Return the better of two: fewer colors missed, then less value; of the best N value alone."""
    if problem.aim is Aim.BEST:
        return new if new.value < old.value - EQUAL else old
    return new if (new.missed, new.value) < (old.missed, old.value - EQUAL) else old


class _Walk:
    """Where the walk stands: what is bought, what is at hand, and the weight of each color."""

    def __init__(self, problem: KitProblem) -> None:
        self.problem = problem
        self.ways = problem.ways
        self.bought = set(problem.must)
        self.weights = np.ones(problem.targets)
        self.rests = np.zeros(len(problem.offers), dtype=np.int64)
        self.price = np.maximum(problem.prices, 1e-9 if problem.aim is Aim.BEST else 1e-6)
        self.shape = (len(problem.offers), problem.targets)
        self.sells = np.zeros((len(problem.offers), problem.colorants), dtype=np.bool_)
        for place, offer in enumerate(problem.offers):
            self.sells[place, list(offer.colorants)] = True
        self.singly = self.sells.sum(axis=1) == 1
        self.of_single = np.full(problem.colorants, -1, dtype=np.int64)
        for place in np.flatnonzero(self.singly)[::-1]:
            self.of_single[problem.offers[place].colorants[0]] = place
        self._see()

    def _see(self) -> None:
        self.held = holding(self.problem, self.bought)
        members = self.ways.members
        self.lacks = (members >= 0) & ~self.held[np.maximum(members, 0)]
        self.short = self.lacks.sum(axis=1)
        self.costs = np.full(self.problem.targets, self.problem.missed)
        made = self.short == 0
        np.minimum.at(self.costs, self.ways.target[made], self.ways.cost[made])

    def choice(self) -> Choice:
        """Return what it comes to so far."""
        return judged(self.problem, frozenset(self.bought))

    def all_made(self) -> bool:
        """Return whether every color that some way makes is made."""
        return bool((self.costs[self.ways.target] < self.problem.missed).all())

    def gains(self) -> FloatArray:
        """Return what buying each offer would bring, shape (offers,)."""
        saved = self.costs[self.ways.target] - self.ways.cost
        saved = np.where(saved > 0, saved, 0.0) * self.weights[self.ways.target]
        gain = np.zeros(len(self.problem.offers))
        for missing, share in ((1, 1.0), (2, HALFWAY)):
            rows = np.flatnonzero((self.short == missing) & (saved > 0))
            gain += share * self._most_by_offer(rows, saved)
        for place in np.flatnonzero(~self.singly):
            gain[place] = self._gain_of_set(int(place))
        gain[list(self.bought)] = -1.0
        return gain

    def _most_by_offer(self, rows: NDArray[np.int64], saved: FloatArray) -> FloatArray:
        """Return for each offer of one colorant the sum over colors of the most it saves."""
        most = np.zeros(self.shape)
        for column in range(self.ways.members.shape[1]):
            some = rows[self.lacks[rows, column]]
            offers = self.of_single[self.ways.members[some, column]]
            known = offers >= 0
            flat = offers[known] * self.shape[1] + self.ways.target[some[known]]
            np.maximum.at(most.reshape(-1), flat, saved[some[known]])
        return np.asarray(most.sum(axis=1))

    def _gain_of_set(self, place: int) -> float:
        held = self.held | self.sells[place]
        costs = costs_of(self.problem, held)
        return float(((self.costs - costs) * self.weights).sum())

    def losses(self) -> FloatArray:
        """Return what giving up each bought offer would cost; `NEVER` for all others."""
        loss = np.full(len(self.problem.offers), NEVER)
        made = np.flatnonzero(self.short == 0)
        members = self.ways.members[made]
        for place in sorted(self.bought - self.problem.must):
            gone = self.held & ~holding(self.problem, self.bought - {place})
            rows = made[~(gone[np.maximum(members, 0)] & (members >= 0)).any(axis=1)]
            costs = np.full(self.problem.targets, self.problem.missed)
            np.minimum.at(costs, self.ways.target[rows], self.ways.cost[rows])
            loss[place] = float(((costs - self.costs) * self.weights).sum())
        return loss

    def fits(self) -> NDArray[np.bool_]:
        """Return which offers may still be bought."""
        problem = self.problem
        free = np.ones(len(problem.offers), dtype=np.bool_)
        if problem.most is not None and len(self.bought) >= problem.most:
            free[:] = False
        if problem.budget is not None:
            prices = np.array([offer.price for offer in problem.offers])
            free &= prices + prices[list(self.bought)].sum() <= problem.budget
        return free

    def fill(self) -> None:
        """Buy what brings the most for its price, again and again."""
        while not (self.problem.aim is not Aim.BEST and self.all_made()):
            gain = np.where(self.fits(), self.gains(), -1.0) / self.price
            if not len(gain) or gain.max() <= 0:
                return
            self.bought.add(int(np.argmax(gain)))
            self._see()

    def prune(self) -> None:
        """Give up what isn't needed, the dearest first."""
        while True:
            loss = self.losses()
            idle = np.flatnonzero(loss <= 1e-9)
            if not len(idle):
                return
            self._give_up(int(idle[np.argmax(self.price[idle])]), 0)

    def drop(self, turn: int) -> bool:
        """Give up the offer that is missed least; False where none may be."""
        loss = np.where(self.rests > turn, NEVER, self.losses()) / self.price
        if not len(loss) or loss.min() >= NEVER:
            loss = self.losses()
        if not len(loss) or loss.min() >= NEVER:
            return False
        self._give_up(int(np.argmin(loss)), turn)
        return True

    def exchange(self, turn: int) -> bool:
        """Buy the offer that brings most and give up the one missed least, in the better order."""
        if not self.bought - self.problem.must:
            return False
        if not self.fits().any() and not self.drop(turn):
            return False
        gain = np.where(self.fits() & (self.rests <= turn), self.gains(), -1.0) / self.price
        if gain.max() > 0:
            bought = int(np.argmax(gain))
            self.bought.add(bought)
            self.rests[bought] = turn + MEMORY[0] + turn % MEMORY[1]
            self._see()
            if self.problem.most is None and not self.all_made():
                self.drop(turn)
        if self.problem.aim is not Aim.BEST:
            self.weights[self.costs >= self.problem.missed] += 1.0
        return True

    def _give_up(self, place: int, turn: int) -> None:
        self.bought.discard(place)
        self.rests[place] = turn + MEMORY[0] + turn % MEMORY[1]
        self._see()


# A choice of the best N made better: one purchase given up for another, wherever that helps.
#
# The walk judges what to buy and what to give up one after the other; here each of the exchanges is
# priced as a whole. Where none helps a few purchases are shaken and exchanged anew. No chance is
# drawn: which ones is read off the bits of a product.

SHAKES = 60
"""Times that a purchase is shaken: some five seconds for 300 colors and 120 colorants (chosen)."""
SHAKEN = 2, 4
"""So many purchases are shaken at least, and so many different counts from there on (chosen)."""
SPREAD = 2654435761, 2246822519
"""Odd factors near the golden share of 2³², whose products scatter whole numbers evenly."""

_Held = NDArray[np.bool_]


def exchanged(
    problem: KitProblem,
    choice: Choice,
    *,
    shakes: int = SHAKES,
    is_over: Callable[[], bool] = never,
) -> Choice:
    """Return the choice, or a better one of as many purchases.

    `problem`: a reduced problem. Where purchases aren't alike, the choice is returned as it is.
    `choice`: what is bought so far. `shakes`: how often to shake it once no exchange helps.
    `is_over`: asked before each exchange; the work ends where it says so.
    """
    if not problem.alike:
        return choice
    offer_of = {offer.colorants[0]: place for place, offer in enumerate(problem.offers)}
    bought, kept = holding(problem, choice.offers), holding(problem, problem.must)
    can_move = offer_of.keys() - problem.never
    free = np.array([place in can_move for place in range(problem.colorants)]) & ~kept
    held, value = _settled(problem, bought, free, is_over)
    for shake in range(shakes):
        if is_over():
            break
        other, now = _settled(problem, _shaken(held, free, shake), free, is_over)
        if now <= value + EQUAL:
            held, value = other, now
    new = {offer_of[place] for place in np.flatnonzero(held & free).tolist()}
    better = judged(problem, problem.must | new)
    return better if better.value < choice.value - EQUAL else choice


def _shaken(held: _Held, free: _Held, shake: int) -> _Held:
    """Give up a few purchases for as many others, others each time."""
    places = np.arange(1, len(held) + 1, dtype=np.uint32) * np.uint32(SPREAD[0])
    turn = np.uint32((shake + 1) * 40503 * SPREAD[1] % 2**32)
    order = np.argsort((places ^ turn) * np.uint32(SPREAD[0]), kind="stable")
    order = order[free[order]]
    count = SHAKEN[0] + shake % SHAKEN[1]
    count = min(count, int((held & free).sum()), int((~held & free).sum()))
    shaken = held.copy()
    shaken[order[held[order]][:count]] = False
    shaken[order[~held[order]][:count]] = True
    return shaken


def _settled(
    problem: KitProblem, held: _Held, free: _Held, is_over: Callable[[], bool]
) -> tuple[_Held, float]:
    """Exchange until nothing is gained; return what is held and what all colors cost then."""
    value = float(costs_of(problem, held).sum())
    while not is_over():
        out, into, now = _best_exchange(problem, held, free)
        if now >= value - EQUAL:
            break
        held = held.copy()
        held[out], held[into], value = False, True, now
    return held, value


def _best_exchange(problem: KitProblem, held: _Held, free: _Held) -> tuple[int, int, float]:
    """Return what to give up, what to buy instead, and what all colors cost then."""
    count, colors, ways = problem.colorants, problem.targets, problem.ways
    lacks = (ways.members >= 0) & ~held[np.maximum(ways.members, 0)]
    near = np.flatnonzero(lacks.sum(axis=1) <= 1)
    members, cost = ways.members[near], ways.cost[near]
    lacking = np.where(lacks[near], members, -1).max(axis=1)  # the one to buy, -1 where none lacks
    cells = np.where(lacking < 0, count, lacking) * colors + ways.target[near]
    best = (-1, -1, np.inf)
    for out in np.flatnonzero(held & free).tolist():
        left = ~(members == out).any(axis=1)
        table = np.full((count + 1) * colors, problem.missed)
        np.minimum.at(table, cells[left], cost[left])
        by_purchase = table.reshape(count + 1, colors)
        sums = np.minimum(by_purchase[:count], by_purchase[count]).sum(axis=1)
        sums[held | ~free] = np.inf
        into = int(np.argmin(sums))
        if sums[into] < best[2]:
            best = (out, into, float(sums[into]))
    return best
