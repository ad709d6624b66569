"""A recipe restated for another hand: the same colorants in order, laid as mine must be."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import product

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.color.difference import ciede2000
from laydown.color.lab import lab_from_reflectance
from laydown.media.film_predicting import film_spectrum
from laydown.media.kit_fit import MediumFit
from laydown.media.laydown import Laydown, Medium, Pressure, Stroke
from laydown.media.marker_model import MarkerFit
from laydown.media.predicting import predict_lab
from laydown.media.recipe import AnyStep, Recipe, Step
from laydown.reference.thresholds import thresholds

COATS = (1, 2, 3, 4)
STROKES = (Stroke.EVEN, Stroke.QUICK, Stroke.SOAKED)
NUMBERS = {1: "one", 2: "two", 3: "three", 4: "four"}
PRESSURES = {Pressure.MEDIUM: "", Pressure.LIGHT: "light ", Pressure.HEAVY: "heavy "}
WATER = {0.0: "", 0.5: "half water", 0.75: "three quarters water"}
QUALITY = {Stroke.EVEN: "", Stroke.QUICK: "light ", Stroke.SOAKED: "soaked "}


@dataclass(frozen=True, slots=True, eq=False)
class Restated:
    """A recipe of someone else's in one's own hand.

    Parameters
    ----------
    theirs, mine
        What they lay, and what comes nearest to it by one's own hand.
    as_written, off
        How far (CIEDE2000) one would be from their color by their recipe, and by one's own.
    words
        Step by step: “where they lay one coat of Kelp, lay two light ones”.
    """

    theirs: Recipe
    mine: Recipe
    as_written: float
    off: float
    words: tuple[str, ...]


def restate(recipe: Recipe, *, theirs: MediumFit, mine: MediumFit) -> Restated:
    """Find how to lay someone else's recipe so that their color comes out.

    Parameters
    ----------
    recipe
        Theirs: steps of one medium.
    theirs
        The fit of their swatches.
    mine
        The fit of one's own, on the same paper, with all colorants of the recipe.

    Returns
    -------
    Restated
        Over one to four coats and all strokes, pressures or dilutions of each step the nearest; the
        recipe as it stands unless another is noticeably nearer.
    """
    wanted = _labs(theirs, [recipe])[0]
    options = [recipe, *_ways(recipe)]
    far = ciede2000(_labs(mine, options), wanted)
    effort = np.array([_effort(option, recipe) for option in options])
    best = int(np.lexsort((effort, np.round(far, 6)))[0])
    enough = far <= far[best] + 0.5 * thresholds()["noticeable"]
    chosen = int(min(np.flatnonzero(enough), key=lambda i: (effort[i], far[i])))
    if far[0] <= far[chosen] + thresholds()["noticeable"]:
        chosen = 0
    own = options[chosen]
    return Restated(recipe, own, float(far[0]), float(far[chosen]), _words(recipe, own))


def _labs(fit: MediumFit, recipes: Sequence[Recipe]) -> FloatArray:
    if isinstance(fit, MarkerFit):
        return predict_lab(fit, recipes)
    return lab_from_reflectance(np.array([film_spectrum(fit, recipe) for recipe in recipes]))


def _ways(recipe: Recipe) -> list[Recipe]:
    few = sum(isinstance(step, Step) for step in recipe.steps) > 2
    each: list[list[AnyStep]] = [
        [*_ways_of(s, few=few)] if isinstance(s, Step) else [s] for s in recipe.steps
    ]
    return [Recipe(steps) for steps in product(*each)]


def _ways_of(step: Step, *, few: bool) -> list[Step]:
    coats = COATS[:3] if few else COATS
    return [
        replace(step, laydown=replace(laid, coats=count))
        for count, laid in product(coats, _touches(step))
    ]


def _touches(step: Step) -> list[Laydown]:
    """Return the ways to lay one coat of a step's medium."""
    laid = step.laydown
    if step.colorant.medium is Medium.PENCIL:
        return [replace(laid, pressure=pressure) for pressure in PRESSURES]
    if step.colorant.medium is Medium.WASH:
        return [replace(laid, dilution=d) for d in sorted({*WATER, laid.dilution})]
    return [replace(laid, stroke=stroke) for stroke in STROKES]


def _effort(option: Recipe, recipe: Recipe) -> float:
    """Return how many coats an option has, and how many are touched otherwise than theirs."""
    pairs = zip(option.steps, recipe.steps, strict=True)
    return option.coats + 0.5 * sum(_touch(a) != _touch(b) for a, b in pairs)


def _touch(step: AnyStep) -> Laydown | None:
    return replace(step.laydown, coats=1) if isinstance(step, Step) else None


def _words(theirs: Recipe, mine: Recipe) -> tuple[str, ...]:
    said = []
    for a, b in zip(theirs.steps, mine.steps, strict=True):
        if isinstance(a, Step) and isinstance(b, Step) and a != b:
            said.append(
                f"Where they lay {_coats(a.laydown)} of {a.colorant.name}, lay "
                f"{_coats(b.laydown, short=True)}."
            )
    return tuple(said) or ("Lay it as they do.",)


def _coats(laid: Laydown, *, short: bool = False) -> str:
    """Write “one coat”, or, where coats are understood, “two light ones”.

    Examples
    --------
    >>> _coats(Laydown(2, Stroke.QUICK), short=True), _coats(Laydown())
    ('two light ones', 'one coat')
    """
    many, quality = laid.coats != 1, _quality(laid)
    noun = ("ones" if many else "one") if short else ("coats" if many else "coat")
    number = NUMBERS.get(laid.coats, str(laid.coats))
    water = f" with {WATER[laid.dilution]}" if WATER.get(laid.dilution) else ""
    if short and not quality:
        return (number if many else "one even coat") + water
    if short and not many:
        return f"one {quality}coat{water}"
    return f"{number} {quality}{noun}{water}"


def _quality(laid: Laydown) -> str:
    return QUALITY[laid.stroke] or PRESSURES[laid.pressure]


def restate_all(
    recipes: Sequence[Recipe], *, theirs: MediumFit, mine: MediumFit
) -> tuple[Restated, ...]:
    """Restate several recipes; see `restate`."""
    return tuple(restate(recipe, theirs=theirs, mine=mine) for recipe in recipes)
