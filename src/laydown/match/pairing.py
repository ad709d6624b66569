"""A wanted color and a recipe as a pair: how sure their difference is, under any light."""

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.color.lab import xyz_from_lab
from laydown.color.reconstruction import reflectance_from_xyz
from laydown.match.outcome import Target
from laydown.media.comparing import compare
from laydown.media.inference.leeway import Pair, beside, leeway_of_color
from laydown.media.kit.fit import AnyFit, leeway, reflectance
from laydown.media.recipe import Recipe

LEAST_LEFT = 0.25
"""Of a color's variance, whatever it errs alike with the one wanted (chosen)."""


def spectrum_of(target: Target) -> FloatArray:
    """Return a target's spectrum, shape (36,); where none is known, the smoothest of its color."""
    if target.reflectance is not None:
        return target.reflectance
    return reflectance_from_xyz(xyz_from_lab(target.lab))


def pair_of(target: Target, fit: AnyFit, recipe: Recipe, *, swatched: AnyFit | None = None) -> Pair:
    """Return a target and a recipe as a pair of spectra, with what is left open of both.

    Parameters
    ----------
    target
        The color wanted.
    fit, recipe
        What is laid, and by whom.
    swatched
        What swatches alone tell of the supplies, by which `Target.own_recipe` is a color; `fit`
        itself where None.
    """
    if target.own_recipe is not None:
        return compare(swatched or fit, target.own_recipe, fit, recipe)
    spectrum = spectrum_of(target)
    open_ = leeway_of_color(spectrum, target.covariance, guessed=target.reflectance is None)
    return beside(spectrum, open_, reflectance(fit, recipe), leeway(fit, recipe))


def covariance_of(
    target: Target,
    fit: AnyFit,
    pile: Recipe,
    *,
    swatched: AnyFit | None = None,
    known: FloatArray | None = None,
) -> FloatArray:
    """Return the covariance of a pile's difference from a target by day, shape (3, 3).

    Parameters
    ----------
    target, fit, swatched
        As in `pair_of`.
    pile
        All that lies there.
    known
        The covariance of its own color, where that was worked out already.
    """
    if target.own_recipe is not None:
        return pair_of(target, fit, pile, swatched=swatched).covariance()
    own = leeway(fit, pile).covariance() if known is None else known
    return own * _left(own, target.alike) + target.covariance


def _left(own: FloatArray, alike: float) -> float:
    """Return the share of a color's covariance that is left without what it errs alike.

    Never less than a quarter: of what a fit makes of several swatches it isn't told how much is of
    their picture.
    """
    return max(LEAST_LEFT, 1.0 - 3.0 * alike / max(float(np.trace(own)), 1e-12))
