"""The simulated truth behind the demo: what a recipe would really look like on the invented paper.

The demo's last words say how far laydown's predictions were from it. Real artists have no such
file; what they have is trials.
"""

import json
from collections.abc import Sequence
from functools import cache
from typing import Any

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.color.lab import ciede2000, lab_from_reflectance
from laydown.demo.files import CLASS_PAPER, read_bytes, read_rows
from laydown.demo.films import FilmBench, MixedBench, Pigment
from laydown.demo.oracle import Dye, Effects, SimulatedBench, Slab, set_up, truths
from laydown.errors import UnknownNameError
from laydown.media.recipe import Colorant, Medium, Recipe


@cache
def demo_bench(paper: str = CLASS_PAPER) -> SimulatedBench:
    """Return the bench that a paper of the demo was swatched on; `UnknownNameError` for others."""
    papers = _papers()
    if paper not in papers:
        raise UnknownNameError(f"The demo has no paper “{paper}”; it has {', '.join(papers)}.")
    return set_up(_slab(papers[paper]), _dyes(), Effects(**papers[paper]["effects"]))


def true_labs(recipes: Sequence[Recipe], *, paper: str = CLASS_PAPER) -> FloatArray:
    """Return the Lab that an even, usual hand would get, shape (recipes, 3)."""
    return lab_from_reflectance(truths(demo_bench(paper), recipes))


def misses(recipes: Sequence[Recipe], predicted: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Compare predicted Lab, shape (recipes, 3), with the simulated truth, for recipes of markers.

    Returns the truths, shape (recipes, 3), and CIEDE2000 of each prediction from its truth.
    """
    labs = true_labs(recipes)
    return labs, ciede2000(predicted, labs)


def _papers() -> dict[str, dict[str, Any]]:
    return {entry["name"]: entry for entry in json.loads(read_bytes("truth.json"))["papers"]}


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


@cache
def film_bench() -> FilmBench:
    """Return the bench that the demo's pencils and washes were swatched on."""
    slab = _slab(_papers()[CLASS_PAPER])
    rows = read_rows("truth_pigments.csv")
    return FilmBench(slab, {f"{row['range']}/{row['color']}": _pigment(row) for row in rows})


@cache
def mixed_bench() -> MixedBench:
    """Return the same with the demo's dyes in the paper below."""
    dyes = demo_bench()
    return MixedBench(dyes, FilmBench(dyes.slab, film_bench().pigments))


def _pigment(row: dict[str, str]) -> Pigment:
    absorbing, scattering = (
        np.array([float(v) for name, v in row.items() if name[0] == kind and name[1:].isdecimal()])
        for kind in "ks"
    )
    return Pigment(absorbing, scattering)


def film_misses(recipes: Sequence[Recipe], predicted: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Do as `misses` for recipes of the demo's pencils and treatments, or of its washes."""
    labs = lab_from_reflectance(np.array([film_bench().truth(recipe) for recipe in recipes]))
    return labs, ciede2000(predicted, labs)


def mixed_misses(recipes: Sequence[Recipe], predicted: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Do as `misses` for recipes of any of the demo's colorants, markers below."""
    labs = np.array([
        true_labs([recipe])[0]
        if all(colorant.medium is Medium.MARKER for colorant in recipe.colorants)
        else lab_from_reflectance(mixed_bench().truth(recipe))
        for recipe in recipes
    ])  # fmt: skip
    return labs, ciede2000(predicted, labs)
