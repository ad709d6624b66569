"""How sure a predicted color is: what the fit, the hand, the instrument and the model leave open.

Each thing left open is tried a standard deviation to either side, see `laydown.media.leeway`.
"""

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.media.layering import (
    Ground,
    LaidStep,
    Variants,
    misfit_at,
    relative_reflectance,
    unchanged,
)
from laydown.media.leeway import Leeway
from laydown.media.marker_model import MarkerFit
from laydown.media.priors import BLENDER, EFFECTS, usual_priors
from laydown.media.shapes import reference_shapes

CARRIED = 0.6
"""What a colorant carried over from another paper is off by beyond its amount [CIELAB units per
axis]; calibrated on simulated papers, see docs/decisions/0027-new-paper.md."""

UNLIKE = 0.3
"""How the share that a blender carries off scatters between colorants (standard deviation of its
natural log, in proportion); calibrated on the simulated bench."""


def marker_leeway(
    fit: MarkerFit, steps: tuple[LaidStep, ...], ground: Ground, used: tuple[int, ...]
) -> Leeway:
    """Return what is left open of a recipe's color.

    Parameters
    ----------
    fit
        The markers on their paper.
    steps, ground, used
        The recipe in numbers, see `laydown.media.layering`.

    Returns
    -------
    Leeway
        As spectra, effects and amounts as the fit leaves them, the reference swatches' noise and
        fresh hand noise; besides, the instrument's noise and the model's misfit.
    """
    further = max(sum(step.coats for step in steps) - 1, 0)
    misfit = misfit_at(fit.scale, misfit=fit.misfit) * further
    over = sum(fit.colorants[place].label in fit.carried for place in used)
    plain = fit.measuring**2 + misfit**2 + CARRIED**2 * over
    return Leeway((tried_spectra(fit, steps, ground, used),), plain * np.eye(3))


def tried_spectra(
    fit: MarkerFit, steps: tuple[LaidStep, ...], ground: Ground, used: tuple[int, ...]
) -> FloatArray:
    """Return a recipe's reflectance, then with each thing left open tried to either side.

    Returns
    -------
    FloatArray
        Shape (2 m + 1, 36): the middle, m offsets to one side, the same to the other.
    """
    offsets = _offsets(fit, steps, ground, used)
    tried = _about(fit.effects, offsets, len(offsets.effects))
    return np.asarray(fit.ceiling * relative_reflectance(steps, ground, tried))


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
    fit: MarkerFit, steps: tuple[LaidStep, ...], ground: Ground, used: tuple[int, ...]
) -> Variants:
    """Return a standard deviation of each thing left open, one a row."""
    e, u, s = len(EFFECTS), len(used), len(steps)
    axes = _axes(fit, used)
    shapes = [_shapes(fit, place, ground.one_coat[i]) for i, place in enumerate(used)]
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


def _axes(fit: MarkerFit, used: tuple[int, ...]) -> FloatArray:
    """Return the principal axes of effects and amounts, each a standard deviation long."""
    places = [*range(len(EFFECTS)), *(len(EFFECTS) + place for place in used)]
    values, vectors = np.linalg.eigh(fit.covariance[np.ix_(places, places)])
    return np.asarray((vectors * np.sqrt(np.maximum(values, 0.0))).T)


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
