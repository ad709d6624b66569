"""The simulated truth behind the demo: what a recipe would really look like on the invented paper.

The demo's last words say how far laydown's predictions were from it. Real artists have no such
file; what they have is trials.
"""

import json
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from typing import Any

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.color.difference import ciede2000
from laydown.color.lab import lab_from_reflectance
from laydown.demo.files import CLASS_PAPER, read_bytes, read_rows
from laydown.demo.oracle import Dye, Effects, SimulatedBench, set_up, truths
from laydown.demo.slabs import Slab
from laydown.errors import UnknownNameError
from laydown.media.colorant import Colorant
from laydown.media.laydown import Medium
from laydown.media.recipe import Recipe


@dataclass(frozen=True, slots=True, eq=False)
class Misses:
    """How far predictions were from the simulated truth."""

    labs: FloatArray
    """The truths, shape (recipes, 3)."""
    differences: FloatArray
    """CIEDE2000 of each prediction from its truth, shape (recipes,)."""

    @property
    def mean(self) -> float:
        """The mean difference."""
        return float(self.differences.mean())

    @property
    def largest(self) -> float:
        """The largest difference."""
        return float(self.differences.max())


@cache
def demo_bench(paper: str = CLASS_PAPER) -> SimulatedBench:
    """Return the bench that one of the demo's papers was swatched on.

    Raises
    ------
    UnknownNameError
        For a paper that the demo doesn't have.
    """
    papers = {entry["name"]: entry for entry in json.loads(read_bytes("truth.json"))["papers"]}
    if paper not in papers:
        raise UnknownNameError(f"The demo has no paper “{paper}”; it has {', '.join(papers)}.")
    return set_up(_slab(papers[paper]), _dyes(), Effects(**papers[paper]["effects"]))


def true_labs(recipes: Sequence[Recipe], *, paper: str = CLASS_PAPER) -> FloatArray:
    """Return the Lab that an even, usual hand would get, shape (recipes, 3)."""
    return lab_from_reflectance(truths(demo_bench(paper), recipes))


def misses(recipes: Sequence[Recipe], predicted: FloatArray, *, paper: str = CLASS_PAPER) -> Misses:
    """Compare predictions with the simulated truth.

    Parameters
    ----------
    recipes
        At least one, of the demo's markers.
    predicted
        Their predicted Lab, shape (recipes, 3).
    paper
        One of the demo's papers.

    Returns
    -------
    Misses
        Truths and differences, in the recipes' order.
    """
    labs = true_labs(recipes, paper=paper)
    return Misses(labs, ciede2000(predicted, labs))


def _slab(entry: dict[str, Any]) -> Slab:
    absorption = np.array(entry["absorption"], dtype=np.float64)
    return Slab(entry["name"], absorption, entry["scattering"], entry["share"])


def _dyes() -> dict[Colorant, Dye]:
    dyes: dict[Colorant, Dye] = {}
    for row in read_rows("truth_dyes.csv"):
        bands = [float(value) for column, value in row.items() if column[1:].isdecimal()]
        colorant = Colorant(row["color"], row["range"], Medium.MARKER)
        dyes[colorant] = Dye(np.array(bands), float(row["solvent"]))
    return dyes
