"""Which colorants to own: the question, stripped of everything but sets, costs and prices."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from laydown.color.arrays import FloatArray

Places = NDArray[np.int64]


class Aim(StrEnum):
    """What a choice of colorants is to be the best at."""

    FEWEST = "fewest"
    CHEAPEST = "cheapest"
    BEST = "best"


@dataclass(frozen=True, slots=True)
class Offer:
    """Something that can be bought as one: a colorant, or a set of them."""

    name: str
    """As the supply list calls it."""
    colorants: tuple[int, ...]
    """Places of what is in it, rising."""
    price: int = 0
    """In minor units of the currency (cents), 0 or above."""


@dataclass(frozen=True, slots=True, eq=False)
class Ways:
    """For each color wanted, the sets of colorants that can make it, and how far off each is."""

    target: Places
    """Shape (k,), which color, in rising order."""
    members: Places
    """Shape (k, s), the places of the colorants a way needs; a place stands twice, or is -1, where
    it needs fewer than s."""
    cost: FloatArray
    """Shape (k,), 0 or above."""

    def __len__(self) -> int:
        """Return how many ways there are."""
        return len(self.target)

    def only(self, keep: NDArray[np.bool_] | Places) -> "Ways":
        """Return some of the ways."""
        return Ways(self.target[keep], self.members[keep], self.cost[keep])


@dataclass(frozen=True, slots=True, eq=False)
class KitProblem:
    """Which of `colorants` to own."""

    colorants: int
    targets: int
    """How many of each there are."""
    ways: Ways
    """What makes what. Where the aim is fewest or cheapest every way in it is good enough, and
    costs don't matter."""
    offers: tuple[Offer, ...]
    """What can be bought."""
    aim: Aim = Aim.FEWEST
    """Fewest colorants bought, cheapest purchase, or the best that `most` purchases do."""
    owned: frozenset[int] = frozenset()
    """Places that are there already."""
    must: frozenset[int] = frozenset()
    """Offers that are bought whatever else is."""
    never: frozenset[int] = frozenset()
    """Places that are not to be used."""
    most: int | None = None
    """How many offers may be bought; None for any number. The best N needs it."""
    budget: int | None = None
    """What all that is bought may cost; None for any price."""
    missed: float = 1.0
    """What a color counts that is not made at all: above any way's cost."""

    @property
    def prices(self) -> FloatArray:
        """Shape (offers,), what each offer counts in the aim: one, its price, or nothing."""
        if self.aim is Aim.CHEAPEST:
            return np.array([offer.price for offer in self.offers], dtype=np.float64)
        each = 1.0 if self.aim is Aim.FEWEST else 0.0
        return np.array([each * len(offer.colorants) for offer in self.offers], dtype=np.float64)

    @property
    def alike(self) -> bool:
        """Whether it is the best so many of colorants that differ in nothing but what they make."""
        singly = all(len(offer.colorants) == 1 for offer in self.offers)
        return singly and self.aim is Aim.BEST and self.budget is None


def reduced(problem: KitProblem) -> KitProblem:
    """Return the same problem with every way left out that can't matter.

    What is owned, or bought in any case, is free and drops out of the ways. Ways with a colorant
    that can't be had are left out; of equal sets the nearest is kept; a way that needs more than
    another one of the same color, and comes no closer, is left out. The answers stay the same.
    """
    bought = {place for offer in problem.must for place in problem.offers[offer].colorants}
    free = _mask(problem.colorants, problem.owned | bought)
    to_be_had = _mask(problem.colorants, {p for offer in problem.offers for p in offer.colorants})
    usable = (free | to_be_had) & ~_mask(problem.colorants, problem.never)
    ways, known = problem.ways, problem.ways.members >= 0
    fine = (usable[np.maximum(ways.members, 0)] | ~known).all(axis=1)
    needed = np.where(free[np.maximum(ways.members, 0)], -1, ways.members)
    needed = np.where(known, needed, -1)
    ways = Ways(ways.target[fine], _as_sets(needed[fine]), ways.cost[fine])
    if problem.aim is not Aim.BEST:
        ways = replace(ways, cost=np.zeros(len(ways)))
    return replace(problem, ways=_undominated(_nearest_of_each(ways)))


def _mask(count: int, places: frozenset[int] | set[int]) -> NDArray[np.bool_]:
    mask = np.zeros(count, dtype=np.bool_)
    mask[list(places)] = True
    return mask


def _as_sets(members: Places) -> Places:
    """Sort each row down and put -1 for what stands twice, so that equal sets are equal rows."""
    rows = -np.sort(-members, axis=1)
    for column in range(1, rows.shape[1]):
        rows[:, column] = np.where(rows[:, column] == rows[:, column - 1], -1, rows[:, column])
    return np.asarray(-np.sort(-rows, axis=1))


def _nearest_of_each(ways: Ways) -> Ways:
    keys = np.column_stack([ways.target, ways.members])
    order = np.lexsort((ways.cost, *keys.T[::-1]))
    ways, keys = ways.only(order), keys[order]
    first = np.ones(len(ways), dtype=np.bool_)
    first[1:] = (keys[1:] != keys[:-1]).any(axis=1)
    return ways.only(first)


def _undominated(ways: Ways) -> Ways:
    """Leave out each way with a subset, for the same color, that costs no more."""
    cheapest: dict[tuple[int, frozenset[int]], float] = {}
    sets = [frozenset(row[row >= 0].tolist()) for row in ways.members]
    for target, members, cost in zip(ways.target.tolist(), sets, ways.cost, strict=True):
        cheapest[target, members] = float(cost)
    keep = [
        not _has_better(cheapest, target, members, float(cost))
        for target, members, cost in zip(ways.target.tolist(), sets, ways.cost, strict=True)
    ]
    return ways.only(np.array(keep, dtype=np.bool_))


def _has_better(
    cheapest: Mapping[tuple[int, frozenset[int]], float],
    target: int,
    members: frozenset[int],
    cost: float,
) -> bool:
    smaller = {members - {one} for one in members}
    smaller |= {less - {one} for less in smaller for one in less} | (
        {frozenset()} if members else set()
    )
    return any(cheapest.get((target, less), np.inf) <= cost for less in smaller)


def costs_of(problem: KitProblem, held: NDArray[np.bool_]) -> FloatArray:
    """Return what each color costs with these colorants at hand, shape (targets,).

    `problem`: the problem, reduced or not. `held`: shape (colorants,), what is at hand; of a
    reduced problem what is free need not be in it.
    """
    costs = np.full(problem.targets, problem.missed)
    ways = problem.ways
    made = (held[np.maximum(ways.members, 0)] | (ways.members < 0)).all(axis=1)
    np.minimum.at(costs, ways.target[made], ways.cost[made])
    return costs


def holding(problem: KitProblem, offers: frozenset[int] | set[int]) -> NDArray[np.bool_]:
    """Return what is at hand once these offers are bought, shape (colorants,)."""
    bought = {place for offer in offers for place in problem.offers[offer].colorants}
    return _mask(problem.colorants, problem.owned | bought) & ~_mask(
        problem.colorants, problem.never
    )
