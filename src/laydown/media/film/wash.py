"""Washes on a paper: the one face of the wash model.

A wash dries to a film whose thickness follows dilution and coats; a glaze lies over a dry wash and
carries a little of it off. Mixtures on the palette are laid as one film. Wet in wet is outside the
model. Fit swatches with `fit_washes`, ask with `reflectance`, `predict` and `outside`.
"""

from collections.abc import Sequence

from laydown.color.arrays import FloatArray
from laydown.media.colorant import Colorant, Paper
from laydown.media.film.fitting import fit_films
from laydown.media.film.model import FilmFit, FilmPriors
from laydown.media.film.predicting import film_outside, film_predict, film_spectrum
from laydown.media.laydown import Medium
from laydown.media.prediction import Prediction
from laydown.media.recipe import Recipe
from laydown.media.swatch import Swatch


def fit_washes(
    swatches: Sequence[Swatch],
    paper: Paper,
    *,
    colorants: Sequence[Colorant] = (),
    priors: FilmPriors | None = None,
) -> FilmFit:
    """Fit the wash model to the swatches of a range on one paper, measured dry.

    Parameters
    ----------
    swatches
        Of washes on this paper. One coat of each straight from the pan says what it adds; three
        coats and glazes over a dark wash say how far it covers; diluted ones how water thins it.
        Swatches laid wet in wet are left out and noted.
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
        For a swatch that no wash can make.

    Notes
    -----
    A step of n coats at dilution d is (1 + (n − 1) t)(1 − d)^p plain coats thick, t and p fitted,
    a little thicker in the valleys of the paper. K and S of a palette mixture are the sums of its
    parts' by their shares (Duncan 1940). Each zone is a stack of films (`laydown.media.film.film`,
    Kubelka 1948 and 1954); a wash carries a share of every dry wash below it off. Untrue for
    pigments that flock or stain, for wet in wet, and for edges.

    References
    ----------
    D. R. Duncan, The colour of pigment mixtures, Proc. Phys. Soc. 52 (1940) 390–401.

    Examples
    --------
    >>> from laydown.media.recipe import Step
    >>> import numpy as np
    >>> paper = Paper("Gannet smooth", np.full(36, 0.9))
    >>> loam = Colorant("Loam", "Pond", Medium.WASH)
    >>> seen = Swatch(paper.name, Recipe((Step(loam),)), np.full(36, 0.5))
    >>> fit = fit_washes([seen], paper)
    >>> reflectance(fit, seen.recipe).round(6)[0].item()
    0.5
    """
    return fit_films(swatches, paper, Medium.WASH, colorants=colorants, priors=priors)


def reflectance(fit: FilmFit, recipe: Recipe) -> FloatArray:
    """Predict the reflectance of a recipe of washes, dry, shape (36,)."""
    return film_spectrum(fit, recipe)


def predict(fit: FilmFit, recipe: Recipe) -> Prediction:
    """Predict a recipe's color, dry, and how sure it is, as one hand lays it once."""
    return film_predict(fit, recipe)


def outside(fit: FilmFit, recipe: Recipe) -> tuple[str, ...]:
    """Say in what ways a recipe lies outside what the fit was made from; empty inside."""
    return film_outside(fit, recipe)
