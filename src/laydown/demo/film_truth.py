"""The simulated truth of the demo's pencils and washes; its markers have `laydown.demo.truth`."""

import json
from collections.abc import Sequence
from functools import cache

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.color.difference import ciede2000
from laydown.color.lab import lab_from_reflectance
from laydown.demo.files import CLASS_PAPER, read_bytes, read_rows
from laydown.demo.films import FilmBench, Pigment
from laydown.demo.mixed_bench import MixedBench
from laydown.demo.slabs import Slab
from laydown.demo.truth import Misses, demo_bench, true_labs
from laydown.media.laydown import Medium
from laydown.media.recipe import Recipe


@cache
def film_bench() -> FilmBench:
    """Return the bench that the demo's pencils and washes were swatched on."""
    papers = json.loads(read_bytes("truth.json"))["papers"]
    entry = next(paper for paper in papers if paper["name"] == CLASS_PAPER)
    absorption = np.array(entry["absorption"], dtype=np.float64)
    slab = Slab(CLASS_PAPER, absorption, entry["scattering"], entry["share"])
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


def film_misses(recipes: Sequence[Recipe], predicted: FloatArray) -> Misses:
    """Compare predictions with the simulated truth.

    Parameters
    ----------
    recipes
        At least one, of the demo's pencils and treatments, or of its washes.
    predicted
        Their predicted Lab, shape (recipes, 3).
    """
    labs = lab_from_reflectance(np.array([film_bench().truth(recipe) for recipe in recipes]))
    return Misses(labs, ciede2000(predicted, labs))


def mixed_misses(recipes: Sequence[Recipe], predicted: FloatArray) -> Misses:
    """Compare predictions with the simulated truth, where pencil or wash may lie over marker.

    Parameters
    ----------
    recipes
        At least one, of any of the demo's colorants, markers below.
    predicted
        Their predicted Lab, shape (recipes, 3).
    """
    labs = np.array([_true_lab(recipe) for recipe in recipes])
    return Misses(labs, ciede2000(predicted, labs))


def _true_lab(recipe: Recipe) -> FloatArray:
    if all(colorant.medium is Medium.MARKER for colorant in recipe.colorants):
        return np.asarray(true_labs([recipe])[0])
    return lab_from_reflectance(mixed_bench().truth(recipe))
