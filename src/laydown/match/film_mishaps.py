"""What a recipe of pencils, of washes, or of several media would look like had it gone wrong.

The causes are those of `laydown.match.mishaps`; what they do is another thing here: a pencil is
pressed harder, a wash has more water in it, solvent is a step of its own.
"""

from collections.abc import Callable, Sequence
from dataclasses import replace
from itertools import permutations

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.color.lab import lab_from_reflectance
from laydown.errors import BadRecipeError
from laydown.match.mishaps import (
    FACTORS,
    KEPT,
    MOST_STEPS_SHUFFLED,
    OTHER,
    WETNESS,
    CauseKind,
    Outcomes,
)
from laydown.media.colorant import Colorant
from laydown.media.drying import wet_look
from laydown.media.film_constants import film_reflectance
from laydown.media.film_laying import film_steps, film_unchanged
from laydown.media.film_model import OWN, FilmFit
from laydown.media.film_predicting import film_ground, film_spectrum
from laydown.media.kit_fit import AnyFit, reflectance
from laydown.media.laydown import MOST_COATS, Medium, Pressure
from laydown.media.paper import Paper
from laydown.media.recipe import Recipe, Step, Tool, Treatment, TreatmentStep

Spectrum = Callable[[Recipe], FloatArray]
DILUTIONS = (0.0, 0.25, 0.5, 0.75)


def film_outcomes(fit: FilmFit, recipe: Recipe, papers: Sequence[Paper]) -> tuple[Outcomes, ...]:
    """Return the colors that each cause may give; see `laydown.match.mishaps.outcomes`.

    Parameters
    ----------
    fit
        Pencils, or washes, on the paper that was written down.
    recipe
        Of that medium; at least one step.
    papers
        Others that may have been taken.
    """

    def spectrum(other: Recipe) -> FloatArray:
        return film_spectrum(fit, other)

    found = (
        *_of_any_media(spectrum, recipe, [c for c in fit.colorants if not c.blender]),
        _amounts(fit, recipe, spectrum),
        _not_dry(fit, recipe, spectrum),
        _papers(fit, recipe, papers),
        _solvent(fit, recipe, spectrum),
    )
    return tuple(one for one in found if len(one.labs))


def mixed_outcomes(fit: AnyFit, recipe: Recipe) -> tuple[Outcomes, ...]:
    """Return what causes may give where media lie over each other: supply, order, coats."""

    def spectrum(other: Recipe) -> FloatArray:
        return reflectance(fit, other)

    others = [c for c in fit.colorants if not c.blender]
    found = (*_of_any_media(spectrum, recipe, others), _counts(spectrum, recipe))
    return tuple(one for one in found if len(one.labs))


def _of_any_media(
    spectrum: Spectrum, recipe: Recipe, colorants: Sequence[Colorant]
) -> tuple[Outcomes, ...]:
    as_noted = lab_from_reflectance(spectrum(recipe))[None]
    return (
        Outcomes(CauseKind.RECIPE, as_noted, ("the recipe gives just this",)),
        _supplies(spectrum, recipe, colorants),
        _orders(spectrum, recipe),
        Outcomes(CauseKind.OTHER, as_noted, (OTHER,)),
    )


def _told(kind: CauseKind, spectrum: Spectrum, recipes: Sequence[tuple[Recipe, str]]) -> Outcomes:
    """Predict recipes, leaving out those that can't be laid at all."""
    labs, details = [], []
    for recipe, words in recipes:
        try:
            labs.append(lab_from_reflectance(spectrum(recipe)))
        except BadRecipeError:
            continue
        details.append(words)
    return Outcomes(kind, np.array(labs).reshape(-1, 3), tuple(details))


def _supplies(spectrum: Spectrum, recipe: Recipe, colorants: Sequence[Colorant]) -> Outcomes:
    tried = [
        (
            _with_step(recipe, place, replace(step, colorant=other)),
            f"{other.name} was taken for {step.colorant.name}",
        )
        for place, step in _laid(recipe)
        if not step.mixed
        for other in colorants
        if other.label != step.colorant.label and other.medium is step.colorant.medium
    ]
    return _told(CauseKind.SUPPLY, spectrum, tried)


def _orders(spectrum: Spectrum, recipe: Recipe) -> Outcomes:
    steps = recipe.steps[:MOST_STEPS_SHUFFLED]
    shuffled = dict.fromkeys(Recipe(p + recipe.steps[len(steps) :]) for p in permutations(steps))
    tried = [
        (other, f"the order was {', then '.join(s.words for _, s in _laid(other))}")
        for other in shuffled
        if other != recipe
    ]
    return _told(CauseKind.ORDER, spectrum, tried)


def _counts(spectrum: Spectrum, recipe: Recipe) -> Outcomes:
    return _told(CauseKind.AMOUNT, spectrum, _miscounted(recipe))


def _miscounted(recipe: Recipe) -> list[tuple[Recipe, str]]:
    found = []
    for place, step in _laid(recipe):
        for change, words in ((-1, "one coat less"), (1, "one coat more")):
            coats = step.laydown.coats + change
            if 1 <= coats <= MOST_COATS:
                laid = replace(step, laydown=replace(step.laydown, coats=coats))
                found.append(
                    (_with_step(recipe, place, laid), f"there was {words} of {step.words}")
                )
    return found


def _amounts(fit: FilmFit, recipe: Recipe, spectrum: Spectrum) -> Outcomes:
    by_factor = _laid_by(fit, recipe, FACTORS)
    details = [
        f"all coats had {'about' if f > 1 else 'only about'} {f:.1f} of the usual color"
        for f in FACTORS
    ]
    told = _told(CauseKind.AMOUNT, spectrum, [*_miscounted(recipe), *_laid_otherwise(fit, recipe)])
    return Outcomes(
        CauseKind.AMOUNT,
        np.concatenate([by_factor, told.labs]),
        (*details, *told.details),
    )


def _laid_by(fit: FilmFit, recipe: Recipe, factors: FloatArray) -> FloatArray:
    """Return Lab (k, 3) of the recipe with so much of the usual amount in every coat."""
    used = [fit.index(colorant) for colorant in recipe.colorants]
    own = fit.own[used].reshape(len(used), len(OWN))
    tried = film_unchanged(fit.effects, own, steps=len(recipe.steps), count=len(factors))
    tried.fresh[:] = np.log(factors)[:, None]
    steps, ground = film_steps(recipe, fit.medium), film_ground(fit, recipe)
    return lab_from_reflectance(film_reflectance(steps, fit.medium, ground, tried))


def _laid_otherwise(fit: FilmFit, recipe: Recipe) -> list[tuple[Recipe, str]]:
    """Return the recipe with other pressure, or with more or less water in a step."""
    found = []
    for place, step in _laid(recipe):
        laid = step.laydown
        if fit.medium is Medium.PENCIL:
            ways = [(replace(laid, pressure=p), f"{p} pressure") for p in Pressure]
        else:
            ways = [(replace(laid, dilution=d), f"dilution {d:g}") for d in DILUTIONS]
        found += [
            (_with_step(recipe, place, replace(step, laydown=other)), f"{step.words} had {words}")
            for other, words in ways
            if other != laid
        ]
    return found


def _not_dry(fit: FilmFit, recipe: Recipe, spectrum: Spectrum) -> Outcomes:
    if fit.medium is not Medium.WASH:
        return Outcomes(CauseKind.NOT_DRY, np.zeros((0, 3)), ())
    dry = spectrum(recipe)
    labs = [lab_from_reflectance(wet_look(dry, wet=float(wet))) for wet in WETNESS]
    return Outcomes(
        CauseKind.NOT_DRY, np.array(labs), ("it was read before it was dry",) * len(labs)
    )


def _papers(fit: FilmFit, recipe: Recipe, papers: Sequence[Paper]) -> Outcomes:
    others = [p for p in papers if p.name != fit.paper.name and p.measured]
    labs = [lab_from_reflectance(film_spectrum(fit, recipe, p.reflectance)) for p in others]
    return Outcomes(
        CauseKind.PAPER,
        np.array(labs).reshape(-1, 3),
        tuple(f"the paper was {p.name}" for p in others),
    )


def _solvent(fit: FilmFit, recipe: Recipe, spectrum: Spectrum) -> Outcomes:
    """Return what solvent, water or burnishing may have done to the whole pile."""
    if fit.medium is Medium.WASH:
        details = tuple(f"water took up all but about {share:.1f} of it" for share in KEPT)
        return Outcomes(CauseKind.SOLVENT, _laid_by(fit, recipe, KEPT), details)
    tried = [
        (recipe.then(Recipe((TreatmentStep(treatment, tool),))), f"it met {treatment} by {tool}")
        for treatment in Treatment
        for tool in Tool
    ]
    return _told(CauseKind.SOLVENT, spectrum, tried)


def _laid(recipe: Recipe) -> list[tuple[int, Step]]:
    return [(place, step) for place, step in enumerate(recipe.steps) if isinstance(step, Step)]


def _with_step(recipe: Recipe, place: int, step: Step) -> Recipe:
    return Recipe((*recipe.steps[:place], step, *recipe.steps[place + 1 :]))
