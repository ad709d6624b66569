"""How sure a predicted color is: what the fit, the hand, the instrument and the model leave open.

Each thing left open is tried a standard deviation to either side, see `laydown.media.leeway`.
"""

from collections.abc import Sequence

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.media.layering import (
    Ground,
    LaidStep,
    Variants,
    laid_steps,
    misfit_at,
    relative_reflectance,
    unchanged,
)
from laydown.media.leeway import FRESH, Leeway, Name
from laydown.media.marker_model import MarkerFit
from laydown.media.priors import BLENDER, EFFECTS, usual_priors
from laydown.media.recipe import Recipe
from laydown.media.shapes import reference_shapes

CARRIED = 0.6
"""What a colorant carried over from another paper is off by beyond its amount [CIELAB units per
axis]; calibrated on simulated papers, see docs/decisions/0027-new-paper.md."""

UNLIKE = 0.3
"""How the share that a blender carries off scatters between colorants (standard deviation of its
natural log, in proportion); calibrated on the simulated bench."""


def marker_leeway(
    fit: MarkerFit,
    recipe: Recipe,
    ground: Ground,
    used: tuple[int, ...],
    axes: FloatArray | None = None,
) -> Leeway:
    """Return what is left open of a recipe's color.

    Parameters
    ----------
    fit
        The markers on their paper.
    recipe, ground, used
        The recipe and what it is laid from, see `laydown.media.predicting`.
    axes
        Shape (m, 7 + colorants), along which effects and amounts are tried, each a standard
        deviation long; the principal ones where None.

    Returns
    -------
    Leeway
        As spectra, effects and amounts as the fit leaves them, the reference swatches' noise and
        fresh hand noise; besides, the instrument's noise and the model's misfit.
    """
    further = max(recipe.coats - 1, 0)
    misfit = misfit_at(fit.scale, misfit=fit.misfit) * further
    labels = [fit.colorants[place].label for place in used]
    alike = carried_alike(fit.carried, labels) | {("misfit", recipe.key): misfit**2}
    rest = (fit.measuring**2 + sum(alike.values())) * np.eye(3)
    spectra, names = tried_spectra(fit, recipe, ground, used, axes)
    return Leeway((spectra,), rest, (names,), alike)


def carried_alike(carried: frozenset[str], labels: Sequence[str]) -> dict[Name, float]:
    """Return what colorants carried over from another paper are off by, variances by name."""
    return {("carried", label): CARRIED**2 for label in labels if label in carried}


def marker_places(fit: MarkerFit, recipe: Recipe) -> list[int]:
    """Return where in the fit's covariance the parameters of a recipe stand."""
    return [*range(len(EFFECTS)), *(len(EFFECTS) + fit.index(c) for c in recipe.colorants)]


def tried_spectra(
    fit: MarkerFit,
    recipe: Recipe,
    ground: Ground,
    used: tuple[int, ...],
    axes: FloatArray | None = None,
) -> tuple[FloatArray, tuple[Name, ...]]:
    """Return a recipe's reflectance, then with each thing left open tried to either side.

    Returns
    -------
    tuple
        Shape (2 m + 1, 36): the middle, m offsets to one side, the same to the other; and the
        names of the m things.
    """
    steps = laid_steps(recipe)
    along = principal_axes(fit.covariance, marker_places(fit, recipe)) if axes is None else axes
    shapes = [_shapes(fit, place, ground.one_coat[i]) for i, place in enumerate(used)]
    offsets = _offsets(fit, steps, along, shapes)
    tried = _about(fit.effects, offsets, len(offsets.effects))
    spectra = np.asarray(fit.ceiling * relative_reflectance(steps, ground, tried))
    return spectra, _names(recipe, len(along), [len(rows) for rows in shapes])


def _names(recipe: Recipe, axes: int, shapes: Sequence[int]) -> tuple[Name, ...]:
    """Return the names of the things that `_offsets` tries, in its order.

    How much of what lies below shows through a coat is one thing for piles that are the same.
    """
    covered = [("covered", recipe.key[:n]) for n in range(1, len(recipe.steps) + 1)]
    return (
        *(("marker axis", n) for n in range(axes)),
        *(name for below in covered for name in (FRESH, below)),
        ("crowding",),
        *reference_names(recipe, shapes),
    )


def reference_names(recipe: Recipe, shapes: Sequence[int]) -> tuple[Name, ...]:
    """Return the names of what the references of a recipe's colorants may be off by."""
    return tuple(
        ("reference", colorant.label, n)
        for colorant, count in zip(recipe.colorants, shapes, strict=True)
        for n in range(count)
    )


def principal_axes(covariance: FloatArray, places: Sequence[int]) -> FloatArray:
    """Return the principal axes of some parameters, each a standard deviation long, one a row."""
    values, vectors = np.linalg.eigh(covariance[np.ix_(places, places)])
    return np.asarray((vectors * np.sqrt(np.maximum(values, 0.0))).T)


def _about(effects: FloatArray, offsets: Variants, count: int) -> Variants:
    """Return the middle, then every offset to one side, then every one to the other."""
    priors = usual_priors()
    steps, colorants = offsets.fresh.shape[1], offsets.amounts.shape[1]
    middle = unchanged(effects, steps=steps, colorants=colorants)

    def both(center: FloatArray, offset: FloatArray) -> FloatArray:
        return np.concatenate([center, center + offset, center - offset])

    lowest = np.minimum(priors.lowest, effects)
    highest = np.maximum(priors.highest, effects)
    return Variants(
        effects=np.clip(both(middle.effects, offsets.effects), lowest, highest),
        amounts=both(middle.amounts, offsets.amounts),
        fresh=both(middle.fresh, offsets.fresh),
        covered=both(middle.covered, offsets.covered),
        shapes=both(middle.shapes, offsets.shapes),
        crowding=both(middle.crowding, offsets.crowding),
    )


def _offsets(
    fit: MarkerFit, steps: tuple[LaidStep, ...], axes: FloatArray, shapes: Sequence[FloatArray]
) -> Variants:
    """Return a standard deviation of each thing left open, one a row."""
    e, u, s = len(EFFECTS), len(shapes), len(steps)
    count = len(axes) + 2 * s + 1 + sum(len(rows) for rows in shapes)
    offsets = unchanged(np.zeros(e), steps=s, colorants=u, count=count)
    offsets.effects[: len(axes)] = axes[:, :e]
    offsets.amounts[: len(axes)] = axes[:, e:]
    row = len(axes)
    for number, step in enumerate(steps):
        offsets.fresh[row, number] = fit.hand / np.sqrt(step.coats)
        offsets.covered[row + 1, number] = _scatter_below(fit, step) if number else 0.0
        row += 2
    offsets.crowding[row] = usual_priors().crowding_sd
    row += 1
    for place, rows in enumerate(shapes):
        offsets.shapes[row : row + len(rows), place] = rows
        row += len(rows)
    return offsets


def _scatter_below(fit: MarkerFit, step: LaidStep) -> float:
    """Return how the natural log of what lies below a step scatters from colorant to colorant."""
    carried_off = -np.log1p(-fit.effects[BLENDER]) if step.blender else 0.0
    return float(np.hypot(fit.cover, UNLIKE * carried_off) * step.coats)


def _shapes(fit: MarkerFit, place: int, one_coat: FloatArray) -> FloatArray:
    """Return what a reference's spectrum may be off by, in ln R, one shape a row."""
    if fit.blender[place]:
        return np.zeros((0, one_coat.shape[-1]))
    return reference_shapes(
        one_coat,
        ceiling=fit.ceiling,
        measuring=fit.measuring,
        xyz_only=bool(fit.xyz_only[place]),
    )
