"""How sure a predicted color is: what fit, hand, instrument and model leave open.

Each thing left open is tried a standard deviation to either side (an unscented transform about the
mode), for the models bend: what is badly known moves a color more to one side than to the other.
"""

from collections.abc import Sequence

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.media.inference.fit import Fit
from laydown.media.inference.forward import Forward, Variants, offsets, variants
from laydown.media.inference.leeway import Leeway, Name
from laydown.media.inference.posterior import principal_axes
from laydown.media.recipe import Recipe

CARRIED = 0.6
"""What a colorant carried over from another paper is off by beyond its amount [CIELAB units per
axis]; calibrated on simulated papers, see docs/decisions/light-and-layers.md."""


def places(fit: Fit, recipe: Recipe) -> list[int]:
    """Return where in the fit's covariance the parameters stand that a recipe's color rests on."""
    return fit.forward(recipe).parameters(len(fit.effects), fit.own.shape[1])


def middle(fit: Fit, model: Forward) -> Variants:
    """Return a recipe's numbers as they were fitted, one variant."""
    own = fit.own[list(model.used)].reshape(-1, fit.own.shape[1])
    return variants(fit.effects, own, steps=len(model.coats))


def tried_spectra(
    fit: Fit, model: Forward, axes: FloatArray | None = None
) -> tuple[FloatArray, tuple[Name, ...]]:
    """Return a recipe's reflectance, then with each thing left open tried to either side.

    Parameters
    ----------
    fit
        The medium on its paper.
    model
        The recipe in it.
    axes
        Shape (n, parameters of the recipe), along which those are tried; the principal ones where
        None.

    Returns
    -------
    tuple
        Shape (2 m + 1, 36): the middle, m offsets to one side, the same to the other; and the names
        of the m things: effects and own numbers by axes, the hand at each step, what shows through
        each, how coats crowd, and the references' spectra.
    """
    here = middle(fit, model)
    where = model.parameters(len(fit.effects), fit.own.shape[1])
    moved, names = offsets(
        model,
        principal_axes(fit.covariance, where) if axes is None else axes,
        here,
        fresh=fit.hand / np.sqrt(model.coats),
        covered=model.covered,
        crowding=fit.priors.crowding_sd,
    )
    tried = here.about(moved, 1.0, -1.0)
    lowest = np.minimum(fit.priors.lowest, fit.effects)
    highest = np.maximum(fit.priors.highest, fit.effects)
    np.clip(tried.effects, lowest, highest, out=tried.effects)
    return model.reflect(tried), names


def leeway(fit: Fit, recipe: Recipe, axes: FloatArray | None = None) -> Leeway:
    """Return what is left open of a recipe's color, as one hand lays it once and measures it once.

    As spectra; besides, the instrument's noise, the model's misfit, and what a colorant carried
    over from another paper is off by. Of a recipe that is predicted by its swatch the misfit is the
    noise of that reading.
    """
    if not recipe.steps:
        return Leeway((fit.paper.reflectance[None],), fit.measuring**2 * np.eye(3), ((),))
    model = fit.model_of(recipe)
    alike = carried_alike(fit.carried, [colorant.label for colorant in recipe.colorants])
    read = 0.0 if fit.factor(recipe) is None else fit.measuring**2
    alike |= {("misfit", recipe.key): read + fit.misfit**2 * model.missed(fit.effects)}
    rest = (fit.measuring**2 + sum(alike.values())) * np.eye(3)
    spectra, names = tried_spectra(fit, model, axes)
    return Leeway((spectra,), rest, (names,), alike)


def carried_alike(carried: frozenset[str], labels: Sequence[str]) -> dict[Name, float]:
    """Return what colorants carried over from another paper are off by, variances by name."""
    return {("carried", label): CARRIED**2 for label in labels if label in carried}
