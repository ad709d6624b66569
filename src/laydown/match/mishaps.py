"""What a recipe would look like had something gone wrong: each cause by the colors it gives."""

import csv
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from enum import StrEnum
from functools import cache, partial
from importlib.resources import files
from itertools import permutations
from typing import TypeAlias

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.color.lab import lab_from_reflectance
from laydown.errors import BadRecipeError
from laydown.media.film.drying import saunderson, wet_look
from laydown.media.film.model import FilmFit
from laydown.media.inference.fit import Fit
from laydown.media.kit.fit import AnyFit, reflectance
from laydown.media.laydown import MOST_COATS, Pressure
from laydown.media.marker.model import MarkerFit, ground_of
from laydown.media.marker.pile import absorption, inverse, laid_steps, relative_reflectance
from laydown.media.recipe import (
    Colorant,
    Medium,
    Paper,
    Recipe,
    Step,
    Tool,
    Treatment,
    TreatmentStep,
)

# What a recipe would look like had something gone wrong: each cause as a set of colors it gives.
#
# A cause is not one color but many: which colorant was taken instead, how much too much was laid.
# Each is a point, and the usual scatter of a patch lies about every point.

FACTORS = np.array([0.35, 0.45, 0.55, 0.65, 0.75, 0.85, 1.2, 1.4, 1.6, 1.9, 2.3])
"""What an amount may be multiplied by where a slip is to be seen."""
KEPT = np.array([0.25, 0.4, 0.55, 0.7, 0.8, 0.9])
"""What solvent may leave of a pile."""
WETNESS = np.array([0.3, 0.6, 1.0])
"""How far a patch that is read wet is on the way to a smooth wet surface."""
EXTERNAL, INTERNAL = 0.02, 0.4
"""Surface of a wet paper, rougher than a smooth film's 0.04 and 0.6 (chosen, no source)."""
MOST_STEPS_SHUFFLED = 4
OTHER = "it is none of the usual causes"


class CauseKind(StrEnum):
    """What may have gone wrong."""

    RECIPE = "recipe"
    AMOUNT = "amount"
    SUPPLY = "supply"
    ORDER = "order"
    NOT_DRY = "not dry"
    PAPER = "paper"
    SOLVENT = "solvent"
    OTHER = "something else"


Outcomes: TypeAlias = tuple[FloatArray, tuple[str, ...]]
"""Colors that a cause may give, shape (k, 3), and for each, what exactly would have happened, as
the end of “Perhaps …”."""
ByCause: TypeAlias = Mapping[CauseKind, Outcomes]
Spectrum = Callable[[Recipe], FloatArray]


@cache
def mishap_priors() -> dict[CauseKind, float]:
    """Return how likely each cause is before anything is known of a trial."""
    text = (files("laydown.reference") / "mishap_priors.csv").read_text(encoding="utf-8")
    rows = csv.DictReader(text.splitlines())
    return {CauseKind(row["name"]): float(row["prior"]) for row in rows}


def outcomes(fit: MarkerFit, recipe: Recipe, papers: Sequence[Paper]) -> ByCause:
    """Return the colors that each cause may give, causes that can't be left out.

    `fit`: the markers on the paper that was written down. `recipe`: as it was written down; at
    least one step. `papers`: other papers that may have been taken instead.
    """
    spectrum = partial(reflectance, fit)
    return {
        **_of_any_media(spectrum, recipe, fit.colorants),
        CauseKind.AMOUNT: _amounts(fit, recipe, spectrum),
        CauseKind.NOT_DRY: _marker_not_dry(fit, recipe),
        CauseKind.PAPER: _marker_papers(fit, recipe, papers),
        CauseKind.SOLVENT: _marker_solvent(fit, recipe),
    }


def _amounts(
    fit: Fit, recipe: Recipe, spectrum: Spectrum, otherwise: Sequence[tuple[Recipe, str]] = ()
) -> Outcomes:
    """Return what `FACTORS` of the usual amount give, then what else may have been laid."""
    labs, words = _told(spectrum, [*_miscounted(recipe), *otherwise])
    by_factor = _laid_by(fit, recipe, FACTORS)
    return np.concatenate([by_factor, labs]), (*map(_amount_in_words, FACTORS), *words)


def _laid_by(fit: Fit, recipe: Recipe, factors: FloatArray, *, first: int = 0) -> FloatArray:
    """Return Lab (k, 3) of a recipe with so much of the usual amount, from a step on."""
    tried = fit.usual(recipe, count=len(factors))
    tried.fresh[:, first : len(recipe.steps)] = np.log(factors)[:, None]
    return lab_from_reflectance(fit.forward(recipe).reflect(tried))


def _amount_in_words(factor: float) -> str:
    """Say a factor as one would at the table; the number itself is no better known than that."""
    bounds = ((0.4, "a third of"), (0.6, "half"), (0.8, "two thirds of"))
    if factor < 1.0:
        return next((f"you laid about {w} the usual color" for b, w in bounds if factor < b),
                    "you laid a little less color than usual")  # fmt: skip
    if factor < 1.3:
        return "you laid a little more color than usual"
    return f"you laid {'half as much again as' if factor < 1.8 else 'about twice'} the usual color"


def _share_in_words(share: float) -> str:
    """Say how much is gone where so much is left."""
    bounds = ((0.35, "most"), (0.65, "about half"), (0.85, "some"))
    return next((words for bound, words in bounds if share < bound), "a little")


def _marker_not_dry(fit: MarkerFit, recipe: Recipe) -> Outcomes:
    spectrum = fit.reflectance(recipe)
    wet = saunderson(np.minimum(spectrum, 1.0), external=EXTERNAL, internal=INTERNAL,
                     specular=False)  # fmt: skip
    read_wet = spectrum + WETNESS[:, None] * (wet - spectrum)
    labs = [lab_from_reflectance(read_wet)]
    details = ["it was read before it was dry"] * len(WETNESS)
    if len(recipe.steps) > 1:
        labs.append(_laid_by(fit, recipe, FACTORS, first=1))
        details += ["a coat was laid before the one below was dry"] * len(FACTORS)
    return np.concatenate(labs), tuple(details)


def _marker_papers(fit: MarkerFit, recipe: Recipe, papers: Sequence[Paper]) -> Outcomes:
    white, others = fit.paper, [p for p in papers if p.name != fit.paper.name and p.measured]
    slope = np.linspace(-1.0, 0.0, len(white.reflectance))
    # grayer, yellower and grayer yellower papers than this
    tints = [-gray + yellow * slope for gray in (0.0, 0.12) for yellow in (0.0, 0.15, 0.35)][1:]
    unknown = [white.reflectance * np.exp(tint) for tint in tints]
    labs = [_on(fit, recipe, seen) for seen in (*(p.reflectance for p in others), *unknown)]
    words = [f"the paper was {p.name}" for p in others]
    words += ["it was a different paper, one you haven’t told me of"] * len(unknown)
    return np.array(labs), tuple(words)


def _on(fit: MarkerFit, recipe: Recipe, reflectance: FloatArray) -> FloatArray:
    """Return the Lab of a recipe on another paper that takes color as this one does."""
    *_, used = ground_of(fit, recipe)
    paper = np.minimum(reflectance / fit.ceiling, 1.0)
    bare = absorption(paper, scale=fit.scale)
    coats = inverse(bare + fit.absorption[list(used)], scale=fit.scale)
    laid = relative_reflectance(laid_steps(recipe), paper, coats, fit.usual(recipe))
    return lab_from_reflectance(fit.ceiling * laid[0])


def _marker_solvent(fit: MarkerFit, recipe: Recipe) -> Outcomes:
    """Return what is left where solvent has taken a share of the pile, from the top down."""
    paper, *_ = ground_of(fit, recipe)
    bare = absorption(paper, scale=fit.scale)
    laid = absorption(fit.reflectance(recipe) / fit.ceiling, scale=fit.scale) - bare
    left = inverse(bare + KEPT[:, None] * laid, scale=fit.scale)
    labs = [lab_from_reflectance(fit.ceiling * left)]
    details = [f"solvent took {_share_in_words(share)} of it away" for share in KEPT]
    if len(recipe.steps) > 1:
        tried = fit.usual(recipe, count=len(KEPT))
        tried.covered[:, 1:] = np.log(KEPT)[:, None]
        labs.append(lab_from_reflectance(fit.forward(recipe).reflect(tried)))
        details += [f"solvent took {_share_in_words(share)} of what lay below" for share in KEPT]
    return np.concatenate(labs), tuple(details)


def _laid(recipe: Recipe) -> list[tuple[int, Step]]:
    return [(place, step) for place, step in enumerate(recipe.steps) if isinstance(step, Step)]


def _with_step(recipe: Recipe, place: int, step: Step) -> Recipe:
    return Recipe((*recipe.steps[:place], step, *recipe.steps[place + 1 :]))


# What a recipe of pencils, of washes, or of several media would look like had it gone wrong.
#
# The causes are those of `laydown.match.mishaps`; what they do is another thing here: a pencil is
# pressed harder, a wash has more water in it, solvent is a step of its own.

DILUTIONS = (0.0, 0.25, 0.5, 0.75)


def film_outcomes(fit: FilmFit, recipe: Recipe, papers: Sequence[Paper]) -> ByCause:
    """Return the colors that each cause may give; see `laydown.match.mishaps.outcomes`.

    `fit`: pencils, or washes, on the paper that was written down. `recipe`: of that medium; at
    least one step. `papers`: others that may have been taken.
    """
    spectrum = fit.reflectance
    others = [p for p in papers if p.name != fit.paper.name and p.measured]
    labs = [lab_from_reflectance(fit.lay(recipe, paper.reflectance)) for paper in others]
    on_others = tuple(f"the paper was {paper.name}" for paper in others)
    return {
        **_of_any_media(spectrum, recipe, fit.colorants),
        CauseKind.AMOUNT: _amounts(fit, recipe, spectrum, _laid_otherwise(fit, recipe)),
        CauseKind.NOT_DRY: _film_not_dry(fit, recipe),
        CauseKind.PAPER: (np.array(labs).reshape(-1, 3), on_others),
        CauseKind.SOLVENT: _film_solvent(fit, recipe),
    }


def mixed_outcomes(fit: AnyFit, recipe: Recipe) -> ByCause:
    """Return what causes may give where media lie over each other: supply, order, coats."""
    spectrum = partial(reflectance, fit)
    counts = _told(spectrum, _miscounted(recipe))
    return {**_of_any_media(spectrum, recipe, fit.colorants), CauseKind.AMOUNT: counts}


def _of_any_media(spectrum: Spectrum, recipe: Recipe, colorants: Sequence[Colorant]) -> ByCause:
    as_noted = lab_from_reflectance(spectrum(recipe))[None]
    return {
        CauseKind.RECIPE: (as_noted, ("the recipe gives just this",)),
        CauseKind.SUPPLY: _supplies(spectrum, recipe, colorants),
        CauseKind.ORDER: _orders(spectrum, recipe),
        CauseKind.OTHER: (as_noted, (OTHER,)),
    }


def _told(spectrum: Spectrum, recipes: Sequence[tuple[Recipe, str]]) -> Outcomes:
    """Predict recipes, leaving out those that can't be laid at all."""
    labs, details = [], []
    for recipe, words in recipes:
        try:
            labs.append(lab_from_reflectance(spectrum(recipe)))
        except BadRecipeError:
            continue
        details.append(words)
    return np.array(labs).reshape(-1, 3), tuple(details)


def _supplies(spectrum: Spectrum, recipe: Recipe, colorants: Sequence[Colorant]) -> Outcomes:
    tried = [
        (
            _with_step(recipe, place, replace(step, colorant=other)),
            f"{other.name} was taken for {step.colorant.name}",
        )
        for place, step in _laid(recipe)
        if not step.mixed
        for other in colorants
        if not other.blender
        if other.label != step.colorant.label and other.medium is step.colorant.medium
    ]
    return _told(spectrum, tried)


def _orders(spectrum: Spectrum, recipe: Recipe) -> Outcomes:
    steps = recipe.steps[:MOST_STEPS_SHUFFLED]
    shuffled = dict.fromkeys(Recipe(p + recipe.steps[len(steps) :]) for p in permutations(steps))
    tried = [
        (other, f"the order was {', then '.join(s.words for _, s in _laid(other))}")
        for other in shuffled
        if other != recipe
    ]
    return _told(spectrum, tried)


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


def _film_not_dry(fit: FilmFit, recipe: Recipe) -> Outcomes:
    if fit.medium is not Medium.WASH:
        return np.zeros((0, 3)), ()
    dry = fit.reflectance(recipe)
    labs = [lab_from_reflectance(wet_look(dry, wet=float(wet))) for wet in WETNESS]
    return np.array(labs), ("it was read before it was dry",) * len(labs)


def _film_solvent(fit: FilmFit, recipe: Recipe) -> Outcomes:
    """Return what solvent, water or burnishing may have done to the whole pile."""
    if fit.medium is Medium.WASH:
        details = tuple(f"water took {_share_in_words(share)} of it up again" for share in KEPT)
        return _laid_by(fit, recipe, KEPT), details
    steps = [TreatmentStep(treatment, tool) for treatment in Treatment for tool in Tool]
    tried = [(recipe.then(Recipe((step,))), f"it met {step.words}") for step in steps]
    return _told(fit.reflectance, tried)
