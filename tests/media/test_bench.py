"""The marker model against radiative transfer, which knows nothing of it.

The bench is `laydown.demo.oracle` (adding–doubling by the package iadpython): ten made-up dyes in
the top share p of a white slab, from clear film (0) to through and through (1). Without noise the
model's own error shows; with a hand, an instrument, a filling paper and lifting dyes, whether its
regions hold what they say.
"""

from functools import cache
from itertools import combinations

import numpy as np
import pytest

from laydown.color.lab import ciede2000, lab_from_reflectance, xyz_from_reflectance
from laydown.color.reconstruction import reflectance_from_xyz
from laydown.demo.oracle import (
    Dye,
    Effects,
    SimulatedBench,
    Steadiness,
    by_hand,
    set_up,
    swatch,
    truths,
)
from laydown.media.kit.fit import leeways, predict, predict_lab
from laydown.media.laydown import Laydown
from laydown.media.marker.design import minimum_design
from laydown.media.marker.fitting import fit_markers
from laydown.media.marker.model import MarkerFit
from laydown.media.marker.priors import usual_priors
from laydown.media.recipe import Colorant, Paper, Recipe, Step
from laydown.media.swatch import Basis, Swatch
from simulated.dyes import dye_set, white_slab

SHARES = (0.0, 0.02, 0.1, 0.5, 1.0)
SEEDS = (1, 2, 3)
JUDGED = (41, 42, 43)
"""Benches for the regions: the priors' doubts were calibrated on the first seeds, not on these."""
HALF_OF_ALL, NOMINAL = 2.366, 4.642
"""50 and 80 % points of chi-square with three degrees of freedom."""


@cache
def alone_and_in_pairs(share: float, seed: int) -> tuple[list[Recipe], np.ndarray, np.ndarray]:
    """Return bare paper, one and two coats and the 45 pairs of ten dyes, with their reflectance."""
    dyes = dye_set(seed, 10)
    alone = [Recipe((Step(c, Laydown(coats=n)),)) for c in dyes for n in (1, 2)]
    pairs = [Recipe((Step(a), Step(b))) for a, b in combinations(dyes, 2)]
    recipes = [Recipe(), *alone, *pairs]
    return recipes, truths(set_up(white_slab(share=share), dyes), recipes)


def pair_differences(share: float, basis: Basis, seed: int) -> np.ndarray:
    """Return ΔE00 of the pairs, fitted on one and two coats of each dye, later coat held at 1."""
    recipes, seen = alone_and_in_pairs(share, seed)
    known = seen[:21]
    if basis is Basis.XYZ:
        known = reflectance_from_xyz(xyz_from_reflectance(known))
    swatches = [Swatch("Slab", r, s, basis) for r, s in zip(recipes[1:21], known[1:], strict=True)]
    priors = usual_priors().held({"later coat": 1.0, "lift": 0.0})
    fit = fit_markers(swatches, Paper("Slab", known[0]), priors=priors)
    said = predict_lab(fit, recipes[21:])
    return np.asarray(ciede2000(said, lab_from_reflectance(seen[21:])))


@pytest.mark.parametrize("share", SHARES)
def test_pairs_from_spectra(share: float) -> None:
    """From spectra of one and two coats the pairs come out within a mean of 0.5 ΔE00.

    Three sets of ten dyes, 45 pairs each; the worst single set, at p = 0.1, comes to 0.51.
    """
    sets = [pair_differences(share, Basis.SPECTRUM, seed) for seed in SEEDS]
    assert np.mean(sets) <= 0.5
    assert np.max(np.mean(sets, axis=1)) <= 0.55


@pytest.mark.parametrize("share", SHARES)
def test_pairs_from_xyz(share: float) -> None:
    """From XYZ alone their median is within 1.0 and 95 in 100 within 3.5 ΔE00."""
    sets = [pair_differences(share, Basis.XYZ, seed) for seed in SEEDS]
    assert np.median(sets) <= 1.0
    assert np.quantile(sets, 0.95) <= 3.5


def disturbed_bench(
    share: float, seed: int
) -> tuple[SimulatedBench, tuple[Colorant, ...], list[float]]:
    """Return a bench that fills and lifts, its dyes (pale ones wetter), and their strengths."""
    rng = np.random.default_rng(100 + seed)
    dyes = {}
    for colorant, dye in dye_set(seed, 14).items():
        solvent = 0.9 - 0.35 * np.sqrt(dye.absorption.mean()) + 0.05 * rng.standard_normal()
        dyes[colorant] = Dye(dye.absorption, float(np.clip(solvent, 0.15, 0.95)))
    bench = set_up(white_slab(share=share), dyes, Effects(filling=0.34, lifting=0.7))
    return bench, tuple(dyes), [float(d.absorption.mean()) for d in dyes.values()]


def layered(colorants: tuple[Colorant, ...], rng: np.random.Generator, count: int) -> list[Recipe]:
    """Return recipes of two or three dyes with one or two coats each: none is in the design."""
    recipes: list[Recipe] = []
    while len(recipes) < count:
        chosen = rng.choice(len(colorants), rng.integers(2, 4), replace=False)
        laid = [Step(colorants[i], Laydown(coats=int(rng.integers(1, 3)))) for i in chosen]
        recipes += [Recipe(tuple(laid))] if sum(s.laydown.coats for s in laid) > 2 else []
    return recipes


def judged(
    fit: MarkerFit,
    bench: SimulatedBench,
    recipes: list[Recipe],
    hand: Steadiness,
    rng: np.random.Generator,
) -> np.ndarray:
    """Return squared standard distances of what a hand would color from what the fit says."""
    far = []
    for recipe, left in zip(recipes, leeways(fit, recipes), strict=True):
        said = predict(fit, recipe, covariance=left.covariance())
        away = lab_from_reflectance(by_hand(bench, recipe, hand, rng)) - said.lab
        far.append(away @ np.linalg.solve(said.covariance, away))
    return np.array(far)


def distances(share: float, *, one_coat_only: bool = False) -> np.ndarray:
    """Fit the minimum design, or one coat of each, on each bench; judge 60 recipes for each."""
    found = []
    for seed in JUDGED:
        rng, hand = np.random.default_rng(1000 + seed), Steadiness(spread=0.06)
        bench, colorants, strengths = disturbed_bench(share, seed)
        design = [r for r in minimum_design(colorants, strengths)
                  if not one_coat_only or r.coats < 2]  # fmt: skip
        swatches = [swatch(bench, recipe, hand, rng) for recipe in design]
        fit = fit_markers(swatches[1:], Paper(bench.paper, swatches[0].reflectance))
        found.append(judged(fit, bench, layered(colorants, rng, 60), hand, rng))
    return np.concatenate(found)


@pytest.mark.parametrize("share", SHARES)
def test_nominal_regions_hold_what_they_say(share: float) -> None:
    """Fitted on the minimum design with noise, 80 % regions of unseen layers hold 70 to 90 %."""
    far = distances(share)
    assert len(far) == 180
    assert 0.70 <= np.mean(far <= NOMINAL) <= 0.90
    assert 0.40 <= np.mean(far <= HALF_OF_ALL) <= 0.75


def test_one_coat_alone_is_wide_enough() -> None:
    """Fitted on one coat of each dye alone, in the fibre, 80 % regions hold at least 80 %."""
    far = distances(1.0, one_coat_only=True)
    assert np.mean(far <= NOMINAL) >= 0.80
