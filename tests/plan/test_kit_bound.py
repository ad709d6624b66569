"""Cuts and bounds of kits against trying every purchase, and against one large program."""

from itertools import combinations

import numpy as np
import pytest
from scipy.optimize import linprog

from laydown.color.arrays import FloatArray
from laydown.plan.kit.bounds import Bounding, color_costs, cost_by_cut
from laydown.plan.kit.branch import Branching
from laydown.plan.kit.problem import Aim, KitProblem, Offer, Ways, costs_of, holding, reduced
from laydown.plan.kit.swaps import judged, swapped

COLORANTS, COLORS, MOST, MISSED = 8, 7, 3, 10.0


def _problem(seed: int, *, sets: bool = False) -> KitProblem:
    """Return a small choice of the best three, all colorants singly and perhaps two sets."""
    rng = np.random.default_rng(seed)
    rows = [(t, *rng.choice(COLORANTS, 2, replace=False)) for t in range(COLORS) for _ in range(5)]
    rows += [(t, rng.integers(COLORANTS), -1) for t in range(0, COLORS, 3)]
    table = np.array(sorted(rows), dtype=np.int64)
    ways = Ways(table[:, 0], table[:, 1:], np.round(rng.uniform(0, 6, len(table)), 3))
    offers = tuple(Offer(f"{i}", (i,)) for i in range(COLORANTS))
    if sets:
        offers += (Offer("warm", (0, 1, 2)), Offer("cool", (2, 5)))
    whole = KitProblem(COLORANTS, COLORS, ways, offers, Aim.BEST, most=MOST, missed=MISSED)
    return reduced(whole)


def _in_one_program(problem: KitProblem) -> float:
    """Return the least cost with purchases in parts, all colors and ways in one program."""
    ways, offers = problem.ways, len(problem.offers)
    missed = offers + problem.colorants
    first = missed + problem.targets
    size = first + len(ways)
    above: list[tuple[FloatArray, float]] = []
    for colorant in range(problem.colorants):
        row = np.zeros(size)
        row[offers + colorant] = 1.0
        row[[o for o, one in enumerate(problem.offers) if colorant in one.colorants]] = -1.0
        above.append((row, 0.0))
        for target in range(problem.targets):
            row = np.zeros(size)
            row[offers + colorant] = -1.0
            uses = (ways.target == target) & (ways.members == colorant).any(axis=1)
            row[first:][uses] = 1.0
            above.append((row, 0.0))
    above.append((np.r_[np.ones(offers), np.zeros(size - offers)], float(MOST)))
    equal = np.zeros((problem.targets, size))
    for target in range(problem.targets):
        equal[target, missed + target] = 1.0
        equal[target, first:][ways.target == target] = 1.0
    cost = np.r_[np.zeros(missed), np.full(problem.targets, MISSED), ways.cost]
    rows, limits = np.array([row for row, _ in above]), np.array([limit for _, limit in above])
    found = linprog(cost, rows, limits, equal, np.ones(problem.targets), bounds=(0, 1))
    return float(found.fun)


def _bound(problem: KitProblem) -> float:
    nothing: frozenset[int] = frozenset()
    found = Bounding(problem).bounded(
        nothing, nothing, foothold=None, enough=np.inf, stop=lambda: False
    )
    assert found is not None
    return found[0]


@pytest.mark.parametrize("seed", range(3))
def test_what_a_color_costs_at_most_is_no_less_than_any_cut_says(seed: int) -> None:
    """So none is sought where it says no more; of whole purchases it is what the color costs."""
    problem, rng = _problem(seed), np.random.default_rng(seed)
    for place, color in color_costs(problem, missed=MISSED).items():
        for held in rng.uniform(0, 1, (20, COLORANTS)):
            assert color.most(held.tolist()) >= cost_by_cut(color.cut(held), held) - 1e-9
        for whole in rng.uniform(0, 1, (20, COLORANTS)) < 0.5:
            cost = costs_of(problem, whole)[place]
            assert color.most(whole.astype(float).tolist()) == pytest.approx(cost)


@pytest.mark.parametrize("seed", range(4))
def test_a_cut_lies_below_what_every_purchase_costs(seed: int) -> None:
    """Wherever it was taken, a cut says no more than is true, and all where it was taken."""
    problem = _problem(seed)
    rng = np.random.default_rng(seed)
    purchases = [
        holding(problem, set(some)).astype(np.float64)
        for some in combinations(range(COLORANTS), MOST)
    ]
    for place, color in color_costs(problem, missed=MISSED).items():
        cuts = [color.cut(rng.uniform(0, 1, COLORANTS)) for _ in range(3)]
        for held in purchases:
            true = costs_of(problem, held > 0)[place]
            assert all(cost_by_cut(cut, held) <= true + 1e-6 for cut in cuts)
            assert cost_by_cut(color.cut(held), held) == pytest.approx(true, abs=1e-6)


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize("sets", [False, True])
def test_color_by_color_the_bound_is_that_of_one_large_program(seed: int, *, sets: bool) -> None:
    """Cuts give up nothing: the relaxation is the same as with all ways written out."""
    problem = _problem(seed, sets=sets)
    # A cut is left out where it would lift a color by less than a thousandth of a missed one.
    room = COLORS * MISSED / 1000.0
    assert _in_one_program(problem) - room <= _bound(problem) <= _in_one_program(problem) + 1e-6


@pytest.mark.parametrize("seed", range(4))
def test_a_search_that_is_stopped_has_a_bound_and_can_go_on(seed: int) -> None:
    """Stopped before anything was split it claims nothing; carried on it ends with the proof."""
    problem = _problem(seed, sets=True)
    every = range(len(problem.offers))
    least = min(judged(problem, frozenset(some)).value for some in combinations(every, MOST))
    search = Branching(problem, judged(problem, frozenset()))
    assert search.run(lambda: True) is False
    assert search.bound <= least
    turns = iter([False, False, True])
    search.run(lambda: next(turns, True))
    assert search.bound <= least + 1e-6
    search.learn(swapped(problem))
    assert search.run(lambda: False) is True
    assert search.best.value == pytest.approx(least, abs=1e-6)
    assert search.bound == pytest.approx(least, abs=1e-3)
