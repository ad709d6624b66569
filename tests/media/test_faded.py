"""Faded layers against radiative transfer, which knows nothing of the model's scale.

The bench is `laydown.demo.oracle` (adding–doubling by the package iadpython). Dyes that lost
part of their absorption are simply other dyes to it.
"""

from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest

from laydown.color.lab import ciede2000, lab_from_reflectance
from laydown.demo.oracle import set_up, truths
from laydown.media.laydown import Laydown
from laydown.media.light.fading import faded_difference, faded_reflectance
from laydown.media.marker.fitting import fit_markers
from laydown.media.marker.priors import usual_priors
from laydown.media.recipe import Paper, Recipe, Step
from laydown.media.swatch import Swatch
from simulated.dyes import dye_set, white_slab


@pytest.mark.parametrize("share", [0.0, 0.1, 1.0])
def test_faded_layers_agree_with_radiative_transfer(share: float) -> None:
    """Pairs of dyes with parts of each gone: colors within 0.5 on the mean, changes within 20 %."""
    rng = np.random.default_rng(12)
    slab, dyes = white_slab(share=share), dye_set(21, 6)
    alone = [Recipe((Step(c, Laydown(coats=n)),)) for c in dyes for n in (1, 2)]
    swatched = [Recipe(), *alone]
    seen = truths(set_up(slab, dyes), swatched)
    paper = Paper("Slab", seen[0])
    swatches = [Swatch(paper.name, r, s) for r, s in zip(swatched, seen, strict=True)]
    fit = fit_markers(swatches, paper, priors=usual_priors().held({"later coat": 1.0, "lift": 0.0}))
    left = dict(zip(dyes, rng.uniform(0.4, 0.9, len(dyes)), strict=True))
    faded = {c: replace(dye, absorption=left[c] * dye.absorption) for c, dye in dyes.items()}
    pairs = [Recipe((Step(a), Step(b))) for a, b in combinations(dyes, 2)]
    fresh, gone = (lab_from_reflectance(truths(set_up(slab, d), pairs)) for d in (dyes, faded))
    shares = [np.array([[left[c] for c in recipe.colorants]]) for recipe in pairs]
    found = [
        lab_from_reflectance(faded_reflectance(fit, recipe, one)[0])
        for recipe, one in zip(pairs, shares, strict=True)
    ]
    off = ciede2000(np.array(found), gone)
    moved = [faded_difference(fit, r, one)[0] for r, one in zip(pairs, shares, strict=True)]
    ratio = np.array(moved) / ciede2000(fresh, gone)
    assert off.mean() < 0.5
    assert np.abs(ratio - 1.0).max() < 0.2
