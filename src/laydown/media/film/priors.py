"""What film models take for granted until swatches say otherwise, with a reason for each."""

from dataclasses import replace
from functools import cache

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.media.inference.forward import STEP
from laydown.media.inference.priors import Priors, priors_of
from laydown.media.recipe import Medium, Tool, Treatment
from laydown.reference.tables import load_table, numbers_of

TREATMENTS = tuple(f"{t} by {tool}" for t in Treatment for tool in Tool)
TURNS = ("cover", "removed", "stronger", "tilt")
"""What a treatment does: see `laydown.media.film.laying`."""
SURFACE = ("sunk", "glare", "packing")
"""What a wash lies in: see `laydown.media.film.laying.FilmSurface`."""
OWN = ("amount", "level", "slope", "bend", "wave")
"""What each colorant has of its own: log amount, and four `waves` of its log scattering."""


GUESSED = 1.5
"""How much more the spectrum of a film guessed from XYZ may hide than that of a dye
(`laydown.media.inference.leeway.HIDDEN`); calibrated on simulated pigments, see
docs/decisions/doubt.md."""


@cache
def film_priors(medium: Medium) -> Priors:
    """Return the priors of ``film_priors.csv``, which gives the reason for each.

    >>> film_priors(Medium.WASH).names
    ('scatter', 'water', 'lift', 'second', 'settle', 'sunk', 'glare', 'packing')
    """
    return _listed(str(medium))


@cache
def on_top_priors() -> Priors:
    """Return the priors of washes that lie on the paper as films, not within its surface.

    Sized paper and gum-rich color may do that. The effects are those of any wash, those of the
    surface held where they do nothing.

    >>> on_top_priors().names == film_priors(Medium.WASH).names
    True
    """
    return _listed("wash", "wash on top")


def _listed(*kinds: str) -> Priors:
    """Return the priors in rows of these kinds; what a later kind says again counts."""
    table = load_table("film_priors")
    rows = numbers_of(table, "mean", "sd", "lowest", "highest")
    found: dict[str, dict[str, FloatArray]] = {"effect": {}, "colorant": {}, "noise": {}}
    for kind, name, row in zip(table["medium"], table["name"], rows, strict=True):
        medium, _, what = kind.rpartition(" ")
        if kind in kinds:
            found["effect"][name] = row
        elif kind in TREATMENTS and Medium.PENCIL in kinds:
            found["effect"][f"{kind} {name}"] = row
        elif what in found and medium in ("", *kinds):
            found[what][name] = row
    own_sd = np.array([found["colorant"][name][1] for name in OWN])
    read = priors_of(found["effect"], found["noise"], own_sd=own_sd)
    lowest = float(found["noise"]["misfit"][2])
    return replace(read, backward=read.highest - STEP, misfit_lowest=lowest)
