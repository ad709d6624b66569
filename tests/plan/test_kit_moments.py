"""Bounds by moments against every purchase of small problems."""

from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest

from laydown.color.arrays import FloatArray
from laydown.plan.kit.branch import BranchingByMoments
from laydown.plan.kit.moments import Moments, Standing
from laydown.plan.kit.problem import Aim, KitProblem, Offer, Ways, costs_of, holding, reduced
from laydown.plan.kit.swaps import judged

COLORANTS, COLORS, MOST, MISSED = 9, 8, 4, 10.0


def _problem(seed: int, *, owned: frozenset[int] = frozenset()) -> KitProblem:
    """Return a small choice of the best four, by ways of one to three colorants."""
    rng = np.random.default_rng(seed)
    rows = [(t, *rng.choice(COLORANTS, 3, replace=False)) for t in range(COLORS) for _ in range(9)]
    table = np.array(rows, dtype=np.int64)
    table[::3, 3] = -1
    table[::3, 2] = -1
    table[1::3, 3] = -1
    ways = Ways(table[:, 0], table[:, 1:], np.round(rng.uniform(0, 6, len(table)), 3))
    offers = tuple(Offer(f"{i}", (i,)) for i in range(COLORANTS))
    return reduced(
        KitProblem(COLORANTS, COLORS, ways, offers, Aim.BEST, owned, most=MOST, missed=MISSED)
    )


def _kits(problem: KitProblem) -> dict[frozenset[int], float]:
    """Return what every purchase comes to."""
    whole = map(frozenset, combinations(range(COLORANTS), MOST))
    return {kit: float(costs_of(problem, holding(problem, kit)).sum()) for kit in whole}


def _improved(program: Moments, standing: Standing) -> Standing:
    for _ in range(4):
        standing = program.cut_off(program.solved_on(standing, 60))
    return standing


def _as_shares(program: Moments, kit: frozenset[int]) -> FloatArray:
    """Return what the unknowns are of one whole kit."""
    held = np.isin(program.colorants, list(kit))
    made = (held[program.members] | (program.members < 0)).all(axis=1)
    ways = np.zeros(len(program.cost))
    for color in range(COLORS):
        usable = np.flatnonzero(made & (program.color == color))
        ways[usable[np.argmin(program.cost[usable])]] = 1.0
    x = np.append(1.0, held)
    return np.concatenate([ways, held, np.outer(x, x).reshape(-1)])


@pytest.mark.parametrize("seed", range(3))
def test_every_kit_keeps_to_every_row_and_none_costs_less_than_is_proven(seed: int) -> None:
    """Cuts and all, of the whole and of parts with one colorant after another settled."""
    problem = _problem(seed)
    kits, program = _kits(problem), Moments(problem)
    standing = _improved(program, program.start())
    rng = np.random.default_rng(seed)
    for _ in range(4):
        assert standing.cuts.shape[0]
        bound, _, over = program.bounded(standing)
        assert over.min() == 0.0
        assert kits
        for kit, value in kits.items():
            shares = _as_shares(program, kit)
            off = program.rows @ shares
            assert off[0] == 1.0
            assert off[1:].max() <= 1e-9
            assert np.abs(off[1:][program.equal[1:]]).max() <= 1e-9
            assert (standing.cuts @ shares).max() <= 1e-9
            assert value >= bound
        place = int(rng.choice(np.flatnonzero(standing.settled == 0)))
        into, colorant = bool(rng.integers(2)), int(program.colorants[place])
        kits = {kit: value for kit, value in kits.items() if (colorant in kit) == into}
        half = program.settled(standing, place, into=into)
        assert program.bounded(half)[0] >= bound - 1e-6
        standing = _improved(program, half)


@pytest.mark.parametrize("seed", range(3))
def test_any_multipliers_prove_a_bound(seed: int) -> None:
    """However far from the best ones, and of parts with two colorants settled as well."""
    problem, rng = _problem(seed), np.random.default_rng(seed)
    kits, program = _kits(problem), Moments(problem)
    start = program.cut_off(program.solved_on(program.start(), 20))
    for size in (0.01, 0.1, 1.0, 10.0):
        drawn = size * rng.normal(size=start.multipliers.shape)
        limited = np.append(~program.equal, np.ones(start.cuts.shape[0], np.bool_))
        drawn[limited] = np.abs(drawn[limited]) * (rng.uniform(size=limited.sum()) < 0.1)
        settled = np.zeros(len(program.colorants), dtype=np.int64)
        settled[rng.choice(len(settled), 2, replace=False)] = rng.choice([-1, 1], 2)
        for part in (0 * settled, settled):
            bound, _, _ = program.bounded(replace(start, multipliers=drawn, settled=part))
            bought, left = (set(program.colorants[part == sign].tolist()) for sign in (1, -1))
            values = [v for kit, v in kits.items() if bought <= kit and not left & kit]
            assert bound <= min(values)


@pytest.mark.parametrize("seed", range(3))
def test_ways_far_from_worth_it_are_left_alone_at_no_loss(seed: int) -> None:
    """After a while with all of them, bounding by the near ones alone proves as much."""
    program = Moments(_problem(seed))
    every = near = program.solved_on(program.start(), 100)
    begun = program.bounded(near)[0]
    for _ in range(5):
        every = program.solved_on(every, 100)
        near = program.solved_on(near, 100, program.bounded(near)[2])
    bounds = [program.bounded(standing)[0] for standing in (every, near)]
    assert bounds[1] > begun
    assert bounds[1] == pytest.approx(bounds[0], abs=0.01)


@pytest.mark.parametrize("seed", range(3))
def test_cuts_lift_the_bound_near_what_the_best_costs(seed: int) -> None:
    """Further than the program without them comes, however long it is solved."""
    problem = _problem(seed)
    program = Moments(problem)
    without = program.bounded(program.solved_on(program.start(), 2000))[0]
    standing = program.solved_on(_improved(program, program.start()), 1000)
    best, bound = min(_kits(problem).values()), program.bounded(standing)[0]
    assert bound > without + 0.05 * (best - without)


@pytest.mark.parametrize("owned", [frozenset[int](), frozenset({2, 5})])
@pytest.mark.parametrize("seed", range(3))
def test_the_search_proves_the_best_of_all(seed: int, owned: frozenset[int]) -> None:
    """Whatever it starts from, and with something owned."""
    problem = _problem(seed, owned=owned)
    search = BranchingByMoments(problem, judged(problem, frozenset(range(MOST))))
    assert search.run(lambda: False)
    assert search.best.value == pytest.approx(min(_kits(problem).values()))
    assert search.bound == search.best.value


def test_a_search_that_is_stopped_has_a_bound() -> None:
    """Which is no more than the best costs."""
    problem, looks = _problem(1), iter([False] * 3)
    search = BranchingByMoments(problem, judged(problem, frozenset(range(MOST))))
    assert not search.run(lambda: next(looks, True))
    assert 0.0 < search.bound <= min(_kits(problem).values()) + 1e-9
