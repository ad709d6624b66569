"""A wanted color and a recipe as a pair: how sure their difference is, under any light."""

from laydown.color.arrays import FloatArray
from laydown.color.lab import xyz_from_lab
from laydown.color.reconstruction import reflectance_from_xyz
from laydown.match.outcome import Target
from laydown.media.beside import Pair, beside
from laydown.media.comparing import compare
from laydown.media.inference.leeway import leeway_of_color
from laydown.media.kit.fit import AnyFit, leeway, reflectance
from laydown.media.recipe import Recipe


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
    return own + target.covariance
