"""What a fit of pencils or washes says of a recipe: its color, how sure that is, its limits."""

from collections.abc import Sequence

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.color.lab import lab_from_reflectance
from laydown.media.film.constants import constants, film_reflectance
from laydown.media.film.fitting import is_wet
from laydown.media.film.laying import (
    FilmGround,
    FilmPile,
    FilmStep,
    FilmVariants,
    film_steps,
    film_unchanged,
    lay_films,
    matters,
)
from laydown.media.film.model import GUESSED, OWN, FilmFit, film_priors
from laydown.media.marker.predicting import carried_alike, principal_axes, reference_names
from laydown.media.marker.shapes import FRESH, SEEN_SHAPES, Leeway, Name, reference_shapes
from laydown.media.prediction import Prediction
from laydown.media.recipe import Recipe, Step


def film_ground(fit: FilmFit, recipe: Recipe, below: FloatArray | None = None) -> FilmGround:
    """Return the ground of a recipe and the references of its colorants.

    Raises
    ------
    NotMeasuredError
        For a colorant that was not swatched on this paper.
    """
    used = [fit.index(colorant) for colorant in recipe.colorants]
    return FilmGround(
        below=fit.paper.reflectance if below is None else below,
        paper=fit.paper.reflectance,
        references=fit.references[np.array(used, dtype=np.int64)],
        laydowns=tuple(fit.reference_laydowns[i] for i in used),
    )


def _middle(fit: FilmFit, recipe: Recipe) -> FilmVariants:
    used = [fit.index(colorant) for colorant in recipe.colorants]
    own = fit.own[used].reshape(len(used), len(OWN))
    return film_unchanged(fit.effects, own, steps=len(recipe.steps))


def film_spectrum(fit: FilmFit, recipe: Recipe, below: FloatArray | None = None) -> FloatArray:
    """Return a recipe's reflectance, shape (36,), on the paper or on another ground."""
    if not recipe.steps:
        return np.array(fit.paper.reflectance if below is None else below)
    steps = film_steps(recipe, fit.medium)
    ground = film_ground(fit, recipe, below)
    return np.asarray(film_reflectance(steps, fit.medium, ground, _middle(fit, recipe))[0])


def film_pile(fit: FilmFit, recipe: Recipe) -> FilmPile:
    """Return what a recipe lays, whatever it lies on."""
    steps, middle = film_steps(recipe, fit.medium), _middle(fit, recipe)
    k, s = constants(film_ground(fit, recipe), fit.medium, middle)
    return lay_films(steps, fit.medium, k, s, middle)


def film_offsets(
    fit: FilmFit,
    recipe: Recipe,
    below: FloatArray | None = None,
    *,
    share: float = 1.0,
    axes: FloatArray | None = None,
) -> tuple[FloatArray, tuple[Name, ...]]:
    """Return what moves a recipe's color, a standard deviation each, to either side.

    Parameters
    ----------
    fit
        The colorants on their paper.
    recipe
        Of that medium.
    below
        Shape (36,), what it lies on; the bare paper where None.
    share
        What is left of it.
    axes
        Shape (n, parameters of the recipe), along which those are tried, see `film_places`; the
        principal ones where None.

    Returns
    -------
    tuple
        Shape (2 m + 1, 36): the prediction, then each of the m things left open (effects and the
        colorants' own numbers by axes, the hand at each step, the references' spectra) tried one
        standard deviation to one side, then each to the other; and the names of the m things.
    """
    ground = film_ground(fit, recipe, below)
    if not recipe.steps:
        return np.asarray(ground.below[None]), ()
    steps, shapes = film_steps(recipe, fit.medium), reference_doubts(fit, recipe)
    along = principal_axes(fit.covariance, film_places(fit, recipe)) if axes is None else axes
    tried = _tried(fit, recipe, steps, along, shapes)
    names: tuple[Name, ...] = (
        *((f"{fit.medium} axis", n) for n in range(len(along))),
        *(FRESH for _ in steps),
        *reference_names(recipe, [len(rows) for rows in shapes]),
    )
    return film_reflectance(steps, fit.medium, ground, tried, alike=3, share=share), names


def film_places(fit: FilmFit, recipe: Recipe) -> list[int]:
    """Return where in the fit's covariance the parameters stand that a recipe's color rests on."""
    asked, e, m = _asked(fit, recipe), len(fit.effects), len(OWN)
    return asked + [e + m * fit.index(c) + j for c in recipe.colorants for j in range(m)]


def _asked(fit: FilmFit, recipe: Recipe) -> list[int]:
    priors = film_priors(fit.medium)
    asked = matters(priors, film_steps(recipe, fit.medium), fit.medium)
    return [i for i, name in enumerate(priors.names) if name in asked]


def _tried(
    fit: FilmFit,
    recipe: Recipe,
    steps: Sequence[FilmStep],
    axes: FloatArray,
    shapes: Sequence[FloatArray],
) -> FilmVariants:
    """Return the middle, then every offset to one side, then every one to the other."""
    middle, places = _middle(fit, recipe), _asked(fit, recipe)
    e, m, u, count = len(fit.effects), len(OWN), middle.own.shape[1], len(places)
    offsets = film_unchanged(
        np.zeros(e),
        np.zeros((u, m)),
        steps=len(steps),
        count=len(axes) + len(steps) + sum(len(rows) for rows in shapes),
    )
    offsets.effects[: len(axes), places] = axes[:, :count]
    offsets.own[: len(axes)] = axes[:, count:].reshape(-1, u, m)
    row = len(axes)
    for number, step in enumerate(steps):
        coats = step.laydown.coats if step.laydown else 1
        offsets.fresh[row + number, number] = fit.hand / np.sqrt(coats)
    row += len(steps)
    for place, rows in enumerate(shapes):
        offsets.shapes[row : row + len(rows), place] = rows
        row += len(rows)
    return _both_sides(fit, middle, offsets)


def _both_sides(fit: FilmFit, middle: FilmVariants, offsets: FilmVariants) -> FilmVariants:
    priors = film_priors(fit.medium)
    low = np.minimum(priors.lowest, fit.effects)
    high = np.maximum(priors.highest, fit.effects)

    def both(center: FloatArray, offset: FloatArray) -> FloatArray:
        return np.concatenate([center, center + offset, center - offset])

    return FilmVariants(
        np.clip(both(middle.effects, offsets.effects), low, high),
        both(middle.own, offsets.own),
        both(middle.fresh, offsets.fresh),
        both(middle.shapes, offsets.shapes),
    )


def reference_doubts(fit: FilmFit, recipe: Recipe) -> list[FloatArray]:
    """Return, by colorant, what its reference's spectrum may be off by, in ln R, a shape a row."""
    ground = film_ground(fit, recipe)
    used = [fit.index(colorant) for colorant in recipe.colorants]
    return [
        _doubts(seen, fit.measuring, float(fit.xyz_only[place]))
        for seen, place in zip(ground.references, used, strict=True)
    ]


def _doubts(seen: FloatArray, measuring: float, left: float) -> FloatArray:
    shapes = reference_shapes(
        np.clip(seen, 1e-4, None),
        ceiling=np.ones(seen.shape[-1]),
        measuring=measuring,
        xyz_only=left > 0.0,
    )
    shapes[SEEN_SHAPES:] *= GUESSED * left
    return shapes


def film_leeway(fit: FilmFit, recipe: Recipe, axes: FloatArray | None = None) -> Leeway:
    """Return what is left open of a recipe's color, as one hand lays it once."""
    alike = carried_alike(fit.carried, [colorant.label for colorant in recipe.colorants])
    alike |= {("misfit", recipe.key): fit.misfit**2 * len(recipe.steps)}
    rest = (fit.measuring**2 + sum(alike.values())) * np.eye(3)
    spectra, names = film_offsets(fit, recipe, axes=axes)
    return Leeway((spectra,), rest, (names,), alike)


def film_outside(fit: FilmFit, recipe: Recipe) -> tuple[str, ...]:
    """Say in what ways a recipe lies outside what the fit was made from.

    Returns
    -------
    tuple of str
        A sentence for each colorant that wasn't swatched on this paper or was carried over to it,
        each treatment, pressure or dilution that no swatch shows, wet in wet, more coats than were
        swatched or than the paper bears. Empty inside.
    """
    known = {(c.range, c.name) for c in fit.colorants}
    paper = fit.paper.name
    said = [
        f"{c.name} has not been swatched on {paper}."
        for c in recipe.colorants
        if (c.range, c.name) not in known
    ]
    carried = [c.name for c in recipe.colorants if c.label in fit.carried]
    if carried:
        said.append(f"Carried over from another paper, not measured on {paper}: {carried[0]}.")
    said += _untold(fit, recipe)
    if is_wet(recipe):
        said.append("Wet in wet is outside the model: how washes run into each other is chance.")
    coats: dict[str, int] = {}
    for step in recipe.steps:
        if isinstance(step, Step) and not step.mixed:
            coats[step.words] = coats.get(step.words, 0) + step.laydown.coats
    most = int(fit.most_coats.max(initial=1.0))
    said += [
        f"{n} coats of {c}: at most {most} were swatched." for c, n in coats.items() if n > most
    ]
    if recipe.coats > fit.paper.coats_limit:
        said.append(f"{recipe.coats} coats in all: {paper} bears {fit.paper.coats_limit}.")
    return tuple(said)


def _untold(fit: FilmFit, recipe: Recipe) -> list[str]:
    asked = matters(film_priors(fit.medium), film_steps(recipe, fit.medium), fit.medium) - fit.told
    words = {
        "light": "a light pressure",
        "heavy": "a heavy pressure",
        "water": "diluting",
    }
    said = [
        f"No swatch tells what {words[name]} does on {fit.paper.name}: it is assumed."
        for name in sorted(asked)
        if name in words
    ]
    treated = sorted({name.rpartition(" ")[0] for name in asked if " by " in name})
    said += [
        f"No swatch tells what {name} does on {fit.paper.name}: it is assumed." for name in treated
    ]
    return said


def film_predict(fit: FilmFit, recipe: Recipe) -> Prediction:
    """Predict a recipe's color and how sure it is; see `laydown.media.film.pencil`."""
    spectrum = film_spectrum(fit, recipe)
    return Prediction(
        recipe=recipe,
        reflectance=spectrum,
        lab=lab_from_reflectance(spectrum),
        covariance=film_leeway(fit, recipe).covariance(),
        warnings=film_outside(fit, recipe),
    )
