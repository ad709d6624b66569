"""How sure a predicted color is: what fit, hand, instrument and model leave open."""

from collections.abc import Sequence

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.color.lab import lab_from_reflectance
from laydown.media.colorant import Colorant
from laydown.media.marker.absorption import inverse
from laydown.media.marker.model import MarkerFit
from laydown.media.marker.pile import (
    Ground,
    LaidStep,
    Variants,
    laid_steps,
    misfit_at,
    relative_reflectance,
    unchanged,
)
from laydown.media.marker.priors import BLENDER, EFFECTS, usual_priors
from laydown.media.marker.references import words_laid
from laydown.media.marker.shapes import FRESH, Leeway, Name, reference_shapes
from laydown.media.prediction import Prediction
from laydown.media.recipe import Recipe

# How sure a predicted color is: what the fit, the hand, the instrument and the model leave open.
#
# Each thing left open is tried a standard deviation to either side, see
# `laydown.media.marker.shapes`.

CARRIED = 0.6
"""What a colorant carried over from another paper is off by beyond its amount [CIELAB units per
axis]; calibrated on simulated papers, see docs/decisions/light-and-layers.md."""

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
        The recipe and what it is laid from, see `laydown.media.marker.predicting`.
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
