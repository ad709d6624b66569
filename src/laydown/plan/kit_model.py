"""The choice of colorants as a mixed-integer program, proven by HiGHS.

docs/decisions/0032-kit-by-proof.md has the program and why its bound is close.
"""

from dataclasses import dataclass
from math import ceil, inf
from typing import Any

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.plan.kit_problem import Aim, KitProblem
from laydown.plan.kit_swap import Choice, better, judged, swapped

MISSED_FIRST = 1.0
"""Besides all that could be bought, what a missed color adds to what is made small."""
SHORT_WALK = 120
"""Turns of the walk before the first try to prove its end: a second at most."""
FIRST_TRY = 0.3
"""Share of the time for that first try."""
WHOLE = 1e-6
"""A bound this near above a whole number counts as that number."""


@dataclass(frozen=True, slots=True, eq=False)
class Proven:
    """The best choice known and what is proven of it.

    Parameters
    ----------
    choice
        The purchase.
    bound
        No purchase that misses as few colors makes the aim's value smaller than this.
    proven
        Whether none is better.
    """

    choice: Choice
    bound: float
    proven: bool

    @property
    def gap(self) -> float:
        """How far the value may be above the least, as a share of it; 0 where it is proven."""
        if self.proven or self.choice.value <= 0:
            return 0.0
        return (self.choice.value - self.bound) / self.choice.value


class _Rows:
    """Rows of a program, gathered one by one."""

    def __init__(self) -> None:
        self.starts, self.places, self.factors = [0], list[int](), list[float]()
        self.least, self.most = list[float](), list[float]()

    def add(self, places: list[int], factors: list[float], least: float, most: float) -> None:
        self.places += places
        self.factors += factors
        self.starts.append(len(self.places))
        self.least.append(least)
        self.most.append(most)


@dataclass(frozen=True, slots=True, eq=False)
class Program:
    """The columns: offers, then what is at hand, then missed colors, then ways.

    Parameters
    ----------
    cost
        Shape (columns,), what is made small.
    rows
        The constraints.
    whole
        How many columns from the first on are whole numbers.
    heavy
        What a missed color adds to the cost.
    """

    cost: FloatArray
    rows: _Rows
    whole: int
    heavy: float


def program(problem: KitProblem) -> Program:
    """Write a reduced problem as a program.

    Every color is made by its ways in shares that, with the share missed, make one. For each color
    and colorant the ways of that color that need it get no more than there is of the colorant:
    with whole purchases that says no more than one row a way would, but in shares far more.
    """
    offers, n, targets, ways = len(problem.offers), problem.colorants, problem.targets, problem.ways
    heavy = problem.missed
    if problem.aim is not Aim.BEST:
        heavy = float(problem.prices.sum()) + MISSED_FIRST
    costs = [problem.prices, np.zeros(n), np.full(targets, heavy), ways.cost]
    if problem.aim is not Aim.BEST:
        costs[3] = np.zeros(len(ways))
    rows = _Rows()
    _have_what_is_bought(problem, rows)
    _make_each_color(problem, rows)
    return Program(np.concatenate(costs), rows, offers + n, heavy)


def _have_what_is_bought(problem: KitProblem, rows: _Rows) -> None:
    offers = len(problem.offers)
    sold: list[list[int]] = [[] for _ in range(problem.colorants)]
    for place, offer in enumerate(problem.offers):
        for colorant in offer.colorants:
            sold[colorant].append(place)
    for colorant, sellers in enumerate(sold):
        rows.add([offers + colorant, *sellers], [1.0] + [-1.0] * len(sellers), -inf, 0.0)
    if problem.most is not None:
        rows.add(list(range(offers)), [1.0] * offers, 0.0, float(problem.most))
    if problem.budget is not None:
        prices = [float(offer.price) for offer in problem.offers]
        rows.add(list(range(offers)), prices, 0.0, float(problem.budget))


def _make_each_color(problem: KitProblem, rows: _Rows) -> None:
    had = len(problem.offers)
    missed, first = had + problem.colorants, had + problem.colorants + problem.targets
    ends = np.searchsorted(problem.ways.target, np.arange(problem.targets + 1))
    for target in range(problem.targets):
        span = range(int(ends[target]), int(ends[target + 1]))
        columns = [first + way for way in span]
        rows.add([missed + target, *columns], [1.0] * (1 + len(columns)), 1.0, 1.0)
        needs: dict[int, list[int]] = {}
        for way in span:
            for colorant in problem.ways.members[way].tolist():
                if colorant >= 0:
                    needs.setdefault(colorant, []).append(first + way)
        for colorant, users in sorted(needs.items()):
            rows.add([had + colorant, *users], [-1.0] + [1.0] * len(users), -inf, 0.0)


def solved(problem: KitProblem, *, seconds: float) -> Proven:
    """Find the best choice: a short walk and a try to prove it; where that fails, a long one.

    Parameters
    ----------
    problem
        A reduced problem.
    seconds
        How long to try to prove, in all.
    """
    first = prove(problem, swapped(problem, turns=SHORT_WALK), seconds=seconds * FIRST_TRY)
    if first.proven:
        return first
    start = better(problem, first.choice, swapped(problem))
    last = prove(problem, start, seconds=seconds * (1.0 - FIRST_TRY))
    bound = max(first.bound, last.bound)
    done = last.proven or last.choice.value <= bound + WHOLE
    return Proven(last.choice, min(bound, last.choice.value), done)


def prove(problem: KitProblem, start: Choice, *, seconds: float) -> Proven:
    """Find the best choice, or how much better than a good one it could be at most.

    Parameters
    ----------
    problem
        A reduced problem.
    start
        A good choice, from `laydown.plan.kit_swap.swapped`.
    seconds
        How long to try. What is proven is so on any machine; whether it is proven in time is not.
    """
    made = program(problem)
    only_better = problem.aim is not Aim.BEST and not start.missed
    if only_better:
        _ask_for_better(problem, made, start)
    solver = _solver(problem, made, seconds)
    if not only_better:
        _start_from(solver, problem, made, start)
    solver.run()
    if only_better and solver.getModelStatus().name == "kInfeasible":
        return Proven(start, start.value, True)
    info = solver.getInfo()
    found = _choice(solver, problem)
    best = better(problem, start, found) if found else start
    bound = max(0.0, float(info.mip_dual_bound))
    return _proven(problem, made, best, bound)


def _ask_for_better(problem: KitProblem, made: Program, start: Choice) -> None:
    """Add that a purchase is to count less than the one known, and to miss no more than it.

    A purchase that can't be had then proves the one known; the solver leaves out far more.
    """
    less = start.value - _unit(problem)
    offers = list(range(len(problem.offers)))
    made.rows.add(offers, problem.prices.tolist(), -inf, less)
    missed = len(problem.offers) + problem.colorants
    makeable = np.unique(problem.ways.target).tolist()
    made.rows.add([missed + t for t in makeable], [1.0] * len(makeable), 0.0, 0.0)


def _unit(problem: KitProblem) -> float:
    """Return what all prices are multiples of."""
    prices = problem.prices.astype(np.int64)
    positive = prices[prices > 0]
    return float(np.gcd.reduce(positive)) if len(positive) else 1.0


def _solver(problem: KitProblem, made: Program, seconds: float) -> Any:
    import highspy  # noqa: PLC0415  loaded by the few who choose a kit

    solver: Any = getattr(highspy, "Highs")()  # noqa: B009  untyped in some releases
    for name, value in (
        ("output_flag", False),
        ("threads", 1),
        ("time_limit", float(seconds)),
        ("mip_rel_gap", 1e-6),
    ):
        solver.setOptionValue(name, value)
    lp = highspy.HighsLp()
    count = len(made.cost)
    lp.num_col_, lp.num_row_ = count, len(made.rows.least)
    lp.col_cost_, lp.col_upper_ = made.cost, np.ones(count)
    lower = np.zeros(count)
    lower[list(problem.must)] = 1.0
    lp.col_lower_ = lower
    lp.row_lower_, lp.row_upper_ = np.array(made.rows.least), np.array(made.rows.most)
    lp.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
    lp.a_matrix_.start_ = np.array(made.rows.starts)
    lp.a_matrix_.index_ = np.array(made.rows.places)
    lp.a_matrix_.value_ = np.array(made.rows.factors)
    kinds = highspy.HighsVarType
    lp.integrality_ = [kinds.kInteger] * made.whole + [kinds.kContinuous] * (count - made.whole)
    solver.passModel(lp)
    return solver


def _start_from(solver: Any, problem: KitProblem, made: Program, start: Choice) -> None:
    """Hand over a good choice: the purchases, and what is at hand with them."""
    places = np.arange(made.whole, dtype=np.int32)
    values = np.zeros(made.whole)
    values[list(start.offers)] = 1.0
    for offer in start.offers:
        values[len(problem.offers) + np.array(problem.offers[offer].colorants, dtype=int)] = 1.0
    solver.setSolution(made.whole, places, values)


def _choice(solver: Any, problem: KitProblem) -> Choice | None:
    values = np.array(solver.getSolution().col_value)
    if len(values) < len(problem.offers) or not solver.getInfo().primal_solution_status:
        return None
    bought = np.flatnonzero(values[: len(problem.offers)] > 0.5)
    return judged(problem, frozenset(bought.tolist()))


def _proven(problem: KitProblem, made: Program, best: Choice, bound: float) -> Proven:
    if problem.aim is Aim.BEST:
        done = best.value <= bound + WHOLE * max(1.0, best.value)
        return Proven(best, min(bound, best.value), done)
    unmade = problem.targets - len(np.unique(problem.ways.target))
    left = bound - made.heavy * (unmade + best.missed)
    bound = float(min(best.value, max(0.0, _whole(problem, left))))
    return Proven(best, bound, best.value <= bound + WHOLE)


def _whole(problem: KitProblem, bound: float) -> float:
    """Round a bound up to what prices can come to: multiples of their common divisor."""
    unit = _unit(problem)
    return float(ceil((bound - WHOLE * max(1.0, bound)) / unit) * unit)
