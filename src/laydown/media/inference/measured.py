"""Measured beats modeled: a laydown that was swatched is predicted by its swatch.

What a model leaves of a swatch goes with its recipe as a factor on reflectance, band by band, so it
moves along as trials move the model. Only single laydowns on the bare paper have one: their colors
stand in the search one by one, so that it stays exact (docs/decisions/doubt.md).
"""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.color.lab import lab_from_reflectance
from laydown.media.inference.expectation import OUT
from laydown.media.inference.fit import NO_RESIDUALS, Fit, OneFit
from laydown.media.inference.leeway import alike_by_day
from laydown.media.inference.prediction import leeway
from laydown.media.recipe import Recipe
from laydown.media.swatch import Basis, Swatch, reading_noise

DARKEST = 1e-4
"""A darker band counts as this dark."""


def with_residuals(fit: OneFit, swatches: Sequence[Swatch]) -> OneFit:
    """Return a fit that predicts swatched single laydowns by their swatches.

    A swatch that lies farther from its prediction than a sound trial may is taken for a slip, and
    predicted as all others have it.

    Parameters
    ----------
    fit
        Of the swatches; what it leaves of them is not in it yet.
    swatches
        On its paper.
    """
    by_recipe: dict[Recipe, list[Swatch]] = {}
    for swatch in swatches:
        if _is_single(swatch.recipe):
            by_recipe.setdefault(swatch.recipe, []).append(swatch)
    told = {recipe: _residual(fit, recipe, alike) for recipe, alike in by_recipe.items()}
    kept = sorted((r for r in told if told[r] is not None), key=lambda recipe: recipe.key)
    residuals = np.array([told[recipe] for recipe in kept], dtype=np.float64).reshape(-1, 36)
    return replace(fit, measured=tuple(kept), residuals=residuals)


def without_residuals(fit: OneFit) -> OneFit:
    """Return a fit that predicts all by its model, as for another paper or hand."""
    return replace(fit, measured=(), residuals=NO_RESIDUALS)


def residuals_over(fit: Fit, fits: Sequence[Fit]) -> tuple[tuple[Recipe, ...], FloatArray]:
    """Return measured recipes of fits, and what another fit of all their colorants leaves of them.

    Returns
    -------
    tuple
        The recipes, and shape (recipes, 36).
    """
    pairs = [(one, recipe) for one in fits for recipe in one.measured]
    rows = [
        np.log(one.as_measured(recipe, one.reflectance(recipe)) / fit.reflectance(recipe))
        for one, recipe in pairs
    ]
    return tuple(recipe for _, recipe in pairs), np.array(rows, dtype=np.float64).reshape(-1, 36)


def _is_single(recipe: Recipe) -> bool:
    """Whether a recipe is one laydown of colorants."""
    return recipe.only_step is not None and not any(c.blender for c in recipe.colorants)


def _residual(fit: Fit, recipe: Recipe, swatches: Sequence[Swatch]) -> FloatArray | None:
    """Return the log of what swatches of one recipe show over what the model says; None if odd."""
    modeled = np.maximum(fit.reflectance(recipe), DARKEST)
    seen = np.maximum(np.mean([s.reflectance for s in swatches], axis=0), DARKEST)
    away = lab_from_reflectance(seen) - lab_from_reflectance(modeled)
    spread = np.mean([reading_noise(s, fit.measuring) for s in swatches])
    wide = leeway(fit, recipe).covariance() + spread**2 * np.eye(3)
    if away @ np.linalg.solve(wide, away) > OUT**2:
        return None
    if any(swatch.basis is Basis.XYZ for swatch in swatches):
        seen = np.maximum(alike_by_day(modeled[None], seen)[0], DARKEST)
    return np.asarray(np.log(seen / modeled))
