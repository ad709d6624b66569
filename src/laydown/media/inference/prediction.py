"""How sure a predicted color is: what fit, hand, instrument and model leave open.

Each thing left open is tried a standard deviation to either side (an unscented transform about the
mode), for the models bend: what is badly known moves a color more to one side than to the other.
Where what is believed of an effect is no Gaussian, a color is integrated over it instead.
"""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.color.lab import lab_from_reflectance
from laydown.media.inference.fit import NO_RESIDUALS, Fit, OneFit
from laydown.media.inference.forward import (
    Forward,
    alike,
    names,
    offsets,
    reflectances,
    seen_of_each,
    varied,
)
from laydown.media.inference.learning import OUT
from laydown.media.inference.leeway import Leeway, Name, alike_by_day
from laydown.media.inference.posterior import principal_axes
from laydown.media.recipe import Recipe
from laydown.media.swatch import Basis, Swatch, reading_noise

CARRIED = 0.6
"""What a colorant carried over from another paper is off by beyond its amount [CIELAB units per
axis]; calibrated on simulated papers, see docs/decisions/light-and-layers.md."""


NODES = np.sqrt(3.0 + np.array([-1.0, 1.0]) * np.sqrt(6.0))
"""Nodes to either side of Gauss and Hermite's four, which are exact up to the seventh power."""
WEIGHTS = 0.5 + np.array([1.0, -1.0]) / np.sqrt(6.0)
"""What each pair of them counts; that of a standard deviation to either side counts 1."""


def places(fit: Fit, recipe: Recipe) -> list[int]:
    """Return where in the fit's covariance the parameters stand that a recipe's color rests on."""
    return fit.forward(recipe).parameters(len(fit.effects), fit.own.shape[1])


AT_ONCE = 24
"""So many recipes that are alike are tried at once (measured; see `forward.TOGETHER`)."""
Tried = tuple[FloatArray, tuple[Name, ...]]


def tried_spectra(
    fit: Fit, models: Sequence[Forward], axes: Sequence[FloatArray | None], *, named: bool = True
) -> list[Tried]:
    """Return recipes' reflectances, then with each thing left open tried to either side.

    `fit`: the medium on its paper. `models`: the recipes in it. `axes`: for each, shape (n,
    parameters of the recipe), along which those are tried, the effect that is integrated over along
    the first; the principal ones where None. `named`: whether names are wanted, by which what two
    recipes share is told. Returns for each, shape (2 m + 1, 36): the middle, m offsets to one side,
    the same to the other; and the names of the m things: effects and own numbers by axes, the hand
    at each step, what shows through each, how coats crowd, and the references' spectra.
    """
    along = [_nodes(fit, model, given) for model, given in zip(models, axes, strict=True)]
    found = list[Tried]([(np.zeros(0), ())]) * len(models)
    crowding = fit.priors.crowding_sd
    for some in alike(models, [len(one) for one in along], most=AT_ONCE):
        of_some = [models[place] for place in some]
        spectra = _spectra(fit, of_some, np.array([along[place] for place in some]))
        for place, model, seen in zip(some, of_some, spectra, strict=True):
            if named:
                said = names(model, len(along[place]), covered=model.covered, crowding=crowding)
            found[place] = seen, said if named else ()
    return found


def _spectra(fit: Fit, models: Sequence[Forward], axes: FloatArray) -> FloatArray:
    """Try what is left open of recipes that are alike, by the axes of each."""
    first = models[0]
    here = fit.usual(first.recipe)
    moved = offsets(
        first,
        axes[0],
        here,
        fresh=fit.noise.hand / np.sqrt(first.coats),
        covered=first.covered,
        crowding=fit.priors.crowding_sd,
    )
    signs = (1.0, -1.0)
    tried = varied(models, fit.own, here.about(moved, *signs), axes, *signs)
    tried.effects[:] = fit.within(tried.effects)
    weights = np.ones(0) if fit.integrated is None else WEIGHTS
    return _weighed(seen_of_each(models, tried), weights)


def _nodes(fit: Fit, model: Forward, axes: FloatArray | None) -> FloatArray:
    """Return axes with the nodes of a quadrature in the place of the first, where there is one."""
    if axes is None:
        where = model.parameters(len(fit.effects), fit.own.shape[1])
        axes = principal_axes(fit.covariance[np.ix_(where, where)], first=first_axis(fit, where))
    return axes if fit.integrated is None else np.vstack([NODES[:, None] * axes[0], axes[1:]])


def first_axis(fit: Fit, where: Sequence[int]) -> int | None:
    """Return where among parameters the effect stands that a color is integrated over."""
    return None if fit.integrated is None else list(where).index(fit.integrated)


def _weighed(spectra: FloatArray, weights: FloatArray) -> FloatArray:
    """Move the first pairs of spectra (…, 2 m + 1, 36) toward the middle, to count by weights (k,).

    What is seen of a pair counts by its square; the eye sees about the cube root of a reflectance.
    """
    count, shares = spectra.shape[-2] // 2, np.ones(spectra.shape[-2])
    shares[1 : 1 + len(weights)] = shares[1 + count : 1 + count + len(weights)] = np.sqrt(weights)
    if not len(weights):
        return spectra
    roots = np.cbrt(spectra)
    first = roots[..., :1, :]
    return np.asarray((first + shares[:, None] * (roots - first)) ** 3)


def leeways(
    fit: Fit,
    recipes: Sequence[Recipe],
    axes: Sequence[FloatArray | None] = (),
    *,
    named: bool = True,
) -> list[Leeway]:
    """Return what is left open of recipes' colors, as one hand lays each once and measures it once.

    As spectra; besides, the instrument's noise, the model's misfit, and what a colorant carried
    over from another paper is off by. Of a recipe that is predicted by its swatch the misfit is the
    noise of that reading. `axes`, `named`: as of `tried_spectra`.
    """
    bare = Leeway((fit.paper.reflectance[None],), fit.measuring**2 * np.eye(3), ((),))
    laid = [place for place, recipe in enumerate(recipes) if recipe.steps]
    models = [fit.model_of(recipes[place]) for place in laid]
    given = [axes[place] if axes else None for place in laid]
    found = [bare] * len(recipes)
    every = tried_spectra(fit, models, given, named=named)
    for place, model, tried in zip(laid, models, every, strict=True):
        found[place] = _leeway(fit, model, *tried)
    return found


def _leeway(fit: Fit, model: Forward, spectra: FloatArray, named: tuple[Name, ...]) -> Leeway:
    recipe = model.recipe
    labels = [colorant.label for colorant in recipe.colorants]
    both = dict[Name, float]({("carried", n): CARRIED**2 for n in labels if n in fit.carried})
    read = 0.0 if fit.factor(recipe) is None else fit.measuring**2
    both |= {("misfit", recipe.key): read + fit.noise.misfit**2 * model.missed(fit.effects)}
    rest = (fit.measuring**2 + sum(both.values())) * np.eye(3)
    return Leeway((spectra,), rest, (named,) if named else (), both)


# Measured beats modeled: a laydown that was swatched is predicted by its swatch.
#
# What a model leaves of a swatch goes with its recipe as a factor on reflectance, band by band, so
# it moves along as trials move the model. Only single laydowns on the bare paper have one: their
# colors stand in the search one by one, so that it stays exact (docs/decisions/doubt.md).

DARKEST = 1e-4
"""A darker band counts as this dark."""


def with_residuals(fit: OneFit, swatches: Sequence[Swatch]) -> OneFit:
    """Return a fit that predicts swatched single laydowns by their swatches.

    A swatch that lies farther from its prediction than a sound trial may is taken for a slip, and
    predicted as all others have it.

    `fit`: of the swatches; what it leaves of them is not in it yet. `swatches`: on its paper.
    """
    by_recipe: dict[Recipe, list[Swatch]] = {}
    for swatch in swatches:
        laid = swatch.recipe
        if laid.only_step is not None and not any(c.blender for c in laid.colorants):
            by_recipe.setdefault(swatch.recipe, []).append(swatch)
    recipes = sorted(by_recipe, key=lambda recipe: recipe.key)
    models = [fit.forward(recipe) for recipe in recipes]
    modeled = np.maximum(reflectances(models, fit.effects, fit.own), DARKEST)
    told = {
        recipe: residual
        for recipe, spectrum in zip(recipes, modeled, strict=True)
        if (residual := _residual(fit, recipe, spectrum, by_recipe[recipe])) is not None
    }
    residuals = np.array(list(told.values()), dtype=np.float64).reshape(-1, 36)
    return replace(fit, measured=tuple(told), residuals=residuals)


def without_residuals(fit: OneFit) -> OneFit:
    """Return a fit that predicts all by its model, as for another paper or hand."""
    return replace(fit, measured=(), residuals=NO_RESIDUALS)


def residuals_over(fit: Fit, fits: Sequence[Fit]) -> tuple[tuple[Recipe, ...], FloatArray]:
    """Return measured recipes of fits, and what another fit of all their colorants leaves of them.

    Returns the recipes, and shape (recipes, 36).
    """
    pairs = [(one, recipe) for one in fits for recipe in one.measured]
    rows = [
        np.log(one.as_measured(recipe, one.reflectance(recipe)) / fit.reflectance(recipe))
        for one, recipe in pairs
    ]
    return tuple(recipe for _, recipe in pairs), np.array(rows, dtype=np.float64).reshape(-1, 36)


def _residual(
    fit: Fit, recipe: Recipe, modeled: FloatArray, swatches: Sequence[Swatch]
) -> FloatArray | None:
    """Return the log of what swatches of one recipe show over what the model says; None if odd."""
    seen = np.maximum(np.mean([s.reflectance for s in swatches], axis=0), DARKEST)
    away = lab_from_reflectance(seen) - lab_from_reflectance(modeled)
    spread = np.mean([reading_noise(s, fit.measuring) for s in swatches])
    # what instrument and reading leave open is enough for most, and soon said
    if away @ away > OUT**2 * (fit.measuring**2 + spread**2):
        wide = leeways(fit, [recipe])[0].covariance() + spread**2 * np.eye(3)
        if away @ np.linalg.solve(wide, away) > OUT**2:
            return None
    if any(swatch.basis is Basis.XYZ for swatch in swatches):
        seen = np.maximum(alike_by_day(modeled[None], seen)[0], DARKEST)
    return np.asarray(np.log(seen / modeled))
