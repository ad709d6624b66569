"""What one more swatch or trial would tell: the covariance expected once it is there."""

from collections.abc import Sequence
from functools import lru_cache

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.media.inference.fit import Fit
from laydown.media.inference.forward import linearize
from laydown.media.recipe import Recipe

WORTHWHILE = 0.03
"""A swatch that narrows the prediction by a smaller share than this isn't proposed."""
REMEMBERED = 1000
"""Swatches of which it is remembered what they would tell: each color asked of a kit asks anew."""


@lru_cache(REMEMBERED)
def sight(fit: Fit, recipe: Recipe) -> tuple[FloatArray, FloatArray]:
    """Return the Jacobian (3, p) of a recipe's Lab, and what one patch of it scatters (3, 3).

    What the references' spectra may be off by counts as scatter, as it does when the patch is
    learned from: no parameter stands for it. Neither depends on whose predictions are to become
    surer, so they are remembered.

    Parameters
    ----------
    fit
        Of the recipe's medium.
    recipe
        What would be laid.
    """
    model = fit.model_of(recipe)
    straight = linearize(model, fit.effects, fit.own, fit.priors)
    return straight.jacobian, straight.covariance(fit.noise, measuring=fit.measuring)


def unsure(covariance: FloatArray, asked: FloatArray) -> float:
    """Return what a fit leaves open [CIELAB units, root of the mean square over recipes].

    The trace of J C Jᵀ is that of C JᵀJ, so the mean of JᵀJ over the recipes, `asked` (p, p), is
    all that counts.
    """
    return float(np.sqrt(np.sum(covariance * asked)))


def asked_by(fit: Fit, recipes: Sequence[Recipe]) -> FloatArray:
    """Return the mean of JᵀJ over recipes, shape (p, p)."""
    jacobians = np.concatenate([sight(fit, recipe)[0] for recipe in recipes])
    return np.asarray(jacobians.T @ jacobians / len(recipes))


def updated(covariance: FloatArray, jacobian: FloatArray, scatter: FloatArray) -> FloatArray:
    """Return the covariance after one more patch: C − C Jᵀ (J C Jᵀ + R)⁻¹ J C.

    Of a straight model it doesn't depend on what the patch will show.
    """
    gain = covariance @ jacobian.T
    return np.asarray(covariance - gain @ np.linalg.solve(jacobian @ gain + scatter, gain.T))


def most_telling(
    fit: Fit, recipes: Sequence[Recipe], candidates: Sequence[Recipe]
) -> tuple[Recipe, float, float] | None:
    """Return the swatch that would make colors surest, with what is unsure before and after it.

    Of the trace of `updated` with A, the mean of JᵀJ, only what a candidate of Jacobian K takes
    away is made anew for each: the trace of (K C Kᵀ + R)⁻¹ K C A C Kᵀ.

    Parameters
    ----------
    fit
        Of the recipes' medium.
    recipes
        Whose predictions are to become surer.
    candidates
        Swatches to choose from.

    Returns
    -------
    tuple or None
        None where no single swatch is worth making.
    """
    if not recipes or not candidates:
        return None
    asked = asked_by(fit, recipes)
    now = unsure(fit.covariance, asked)
    weighed = fit.covariance @ asked @ fit.covariance
    gains = [_gain(fit, candidate, weighed) for candidate in candidates]
    after = np.sqrt(np.maximum(0.0, now**2 - np.array(gains)))
    best = int(np.argmin(np.round(after, 9)))
    then = float(after[best])
    if then >= now * (1.0 - WORTHWHILE) or f"{now:.1f}" == f"{then:.1f}":
        return None
    return candidates[best], now, then


def _gain(fit: Fit, candidate: Recipe, weighed: FloatArray) -> float:
    """Return that trace; a swatch tells of few parameters, and all others count for nothing."""
    jacobian, scatter = sight(fit, candidate)
    told = np.flatnonzero(jacobian.any(axis=0))
    own, those = jacobian[:, told], np.ix_(told, told)
    spread = own @ fit.covariance[those] @ own.T + scatter
    return float(np.trace(np.linalg.solve(spread, own @ weighed[those] @ own.T)))
