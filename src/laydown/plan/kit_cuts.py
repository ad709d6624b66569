"""What a color costs at least by what is at hand of each colorant, whole or in part.

Of one color all is known: it costs the least that its ways, in shares that sum to one with the
share missed, cost together, where all ways that need a colorant have no more than there is of it.
The dual of that small program is a straight line below the cost, true for every purchase: a cut.
"""

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from laydown.color.arrays import FloatArray
from laydown.plan.kit_problem import KitProblem, Places

NOTHING = 1e-9
"""Factors up to this count as none."""


DEVEX = 1
"""HiGHS's number of the pricing that asks least of a start from elsewhere."""


@dataclass(frozen=True, slots=True, eq=False)
class Cut:
    """A color costs at least `most` less the sum of `factors` times what is at hand.

    Parameters
    ----------
    most
        What it costs with none of these colorants at hand, at least.
    colorants
        Shape (k,), which colorants make it cheaper.
    factors
        Shape (k,), by how much, above 0.
    """

    most: float
    colorants: Places
    factors: FloatArray

    def at(self, held: FloatArray) -> float:
        """Return what it says of so much at hand, shape (colorants,)."""
        return float(self.most - self.factors @ held[self.colorants])


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

    Parameters
    ----------
    members
        Shape (k, s), the colorants of each way; -1 where there are fewer.
    cost
        Shape (k,), of each way.
    missed
        What the color costs that is not made.
    """

    def __init__(self, members: Places, cost: FloatArray, missed: float) -> None:
        self.colorants = np.unique(members[members >= 0])
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

    def cut(self, held: FloatArray) -> Cut:
        """Return the cut that says most of so much at hand, shape (colorants,)."""
        upper = np.maximum(0.0, held[self.colorants])
        self._solver.changeRowsBounds(len(self._rows), self._rows, self._unbounded, upper)
        self._solver.run()
        duals = np.array(self._solver.getSolution().row_dual)
        counts = -duals[1:] > NOTHING
        return Cut(float(duals[0]), self.colorants[counts], -duals[1:][counts])


def color_costs(problem: KitProblem, *, missed: float) -> dict[int, ColorCost]:
    """Return the program of every color that some way makes, by its place.

    Parameters
    ----------
    problem
        A reduced problem.
    missed
        What a color counts that is not made.
    """
    ways = problem.ways
    places: NDArray[np.int64] = np.unique(ways.target)
    first = np.searchsorted(ways.target, places)
    last = np.searchsorted(ways.target, places, side="right")
    return {
        int(place): ColorCost(ways.members[a:b], ways.cost[a:b], missed)
        for place, a, b in zip(places, first, last, strict=True)
    }
