"""A choice of the best N made better: one purchase given up for another, wherever that helps.

The walk judges what to buy and what to give up one after the other; here each of the exchanges is
priced as a whole. Where none helps a few purchases are shaken and exchanged anew. No chance is
drawn: which ones is read off the bits of a product.
"""

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from laydown.plan.kit.problem import Aim, KitProblem, costs_of, holding
from laydown.plan.kit.swaps import EQUAL, Choice, judged, never

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

    Parameters
    ----------
    problem
        A reduced problem. Where the aim isn't the best N, or where sets or a budget make purchases
        unlike, the choice is returned as it is.
    choice
        What is bought so far.
    shakes
        How often to shake it once no exchange helps.
    is_over
        Asked before each exchange; the work ends where it says so.
    """
    alike = all(len(offer.colorants) == 1 for offer in problem.offers)
    if problem.aim is not Aim.BEST or problem.budget is not None or not alike:
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
