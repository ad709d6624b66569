"""A wanted color and a recipe as a pair: how sure their difference is, under any light."""

from collections.abc import Sequence
from functools import lru_cache

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.color.lab import xyz_from_lab
from laydown.color.reconstruction import reflectance_from_xyz
from laydown.match.outcome import Target
from laydown.media.inference.fit import Fit
from laydown.media.inference.learning import by_own_hand
from laydown.media.inference.leeway import Pair, beside, leeway_of_color
from laydown.media.inference.posterior import principal_axes
from laydown.media.inference.prediction import first_axis, places
from laydown.media.kit.fit import AnyFit, Axes, expected_spectra, leeway, leeways, reflectance
from laydown.media.recipe import Medium, Recipe

# Two recipes of one kit beside each other: what their colors share of what is left open falls out.
#
# The wanted one is a color: what its recipe gives on the whole, as the swatches lead to expect. The
# given one is laid once. So a recipe beside itself differs by the hand's scatter and the reading
# alone, and by what trials taught of the person since the swatches were colored.

AT_HAND = 32
"""So many wanted recipes stay at hand with their spectra."""


def compare(swatched: AnyFit, wanted: Recipe, fit: AnyFit, given: Recipe) -> Pair:
    """Put a recipe beside the color that another, or the same, leads to expect.

    `swatched`: by which the wanted recipe is a color. `wanted`: the recipe whose color is wanted.
    `fit`: by which the given recipe is laid: `swatched` itself, or what trials made of it. `given`:
    the recipe that is laid. Raises BadRecipeError or NotMeasuredError as
    `laydown.media.kit.fit.predict` does.

    ``compare(fit, recipe, fit, recipe).covariance()`` is smaller than
    ``predict(fit, recipe).covariance``.
    """
    return compare_each(swatched, wanted, fit, [given])[0]


def compare_each(
    swatched: AnyFit, wanted: Recipe, fit: AnyFit, given: Sequence[Recipe]
) -> list[Pair]:
    """Put each of several recipes beside the color of one, as `compare` does."""
    axes = [_joint_axes(swatched, wanted, fit, one) for one in given]
    whole = leeways(swatched, [wanted] * len(given), [here for here, _ in axes])
    once = leeways(fit, given, [there for _, there in axes])
    spectra, spectrum = expected_spectra(fit, given, once), _wanted_spectrum(swatched, wanted)
    return [
        beside(spectrum, here.on_the_whole(), seen, there)
        for here, seen, there in zip(whole, spectra, once, strict=True)
    ]


@lru_cache(AT_HAND)
def _wanted_spectrum(swatched: AnyFit, wanted: Recipe) -> FloatArray:
    return reflectance(swatched, wanted)  # thousands are compared with the same


def _joint_axes(swatched: AnyFit, wanted: Recipe, fit: AnyFit, given: Recipe) -> tuple[Axes, Axes]:
    """Return axes for each medium that both recipes have, the same things along the same rows."""
    first, second = _parts(swatched, wanted), _parts(fit, given)
    joint = {
        medium: _joint(*first[medium], *second[medium]) for medium in first.keys() & second.keys()
    }
    return {m: axes[0] for m, axes in joint.items()}, {m: axes[1] for m, axes in joint.items()}


def _parts(fit: AnyFit, recipe: Recipe) -> dict[Medium, tuple[Fit, Recipe]]:
    return {medium: (fit.of(medium), part) for medium, part in fit.parts(recipe)}


def _joint(swatched: Fit, wanted: Recipe, fit: Fit, given: Recipe) -> tuple[FloatArray, FloatArray]:
    first, second = places(swatched, wanted), places(fit, given)
    across = shared_covariance(swatched, fit)[np.ix_(first, second)]
    whole = np.block([
        [swatched.covariance[np.ix_(first, first)], across],
        [across.T, fit.covariance[np.ix_(second, second)]],
    ])  # fmt: skip
    axes = principal_axes(whole, first=first_axis(swatched, first))
    return axes[:, : len(first)], axes[:, len(first) :]


def shared_covariance(swatched: Fit, fit: Fit) -> FloatArray:
    """Return how the parameters of swatches and those that trials made of them vary together.

    `swatched`: with p parameters. `fit`: what trials made of it, or the same. Returns shape (p, p).

    Before trials the person's parameters are the swatches' and what a person adds: θ' = θ + δ, with
    covariances C of θ and S = C + D of θ'. Trials tell θ' to C'; what they tell of θ goes through
    it, so that the covariance of θ and θ' is then C S⁻¹ C'.
    """
    if swatched is fit:
        return fit.covariance
    before = by_own_hand(swatched, share=fit.hand_share).covariance
    return np.asarray(swatched.covariance @ np.linalg.solve(before, fit.covariance))


LEAST_LEFT = 0.25
"""Of a color's variance, whatever it errs alike with the one wanted (chosen)."""


def spectrum_of(target: Target) -> FloatArray:
    """Return a target's spectrum, shape (36,); where none is known, the smoothest of its color."""
    if target.reflectance is not None:
        return target.reflectance
    return reflectance_from_xyz(xyz_from_lab(target.lab))


def pair_of(target: Target, fit: AnyFit, recipe: Recipe, *, swatched: AnyFit | None = None) -> Pair:
    """Return a target and a recipe as a pair of spectra, with what is left open of both.

    `target`: the color wanted. `fit`, `recipe`: what is laid, and by whom. `swatched`: what
    swatches alone tell of the supplies, by which `Target.own_recipe` is a color; `fit` itself where
    None.
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

    `target`, `fit`, `swatched`: as in `pair_of`. `pile`: all that lies there. `known`: the
    covariance of its own color, where that was worked out already.
    """
    if target.own_recipe is not None:
        return pair_of(target, fit, pile, swatched=swatched).covariance()
    own = leeway(fit, pile).covariance() if known is None else known
    return without_alike(own, target.alike) + target.covariance


def without_alike(own: FloatArray, alike: float) -> FloatArray:
    """Return covariances of colors, shape (…, 3, 3), without what they err alike with a target.

    Never less than a quarter is left: of what a fit makes of several swatches it isn't told how
    much is of their picture.
    """
    whole = np.maximum(np.trace(own, axis1=-2, axis2=-1), 1e-12)
    left = np.maximum(LEAST_LEFT, 1.0 - 3.0 * alike / whole)
    return np.asarray(own * left[..., None, None])
