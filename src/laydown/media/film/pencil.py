"""Colored pencils on a paper: the one face of the pencil model.

A pencil leaves a translucent film on the tooth of the paper: most on the peaks, further down the
harder it is pressed, until the tooth is full. Layers lie on each other and never lift. Solvent
and burnishing are steps that act on all that lies below. Fit swatches with `fit_pencils`, ask with
`reflectance`, `predict`, `outside` and `covered`.
"""

from collections.abc import Sequence

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.media.colorant import Colorant, Paper
from laydown.media.film.fitting import fit_films
from laydown.media.film.laying import load_of, profile_of
from laydown.media.film.model import FilmFit, FilmPriors
from laydown.media.film.predicting import film_outside, film_predict, film_spectrum
from laydown.media.laydown import Laydown, Medium
from laydown.media.prediction import Prediction
from laydown.media.recipe import Recipe
from laydown.media.swatch import Swatch

COVERING = 0.25
"""A place counts as covered where at least this much of a plain coat lies (chosen, no source)."""


def fit_pencils(
    swatches: Sequence[Swatch],
    paper: Paper,
    *,
    colorants: Sequence[Colorant] = (),
    priors: FilmPriors | None = None,
) -> FilmFit:
    """Fit the pencil model to the swatches of a range on one paper.

    Parameters
    ----------
    swatches
        Of pencils on this paper. One coat of each says what it adds; three heavy coats and layers
        over a dark one say how far it covers; light coats how the tooth takes it.
    paper
        What they lie on.
    colorants
        Those of the range, which sets the order; one that was not swatched is left out and noted.
    priors
        What is taken for granted until swatches tell; the usual ones where None.

    Returns
    -------
    FilmFit
        Less than the minimum design still gives one, with wider covariance.

    Raises
    ------
    NotMeasuredError
        Where no colorant is known, or one was never laid alone.
    BadRecipeError
        For a swatch that no pencil can make.

    Notes
    -----
    A coat of load m lies m exp(−(u/d)²) thick at depth u of the tooth, d by pressure; a coat's load
    falls by exp(−fill M) with the load M below it. Each zone of the tooth is a stack of films
    (`laydown.media.film.film`, Kubelka 1948 and 1954) and reflectances are averaged over the zones.
    The
    zones are a stand-in for a real tooth; grain that the eye sees is beyond it, and so is wax that
    blooms or polishes.

    Examples
    --------
    >>> from laydown.media.recipe import Step
    >>> paper = Paper("Gannet smooth", np.full(36, 0.9))
    >>> fern = Colorant("Fern", "Meadow", Medium.PENCIL)
    >>> seen = Swatch(paper.name, Recipe((Step(fern),)), np.full(36, 0.5))
    >>> fit = fit_pencils([seen], paper)
    >>> reflectance(fit, seen.recipe).round(6)[0].item()
    0.5
    """
    return fit_films(swatches, paper, Medium.PENCIL, colorants=colorants, priors=priors)


def reflectance(fit: FilmFit, recipe: Recipe) -> FloatArray:
    """Predict the reflectance of a recipe of pencils and treatments, shape (36,)."""
    return film_spectrum(fit, recipe)


def predict(fit: FilmFit, recipe: Recipe) -> Prediction:
    """Predict a recipe's color and how sure it is, as one hand lays it once."""
    return film_predict(fit, recipe)


def outside(fit: FilmFit, recipe: Recipe) -> tuple[str, ...]:
    """Say in what ways a recipe lies outside what the fit was made from; empty inside."""
    return film_outside(fit, recipe)


def covered(fit: FilmFit, laydown: Laydown) -> float:
    """Return the share of bare paper that a laydown covers.

    Parameters
    ----------
    fit
        Pencils on their paper.
    laydown
        Coats and pressure.

    Notes
    -----
    The tooth is covered down to where `COVERING` of a plain coat lies:
    u = d √ln(m/`COVERING`), no more than all of it.
    """
    effects = fit.effects[None]
    load = float(load_of(laydown, Medium.PENCIL, effects, np.zeros((1, 1)))[0, 0])
    last = float(profile_of(laydown, Medium.PENCIL, effects)[0, -1])
    zones = profile_of(laydown, Medium.PENCIL, effects).shape[1]
    depth = (1.0 - 0.5 / zones) / np.sqrt(-np.log(max(last, 1e-300)))
    return float(min(1.0, depth * np.sqrt(np.log(max(load / COVERING, 1.0)))))
