"""Bounds by moments against every purchase of small problems."""

from itertools import combinations

import numpy as np
import pytest

from laydown.color.arrays import FloatArray
from laydown.plan.kit.branch import BranchingByMoments
from laydown.plan.kit.moments import (
    Moments,
    Standing,
    bounded,
    cut_off,
    moments_of,
    settled,
    solved_on,
)
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


def _bounded(program: Moments, standing: Standing) -> tuple[Moments, Standing]:
    for _ in range(4):
        program, standing = cut_off(program, solved_on(program, standing, 100))
    return program, standing


def _as_shares(program: Moments, kit: frozenset[int]) -> FloatArray:
    """Return what the unknowns are of one whole kit."""
    held = np.isin(program.colorants, list(kit))
    made = (held[program.members] | (program.members < 0)).all(axis=1)
    ways = np.zeros(len(program.cost))
    for color, missed in enumerate(program.missed):
        usable = np.flatnonzero(made & (program.color == color))
        if len(usable) and program.cost[usable].min() < missed:
            ways[usable[np.argmin(program.cost[usable])]] = 1.0
    x = np.append(1.0, held)
    return np.concatenate([ways, held, np.outer(x, x).reshape(-1)])


@pytest.mark.parametrize("seed", range(3))
def test_every_kit_keeps_to_every_row_and_none_costs_less_than_is_proven(seed: int) -> None:
    """Cuts and all, of the whole and of parts with one colorant after another settled."""
    problem = _problem(seed)
    kits = _kits(problem)
    part = _bounded(*moments_of(problem))
    rng = np.random.default_rng(seed)
    for _ in range(4):
        program, standing = part
        assert program.cuts.any()
        bound = bounded(program, standing.multipliers).bound
        assert kits
        for kit, value in kits.items():
            off = program.rows @ _as_shares(program, kit) - program.limits
            assert off.max() <= 1e-9
            assert np.abs(off[program.equal]).max() <= 1e-9
            assert value >= bound - 1e-9
        place, into = int(rng.integers(len(program.colorants))), bool(rng.integers(2))
        colorant = int(program.colorants[place])
        kits = {kit: value for kit, value in kits.items() if (colorant in kit) == into}
        part = _bounded(*settled(program, standing, place, into=into))


@pytest.mark.parametrize("seed", range(3))
def test_cuts_lift_the_bound_near_what_the_best_costs(seed: int) -> None:
    """Further than the program without them comes, however long it is solved."""
    problem = _problem(seed)
    program, standing = moments_of(problem)
    without = bounded(program, solved_on(program, standing, 2000).multipliers).bound
    program, standing = _bounded(program, standing)
    standing = solved_on(program, standing, 1000)
    best, bound = min(_kits(problem).values()), bounded(program, standing.multipliers).bound
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
