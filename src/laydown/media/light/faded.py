"""What a recipe looks like once light has taken part of each colorant away.

Light takes absorption, not body: a faded dye absorbs less over all bands alike, and what scatters
stays. A change of hue as a dye breaks down, and the paper's own yellowing, are outside this.
"""

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.color.difference import ciede2000
from laydown.color.lab import lab_from_reflectance
from laydown.media.colorant import Colorant
from laydown.media.kit.fit import AnyFit, runs
from laydown.media.recipe import Recipe, Step

SHARES = np.linspace(1.0, 0.0, 65)
"""Shares of a colorant left at which its plain coat is looked at; between them it is straight."""


def faded_reflectance(fit: AnyFit, recipe: Recipe, left: FloatArray) -> FloatArray:
    """Return a recipe's reflectance with only a share of each colorant left.

    Parameters
    ----------
    fit
        Of its colorants on their paper.
    recipe
        As it was laid.
    left
        Shape (v, u), share of the absorption of each of its u colorants that is left, 0 to 1, in
        the order of `Recipe.colorants`.

    Returns
    -------
    FloatArray
        Shape (v, 36).

    Raises
    ------
    BadRecipeError
        For steps or an order that can't be done.
    NotMeasuredError
        For a colorant that was not swatched on this paper.
    """
    seen = np.tile(fit.paper.reflectance, (len(left), 1))
    places = {colorant: place for place, colorant in enumerate(recipe.colorants)}
    laid = runs(fit, recipe)
    for run in laid:
        own = left[:, [places[colorant] for colorant in run.recipe.colorants]]
        seen = run.fit.lay(run.recipe, seen, share=run.share, left=own)
    factor = laid[0].fit.factor(recipe) if len(laid) == 1 else None
    if factor is None:
        return seen
    # what a swatch shows beside the model fades as the color does, and bare paper has none of it
    return np.asarray(seen * factor ** left.mean(axis=1, keepdims=True))


def faded_difference(fit: AnyFit, recipe: Recipe, left: FloatArray) -> FloatArray:
    """Return how far a recipe has moved from its own color (CIEDE2000), shape (v,).

    Parameters
    ----------
    fit, recipe, left
        As in `faded_reflectance`.
    """
    whole = np.ones((1, len(recipe.colorants)))
    lab = lab_from_reflectance(faded_reflectance(fit, recipe, np.concatenate([whole, left])))
    return ciede2000(lab[0], lab[1:])


def share_left(fit: AnyFit, colorant: Colorant, difference: FloatArray) -> FloatArray:
    """Return how much of a colorant is left when its plain coat has moved so far.

    Parameters
    ----------
    fit
        Of the colorant on its paper.
    colorant
        Laid as one plain coat.
    difference
        Shape (…,), CIEDE2000; more than fading can do means that nothing is left.

    Returns
    -------
    FloatArray
        Shape (…,), 0 to 1.
    """
    moved = faded_difference(fit, Recipe((Step(colorant),)), SHARES[:, None])
    return np.asarray(np.interp(difference, np.maximum.accumulate(moved), SHARES, right=0.0))
