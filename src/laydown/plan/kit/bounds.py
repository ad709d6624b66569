"""How good any choice can be: bounds from below."""

from collections.abc import Callable, Sequence
from typing import Any, TypeAlias

import numpy as np
from numpy.typing import NDArray

from laydown.color.arrays import FloatArray
from laydown.plan.kit.problem import Aim, KitProblem, Places
from laydown.plan.kit.swaps import Choice

# What a color costs at least by what is at hand of each colorant, whole or in part.
#
# Of one color all is known: it costs the least that its ways, in shares that sum to one with the
# share missed, cost together, where all ways that need a colorant have no more than there is of
# it. The dual of that small program is a straight line below the cost, true for every purchase: a
# cut.

NOTHING = 1e-9
"""Factors up to this count as none."""


DEVEX = 1
"""HiGHS's number of the pricing that asks least of a start from elsewhere."""


Cut: TypeAlias = tuple[float, Places, FloatArray]
"""What a color costs at least with none of some colorants at hand; shape (k,), which colorants make
it cheaper; and shape (k,), by how much, above 0."""


def cost_by_cut(cut: Cut, held: FloatArray) -> float:
    """Return what a cut says of so much at hand, shape (colorants,)."""
    most, colorants, factors = cut
    return float(most - factors @ held[colorants])


def quiet_solver() -> Any:
    """Return a solver that writes nothing, keeps to one thread, and often starts anew nearby."""
    import highspy  # noqa: PLC0415  loaded by the few who choose a kit

    solver: Any = getattr(highspy, "Highs")()  # noqa: B009  untyped in some releases
    options = (("output_flag", False), ("threads", 1), ("simplex_dual_edge_weight_strategy", DEVEX))
    for name, value in options:
        solver.setOptionValue(name, value)
    return solver


class ColorCost:
    """The small program of one color, kept so that it is solved anew from where it stood.

    `members`: shape (k, s), the colorants of each way; -1 where there are fewer. `cost`: shape
    (k,), of each way. `missed`: what the color costs that is not made.
    """

    def __init__(self, members: Places, cost: FloatArray, missed: float) -> None:
        self.colorants = np.unique(members[members >= 0])
        self._missed = missed
        order = np.argsort(cost, kind="stable")
        rows = [tuple(place for place in row if place >= 0) for row in members[order].tolist()]
        self._cheapest = list(zip(cost[order].tolist(), rows, strict=True))
        self._rows = np.arange(1, 1 + len(self.colorants), dtype=np.int32)
        self._unbounded = np.full(len(self.colorants), -np.inf)
        self._solver = quiet_solver()
        self._solver.passModel(self._program(members, cost, missed))

    def _program(self, members: Places, cost: FloatArray, missed: float) -> Any:
        import highspy  # noqa: PLC0415  loaded by the few who choose a kit

        known = members >= 0
        # Each way's column: row 0, in which the shares make one, then a row for each colorant.
        rows = np.where(known, 1 + np.searchsorted(self.colorants, members), -1)
        table = np.column_stack([np.zeros(len(members), dtype=np.int64), rows])
        sizes = np.append((table >= 0).sum(axis=1), 1)
        lp = highspy.HighsLp()
        lp.num_col_, lp.num_row_ = len(members) + 1, len(self.colorants) + 1
        lp.col_cost_ = np.append(cost, missed)
        lp.col_lower_, lp.col_upper_ = np.zeros(lp.num_col_), np.full(lp.num_col_, np.inf)
        lp.row_lower_ = np.append(1.0, self._unbounded)
        lp.row_upper_ = np.append(1.0, np.zeros(len(self.colorants)))
        lp.a_matrix_.format_ = highspy.MatrixFormat.kColwise
        lp.a_matrix_.start_ = np.concatenate([[0], np.cumsum(sizes)])
        lp.a_matrix_.index_ = np.append(table[table >= 0], 0)
        lp.a_matrix_.value_ = np.ones(sizes.sum())
        return lp

    def most(self, held: Sequence[float]) -> float:
        """Return what it costs at most with so much at hand: the cheapest ways first.

        Often this is what it costs, and takes a tenth of the time that the program does.
        """
        left, open_, total = list(held), 1.0, 0.0
        for cost, members in self._cheapest:
            share = open_
            for place in members:
                share = min(share, left[place])
            if share > NOTHING:
                open_, total = open_ - share, total + share * cost
                for place in members:
                    left[place] -= share
                if open_ <= NOTHING:
                    break
        return total + open_ * self._missed

    def cut(self, held: FloatArray) -> Cut:
        """Return the cut that says most of so much at hand, shape (colorants,)."""
        upper = np.maximum(0.0, held[self.colorants])
        self._solver.changeRowsBounds(len(self._rows), self._rows, self._unbounded, upper)
        self._solver.run()
        duals = np.array(self._solver.getSolution().row_dual)
        counts = -duals[1:] > NOTHING
        return float(duals[0]), self.colorants[counts], -duals[1:][counts]


def color_costs(problem: KitProblem, *, missed: float) -> dict[int, ColorCost]:
    """Return the program of every color that some way makes, by its place.

    `problem`: a reduced problem. `missed`: what a color counts that is not made.
    """
    ways = problem.ways
    places: NDArray[np.int64] = np.unique(ways.target)
    first = np.searchsorted(ways.target, places)
    last = np.searchsorted(ways.target, places, side="right")
    return {
        int(place): ColorCost(ways.members[a:b], ways.cost[a:b], missed)
        for place, a, b in zip(places, first, last, strict=True)
    }


# What a purchase comes to at least, where some offers are settled and others may be had in part.
#
# The program has a column for each offer and one for what each color costs, which the cuts of
# `laydown.plan.kit.bounds` hold up from below: it stays small however many ways there are.

MISSED_FIRST = 1.0
"""Besides all that could be bought, what a missed color adds to what is made small."""
FIRST_ROUNDS, LATER_ROUNDS = 60, 1
"""Rounds of cuts at the beginning, and for each part after that."""
LIFTED = 1e-3
"""A cut is added where it lifts a color's cost by this share of what a missed color counts."""
EXACT = 1e-7
"""The same where every offer is bought or not: there the bound must be what it comes to."""
ROOM = 2.0
"""Cuts that hold nothing up are dropped when there are so many times those of the beginning."""
INNER = 0.5
"""How far the first rounds look back to where the rounds before stood."""


Foothold: TypeAlias = tuple[list[Any], list[Any], int]
"""Where the solver stood, to go on from there: statuses of columns and of rows, and how often cuts
had been dropped by then; after that the rows are others."""


Bounded: TypeAlias = tuple[float, FloatArray, bool, Foothold]
"""A bound of a part of all purchases: none of it comes to less; shape (offers,), how much of each
offer the bound is reached with; whether no cut says more of these shares; and where the solver
stood, good for bounding the halves of this part."""


class Bounding:
    """The program, kept from part to part with its cuts.

    `problem`: a reduced problem.
    """

    def __init__(self, problem: KitProblem) -> None:
        self.problem = problem
        best = problem.aim is Aim.BEST
        self.heavy = problem.missed if best else float(problem.prices.sum()) + MISSED_FIRST
        self._missed = problem.missed if best else 1.0
        self._colors = color_costs(problem, missed=self._missed)
        self._sellers: list[list[int]] = [[] for _ in range(problem.colorants)]
        for place, offer in enumerate(problem.offers):
            for colorant in offer.colorants:
                self._sellers[colorant].append(place)
        self._first_color, self._held = _held_columns(len(problem.offers), self._sellers)
        self._solver = quiet_solver()
        self._fixed_rows = self._begin()
        self._usual_rows = 0
        self._tidied = 0

    def value_of(self, choice: Choice) -> float:
        """Return what a choice comes to, with what is missed of the colors that can be made."""
        if self.problem.aim is Aim.BEST:
            return choice.value - self.unmade
        return choice.value + self.heavy * choice.missed

    @property
    def unmade(self) -> float:
        """What the colors that no way makes count in any case."""
        return self.problem.missed * (self.problem.targets - len(self._colors))

    def _begin(self) -> int:
        """Write the columns, and the rows that are no cuts; return how many rows."""
        solver, problem = self._solver, self.problem
        weight = self.heavy / self._missed
        offers = len(problem.offers)
        for price in [*problem.prices.tolist(), *[0.0] * (self._first_color - offers)]:
            solver.addCol(price, 0.0, 1.0, 0, [], [])
        for _ in self._colors:
            solver.addCol(weight, 0.0, self._missed, 0, [], [])
        self._share_held()
        if problem.most is not None:
            self._add(list(range(offers)), [1.0] * offers, -np.inf, float(problem.most))
        if problem.budget is not None:
            prices = [float(offer.price) for offer in problem.offers]
            self._add(list(range(offers)), prices, -np.inf, float(problem.budget))
        return int(solver.getNumRow())

    def _share_held(self) -> None:
        """Of a colorant that several offers hold there is no more than they hold together."""
        for column, sellers in zip(self._held.tolist(), self._sellers, strict=True):
            if column >= len(self.problem.offers):
                self._add([column, *sellers], [1.0] + [-1.0] * len(sellers), -np.inf, 0.0)

    def _add(self, places: list[int], factors: list[float], least: float, most: float) -> None:
        columns = np.array(places, dtype=np.int32)
        self._solver.addRow(least, most, len(places), columns, np.array(factors))

    def glanced(
        self, bought: frozenset[int], left: frozenset[int], foothold: Foothold | None
    ) -> float:
        """Return a bound by the cuts known; infinite where there is no such purchase."""
        return self._solve() if self._settle(bought, left, foothold) else np.inf

    def bounded(
        self,
        bought: frozenset[int],
        left: frozenset[int],
        *,
        foothold: Foothold | None,
        enough: float,
        stop: Callable[[], bool],
    ) -> Bounded | None:
        """Return a bound, with new cuts.

        `bought`, `left`: offers settled. `foothold`: of a part that this one is half of. `enough`:
        no cuts are sought above this bound. `stop`: asked between rounds.

        Returns None where there is no such purchase.
        """
        if not self._settle(bought, left, foothold):
            return None
        first = not self._usual_rows
        bound, settled, center = self._solve(), False, None
        for _ in range(FIRST_ROUNDS if first else LATER_ROUNDS):
            if bound > enough or stop():
                break
            held = self._held_now()
            center = held if center is None else INNER * center + (1.0 - INNER) * held
            # Cuts at a place further inside hold for more; those at the place itself always bite.
            if not (first and self._cut_off(center)) and not self._cut_off(held):
                settled = True
                break
            bound = self._solve()
        if not np.isfinite(bound):
            return None
        shares = self._values[: len(self.problem.offers)]
        self._tidy()
        basis = self._solver.getBasis()
        return (
            bound,
            shares,
            settled,
            (list(basis.col_status), list(basis.row_status), self._tidied),
        )

    def _settle(
        self, bought: frozenset[int], left: frozenset[int], foothold: Foothold | None
    ) -> bool:
        count = len(self.problem.offers)
        lower, upper = np.zeros(count), np.ones(count)
        lower[list(bought)], upper[list(left)] = 1.0, 0.0
        if (lower > upper).any():
            return False
        self._solver.changeColsBounds(count, np.arange(count, dtype=np.int32), lower, upper)
        if foothold is not None and foothold[2] == self._tidied:
            self._step_on(foothold)
        return True

    def _step_on(self, foothold: Foothold) -> None:
        import highspy  # noqa: PLC0415  loaded by the few who choose a kit

        basis = highspy.HighsBasis()
        columns, rows, _ = foothold
        later = int(self._solver.getNumRow()) - len(rows)
        basis.col_status = columns
        basis.row_status = rows + [highspy.HighsBasisStatus.kBasic] * later
        basis.valid = True
        self._solver.setBasis(basis)

    def _solve(self) -> float:
        self._solver.run()
        if self._solver.getModelStatus().name != "kOptimal":
            return float(np.inf)
        self._values = np.array(self._solver.getSolution().col_value)
        return float(self._solver.getInfo().objective_function_value)

    def _held_now(self) -> FloatArray:
        return np.where(self._held >= 0, self._values[self._held], 0.0)

    def _cut_off(self, at: FloatArray) -> int:
        """Add the cuts that say most at a place, of those that the program does not keep to."""
        held = self._held_now()
        costs = self._values[self._first_color :].copy()
        shares = self._values[: len(self.problem.offers)]
        whole = (np.minimum(shares, 1.0 - shares) < EXACT).all()
        lifted = self._missed * (EXACT if whole else LIFTED)
        added, at_hand = 0, held.tolist()
        for place, color in enumerate(self._colors.values()):
            # No cut says more of what is at hand than one way to make the color with it.
            if color.most(at_hand) <= costs[place] + lifted:
                continue
            cut = color.cut(at)
            if cost_by_cut(cut, held) > costs[place] + lifted:
                most, colorants, factors = cut
                columns = [self._first_color + place, *self._held[colorants].tolist()]
                self._add(columns, [1.0, *factors.tolist()], most, np.inf)
                added += 1
        return added

    def _tidy(self) -> None:
        """Drop cuts that hold nothing up, where there are many."""
        rows = int(self._solver.getNumRow())
        if not self._usual_rows:
            self._usual_rows = rows
        if rows < ROOM * self._usual_rows:
            return
        values = np.array(self._solver.getSolution().row_value)
        lower = np.array(self._solver.getLp().row_lower_)
        idle = np.flatnonzero(values > lower + LIFTED * self._missed)
        idle = idle[idle >= self._fixed_rows].astype(np.int32)
        self._solver.deleteRows(len(idle), idle)
        self._tidied += 1
        self._solve()


def _held_columns(offers: int, sellers: list[list[int]]) -> tuple[int, NDArray[np.int64]]:
    """Return where the colors' columns begin, and each colorant's column, -1 for none.

    A colorant that a single offer holds shares that offer's column.
    """
    several = np.array([len(some) > 1 for some in sellers], dtype=np.bool_)
    columns = np.array([some[0] if some else -1 for some in sellers], dtype=np.int64)
    columns[several] = offers + np.arange(several.sum())
    return offers + int(several.sum()), columns
