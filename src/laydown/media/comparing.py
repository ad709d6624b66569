"""Two recipes of one kit beside each other: what their colors share of what is left open falls out.

The wanted one is a color: what its recipe gives on the whole, as the swatches lead to expect. The
given one is laid once. So a recipe beside itself differs by the hand's scatter and the reading
alone, and by what trials taught of the person since the swatches were colored.
"""

from collections.abc import Sequence
from functools import lru_cache

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.media.inference.fit import Fit
from laydown.media.inference.learning import by_own_hand
from laydown.media.inference.leeway import Pair, beside
from laydown.media.inference.posterior import principal_axes
from laydown.media.inference.prediction import first_axis, places
from laydown.media.kit.fit import AnyFit, Axes, expected_spectra, leeways, reflectance
from laydown.media.laydown import Medium
from laydown.media.recipe import Recipe

AT_HAND = 32
"""So many wanted recipes stay at hand with their spectra."""


def compare(swatched: AnyFit, wanted: Recipe, fit: AnyFit, given: Recipe) -> Pair:
    """Put a recipe beside the color that another, or the same, leads to expect.

    Parameters
    ----------
    swatched
        By which the wanted recipe is a color.
    wanted
        The recipe whose color is wanted.
    fit
        By which the given recipe is laid: `swatched` itself, or what trials made of it.
    given
        The recipe that is laid.

    Raises
    ------
    BadRecipeError, NotMeasuredError
        As `laydown.media.kit.fit.predict` does.

    Examples
    --------
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

    Parameters
    ----------
    swatched
        With p parameters.
    fit
        What trials made of it, or the same.

    Returns
    -------
    FloatArray
        Shape (p, p).

    Notes
    -----
    Before trials the person's parameters are the swatches' and what a person adds: θ' = θ + δ, with
    covariances C of θ and S = C + D of θ'. Trials tell θ' to C'; what they tell of θ goes through
    it, so that the covariance of θ and θ' is then C S⁻¹ C'.
    """
    if swatched is fit:
        return fit.covariance
    before = by_own_hand(swatched, share=fit.hand_share).covariance
    return np.asarray(swatched.covariance @ np.linalg.solve(before, fit.covariance))
