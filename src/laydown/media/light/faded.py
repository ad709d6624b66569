"""What a recipe looks like once light has taken part of each colorant away.

Light takes absorption, not body: a faded dye absorbs less over all bands alike, and what scatters
stays. A change of hue as a dye breaks down, and the paper's own yellowing, are outside this.
"""

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.color.difference import ciede2000
from laydown.color.lab import lab_from_reflectance
from laydown.media.colorant import Colorant
from laydown.media.film.constants import constants
from laydown.media.film.laying import (
    FilmPile,
    film_steps,
    film_unchanged,
    lay_films,
    pile_reflectance,
    thinned,
)
from laydown.media.film.model import OWN, FilmFit
from laydown.media.film.predicting import film_ground
from laydown.media.kit.fit import AnyFit, Segment, runs
from laydown.media.kit.soaking import UNTOUCHED
from laydown.media.laydown import Medium
from laydown.media.marker.absorption import absorption, inverse
from laydown.media.marker.marker import MarkerFit
from laydown.media.marker.pile import laid_steps, one_coat_absorptions, pile_of, unchanged
from laydown.media.marker.predicting import ground_of
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
    laid = (
        (Segment(Medium.MARKER, fit, recipe, UNTOUCHED),)
        if isinstance(fit, MarkerFit)
        else runs(fit, recipe)
    )
    seen = np.tile(fit.paper.reflectance, (len(left), 1))
    places = {colorant: place for place, colorant in enumerate(recipe.colorants)}
    for run in laid:
        own = left[:, [places[colorant] for colorant in run.recipe.colorants]]
        seen = _over(run, own, seen)
    return seen


def _over(run: Segment, left: FloatArray, below: FloatArray) -> FloatArray:
    """Lay a run on grounds, shape (v, 36), as it is with these shares of its colorants left."""
    if isinstance(run.fit, FilmFit):
        films = _films(run.fit, run.recipe, left)
        return pile_reflectance(thinned(films, run.soaked.share), below)
    fit, dye = run.fit, run.soaked.share * _markers(run.fit, run.recipe, left)
    beneath = absorption(below / fit.ceiling, scale=fit.scale)
    return np.asarray(fit.ceiling * inverse(beneath + dye, scale=fit.scale))


def _markers(fit: MarkerFit, recipe: Recipe, left: FloatArray) -> FloatArray:
    """Return the absorption of a pile, (v, 36): laid as ever, then light takes of each dye."""
    ground, used = ground_of(fit, recipe)
    steps = laid_steps(recipe)
    variants = unchanged(fit.effects, steps=len(steps), colorants=len(used))
    _, added = one_coat_absorptions(ground, variants)
    _, shares = pile_of(steps, added, variants)
    return np.asarray((left * shares[0]) @ added[0])


def _films(fit: FilmFit, recipe: Recipe, left: FloatArray) -> FilmPile:
    used = [fit.index(colorant) for colorant in recipe.colorants]
    own = fit.own[used].reshape(len(used), len(OWN))
    middle = film_unchanged(fit.effects, own, steps=len(recipe.steps))
    k, s = constants(film_ground(fit, recipe), fit.medium, middle)
    return lay_films(film_steps(recipe, fit.medium), fit.medium, k * left[..., None], s, middle)


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
