"""What a fit says of a recipe: its reflectance, how sure that is, where it is out of its depth."""

from collections.abc import Sequence

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.color.lab import lab_from_reflectance
from laydown.media.absorption import inverse
from laydown.media.colorant import Colorant
from laydown.media.layering import Ground, laid_steps, relative_reflectance, unchanged
from laydown.media.leeway import Leeway
from laydown.media.marker_model import MarkerFit
from laydown.media.prediction import Prediction
from laydown.media.recipe import Recipe
from laydown.media.references import words_laid
from laydown.media.uncertainty import marker_leeway


def ground_of(fit: MarkerFit, recipe: Recipe) -> tuple[Ground, tuple[int, ...]]:
    """Return paper and one coat of each colorant of a recipe, and the colorants' places in the fit.

    Raises
    ------
    NotMeasuredError
        For a colorant that was not swatched on this paper.
    """
    used = tuple(fit.index(c) for c in recipe.colorants)
    piled = fit.paper_absorption + fit.absorption[list(used)].reshape(len(used), 36)
    return Ground(
        inverse(fit.paper_absorption, scale=fit.scale), inverse(piled, scale=fit.scale)
    ), used


def reflectance(fit: MarkerFit, recipe: Recipe) -> FloatArray:
    """Predict the reflectance of a recipe.

    Parameters
    ----------
    fit
        From `fit_markers`.
    recipe
        Markers only; no steps at all is the bare paper.

    Returns
    -------
    FloatArray
        Shape (36,).

    Raises
    ------
    BadRecipeError
        For steps that no marker can do.
    NotMeasuredError
        For a colorant that was not swatched on this paper.
    """
    steps = laid_steps(recipe)
    ground, used = ground_of(fit, recipe)
    variants = unchanged(fit.effects, steps=len(steps), colorants=len(used))
    return np.asarray(fit.ceiling * relative_reflectance(steps, ground, variants)[0])


def predict_lab(fit: MarkerFit, recipes: Sequence[Recipe]) -> FloatArray:
    """Predict the Lab of several recipes, shape (recipes, 3)."""
    spectra = np.array([reflectance(fit, recipe) for recipe in recipes])
    return np.asarray(lab_from_reflectance(spectra))


def outside(fit: MarkerFit, recipe: Recipe) -> tuple[str, ...]:
    """Say in what ways a recipe lies outside what the fit was made from.

    Parameters
    ----------
    fit
        From `fit_markers`.
    recipe
        Markers only.

    Returns
    -------
    tuple of str
        A sentence for each colorant that wasn't swatched on this paper, each stroke or wait that
        wasn't, more coats of one colorant than were ever swatched, more coats than the paper
        bears. Empty inside.

    Raises
    ------
    BadRecipeError
        For steps that no marker can do.
    """
    known = {(c.range, c.name) for c in fit.colorants}
    said = [
        f"{c.name} has not been swatched on {fit.paper.name}."
        for c in recipe.colorants
        if (c.range, c.name) not in known
    ]
    said += [
        f"{c.name} is carried over from another paper, not measured on {fit.paper.name}."
        for c in recipe.colorants
        if c.label in fit.carried
    ]
    words = {"quick": "a quick stroke", "soaked": "a soaked stroke", "wet": "a coat over wet color"}
    said += [
        f"No swatch tells how much {words[word]} lays on {fit.paper.name}: it is assumed."
        for word in sorted(words_laid(recipe) - fit.laid)
    ]
    swatched = int(fit.most_coats.max(initial=1.0))
    for colorant, coats in coats_of(recipe).items():
        if coats > swatched and not colorant.blender:
            said.append(f"{coats} coats of {colorant.name}: at most {swatched} were swatched.")
    if recipe.coats > fit.paper.coats_limit:
        said.append(
            f"{recipe.coats} coats in all: {fit.paper.name} bears {fit.paper.coats_limit} "
            "before it pills, bleeds or fills."
        )
    return tuple(said)


def coats_of(recipe: Recipe) -> dict[Colorant, int]:
    """Return how many coats of each colorant a recipe has."""
    laid = laid_steps(recipe)
    return {
        c: sum(step.coats for step in laid if step.place == place)
        for place, c in enumerate(recipe.colorants)
    }


def predict(fit: MarkerFit, recipe: Recipe) -> Prediction:
    """Predict a recipe's color and how sure it is.

    Parameters
    ----------
    fit
        From `fit_markers`.
    recipe
        Markers only.

    Returns
    -------
    Prediction
        Its covariance is that of one application by the same hand, measured once.

    Raises
    ------
    BadRecipeError
        For steps that no marker can do.
    NotMeasuredError
        For a colorant that was not swatched on this paper.
    """
    steps = laid_steps(recipe)
    ground, used = ground_of(fit, recipe)
    variants = unchanged(fit.effects, steps=len(steps), colorants=len(used))
    spectrum = fit.ceiling * relative_reflectance(steps, ground, variants)[0]
    return Prediction(
        recipe=recipe,
        reflectance=spectrum,
        lab=lab_from_reflectance(spectrum),
        covariance=marker_leeway(fit, recipe, ground, used).covariance(),
        warnings=outside(fit, recipe),
    )


def leeway(fit: MarkerFit, recipe: Recipe, axes: FloatArray | None = None) -> Leeway:
    """Return what is left open of a recipe's color, as spectra; see `marker_leeway`."""
    return marker_leeway(fit, recipe, *ground_of(fit, recipe), axes)


def predict_many(fit: MarkerFit, recipes: Sequence[Recipe]) -> tuple[Prediction, ...]:
    """Predict several recipes; see `predict`."""
    return tuple(predict(fit, recipe) for recipe in recipes)
