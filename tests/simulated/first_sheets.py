"""First sheets on simulated papers: few swatches, and how sure what is predicted from them is.

Dye lies anywhere from a clear film to deep in the paper; how a coat fills the paper, how much the
next one lifts and how steady the hand is differ from bench to bench. All of it is invented.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.color.lab import ciede2000, lab_from_reflectance
from laydown.demo.oracle import (
    Dye,
    Effects,
    SimulatedBench,
    Steadiness,
    by_hand,
    set_up,
    swatch,
)
from laydown.media.kit.fit import leeways, predict
from laydown.media.laydown import Laydown
from laydown.media.marker.design import coats_of, one_coat
from laydown.media.marker.fitting import fit_markers
from laydown.media.recipe import Colorant, Paper, Recipe, Step
from simulated.dyes import dye_set, white_slab

SHARES = (0.0, 0.01, 0.02, 0.04, 0.07, 0.1, 0.3)
"""Top shares of the paper that dye goes into; the scales fitted to them lie evenly from 0 to 1."""
NOMINAL = 4.642
"""80 % point of chi-square with three degrees of freedom."""
DYES, CELLS, LAYERED = 14, 8, 20

Design = Callable[[Sequence[Colorant]], list[Recipe]]


def one_coat_of_many(ranked: Sequence[Colorant]) -> list[Recipe]:
    """Return one coat each of as many colorants as the sheet has cells."""
    return [one_coat(c) for c in _spread(ranked, CELLS)]


def two_depths_of_few(ranked: Sequence[Colorant]) -> list[Recipe]:
    """Return one coat and two of half as many."""
    return [r for c in _spread(ranked, CELLS // 2) for r in (one_coat(c), coats_of(c, 2))]


def _spread(ranked: Sequence[Colorant], count: int) -> list[Colorant]:
    return [ranked[int(place)] for place in np.round(np.linspace(0, len(ranked) - 1, count))]


@dataclass(frozen=True, slots=True, eq=False)
class Judged:
    """Recipes with second coats, shape (recipes,) each.

    Parameters
    ----------
    off
        CIEDE2000 of what came from what was predicted.
    said
        The stated doubt [CIELAB units, root of the mean square over the axes].
    inside
        Whether what came lies in the 80 % region.
    """

    off: FloatArray
    said: FloatArray
    inside: FloatArray


def judge_sheet(share: float, seed: int, design: Design) -> Judged:
    """Have a sheet colored and measured, and judge recipes of its colorants with second coats."""
    rng = np.random.default_rng([seed, 8])
    bench, ranked, hand = invent(share, seed)
    bare, *swatches = [swatch(bench, r, hand, rng) for r in (Recipe(), *design(ranked))]
    fit = fit_markers(swatches, Paper(bench.paper, bare.reflectance))
    colorants = list(dict.fromkeys(c for s in swatches for c in s.recipe.colorants))
    recipes, rows = [*(coats_of(c, 2) for c in colorants), *layered(colorants, rng)], []
    for recipe, left in zip(recipes, leeways(fit, recipes), strict=True):
        said = predict(fit, recipe, covariance=left.covariance())
        came = lab_from_reflectance(by_hand(bench, recipe, hand, rng))
        away = came - said.lab
        far = away @ np.linalg.solve(said.covariance, away)
        doubt = np.sqrt(np.trace(said.covariance) / 3.0)
        rows.append((ciede2000(said.lab, came), doubt, far <= NOMINAL))
    return Judged(*np.array(rows, dtype=float).T)


@cache
def invent(share: float, seed: int) -> tuple[SimulatedBench, tuple[Colorant, ...], Steadiness]:
    """Invent a paper, its dyes from pale to dark (pale ones wetter), and a hand."""
    rng = np.random.default_rng([seed, 7])
    dyes = {}
    for colorant, dye in dye_set(seed, DYES).items():
        solvent = 0.9 - 0.35 * np.sqrt(dye.absorption.mean()) + 0.05 * rng.standard_normal()
        dyes[colorant] = Dye(dye.absorption, float(np.clip(solvent, 0.15, 0.95)))
    effects = Effects(filling=rng.uniform(0.15, 0.5), lifting=rng.uniform(0.2, 1.0))
    ranked = sorted(dyes, key=lambda colorant: dyes[colorant].absorption.mean())
    hand = Steadiness(spread=float(rng.uniform(0.04, 0.09)))
    return set_up(white_slab(share=share), dyes, effects), tuple(ranked), hand


def layered(colorants: Sequence[Colorant], rng: np.random.Generator) -> list[Recipe]:
    """Draw recipes of two or three colorants, each in one coat or two, three coats or more."""
    recipes: list[Recipe] = []
    while len(recipes) < LAYERED:
        chosen = rng.choice(len(colorants), int(rng.integers(2, 4)), replace=False)
        laid = [Step(colorants[i], Laydown(coats=int(rng.integers(1, 3)))) for i in chosen]
        recipes += [Recipe(tuple(laid))] if sum(s.laydown.coats for s in laid) > 2 else []
    return recipes
