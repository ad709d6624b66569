"""What one more swatch or trial would tell: the covariance expected once it is there."""

from collections.abc import Sequence
from functools import lru_cache
from typing import NamedTuple

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.media.inference.fit import AT_HAND, Fit
from laydown.media.inference.forward import Places, linearize
from laydown.media.recipe import Recipe

WORTHWHILE = 0.03
"""A swatch that narrows the prediction by a smaller share than this isn't proposed."""
REMEMBERED = 20_000
"""Of a fit so many patches stay at hand with what they would tell: each color asked of a kit asks
anew."""


class Sight(NamedTuple):
    """What a patch of a recipe shows: three numbers, each by k of a fit's p parameters."""

    places: Places
    """Shape (k,), where those stand."""
    slopes: FloatArray
    """Shape (3, k), of its Lab by each."""
    scatter: FloatArray
    """Shape (3, 3), by what it scatters. What the references' spectra may be off by is counted in,
    as it is when the patch is learned from: no parameter stands for it."""


def sights(fit: Fit, recipes: Sequence[Recipe]) -> list[Sight]:
    """Return what patches of recipes would show.

    It doesn't depend on whose predictions are to become surer, so it is remembered.

    `fit`: of the recipes' medium. `recipes`: what would be laid.
    """
    known = _known(fit)
    fresh = [recipe for recipe in dict.fromkeys(recipes) if recipe not in known]
    if fresh:
        models = [fit.model_of(recipe) for recipe in fresh]
        straight = linearize(models, fit.effects, fit.own, fit.priors)
        scatter = straight.covariance(fit.noise, measuring=fit.measuring)
        found = zip(models, straight.places, straight.slopes, scatter, strict=True)
        sizes = [len(model.parameters(len(fit.effects), fit.own.shape[1])) for model in models]
        told = {
            model.recipe: Sight(places[:k], slopes[:, :k], own)
            for k, (model, places, slopes, own) in zip(sizes, found, strict=True)
        }
        if len(known) + len(told) > REMEMBERED:
            known.clear()
        known |= told
    return [known[recipe] for recipe in recipes]


@lru_cache(AT_HAND)
def _known(fit: Fit) -> dict[Recipe, Sight]:
    return {}


def unsure(covariance: FloatArray, asked: FloatArray) -> float:
    """Return what a fit leaves open [CIELAB units, root of the mean square over recipes].

    The trace of J C Jᵀ is that of C JᵀJ, so the mean of JᵀJ over the recipes, `asked` (p, p), is
    all that counts.
    """
    return float(np.sqrt(np.sum(covariance * asked)))


def asked_by(fit: Fit, recipes: Sequence[Recipe]) -> FloatArray:
    """Return the mean of JᵀJ over recipes, shape (p, p)."""
    asked = np.zeros(fit.covariance.shape)
    for places, slopes, _ in sights(fit, recipes):
        asked[np.ix_(places, places)] += slopes.T @ slopes / len(recipes)
    return asked


def updated(covariance: FloatArray, sight: Sight) -> FloatArray:
    """Return the covariance after one more patch: C − C Jᵀ (J C Jᵀ + R)⁻¹ J C.

    Of a straight model it doesn't depend on what the patch will show.
    """
    gain = covariance[:, sight.places] @ sight.slopes.T
    spread = sight.slopes @ gain[sight.places] + sight.scatter
    return np.asarray(covariance - gain @ np.linalg.solve(spread, gain.T))


def most_telling(
    fit: Fit, recipes: Sequence[Recipe], candidates: Sequence[Recipe]
) -> tuple[Recipe, float, float] | None:
    """Return the swatch that would make colors surest, with what is unsure before and after it.

    Of the trace of `updated` with A, the mean of JᵀJ, only what a candidate of Jacobian K takes
    away is made anew for each: the trace of (K C Kᵀ + R)⁻¹ K C A C Kᵀ.

    `fit`: of the recipes' medium. `recipes`: whose predictions are to become surer. `candidates`:
    swatches to choose from. Returns None where no single swatch is worth making.
    """
    if not recipes or not candidates:
        return None
    asked = asked_by(fit, recipes)
    now = unsure(fit.covariance, asked)
    weighed = fit.covariance @ asked @ fit.covariance
    gains = _gains(sights(fit, candidates), fit.covariance, weighed)
    after = np.sqrt(np.maximum(0.0, now**2 - gains))
    best = int(np.argmin(np.round(after, 9)))
    then = float(after[best])
    if then >= now * (1.0 - WORTHWHILE) or f"{now:.1f}" == f"{then:.1f}":
        return None
    return candidates[best], now, then


def _gains(found: Sequence[Sight], covariance: FloatArray, weighed: FloatArray) -> FloatArray:
    """Return that trace for each; those that go with as many parameters are solved together."""
    gains, sizes = np.zeros(len(found)), np.array([len(one.places) for one in found])
    for size in np.unique(sizes):
        which = np.flatnonzero(sizes == size)
        places, slopes, scatter = map(
            np.array, zip(*(found[i] for i in which.tolist()), strict=True)
        )
        block = places[:, :, None], places[:, None]
        transposed = slopes.swapaxes(1, 2)
        spread = slopes @ covariance[block] @ transposed + scatter
        told = np.linalg.solve(spread, slopes @ weighed[block] @ transposed)
        gains[which] = np.trace(told, axis1=1, axis2=2)
    return gains
