"""A recipe restated for another hand: the same colorants in order, laid as mine must be."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import product

import numpy as np

from laydown.color.difference import ciede2000
from laydown.media.laydown import Laydown, Stroke
from laydown.media.marker_model import MarkerFit
from laydown.media.predicting import predict_lab
from laydown.media.recipe import Recipe, Step
from laydown.reference.thresholds import thresholds

COATS = (1, 2, 3, 4)
STROKES = (Stroke.EVEN, Stroke.QUICK, Stroke.SOAKED)
NUMBERS = {1: "one", 2: "two", 3: "three", 4: "four"}
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


def restate(recipe: Recipe, *, theirs: MarkerFit, mine: MarkerFit) -> Restated:
    """Find how to lay someone else's recipe so that their color comes out.

    Parameters
    ----------
    recipe
        Theirs: steps of markers.
    theirs
        The fit of their swatches.
    mine
        The fit of one's own, on the same paper, with all colorants of the recipe.

    Returns
    -------
    Restated
        Over one to four coats and all strokes of each step the nearest; the recipe as it stands
        unless another is noticeably nearer.
    """
    wanted = predict_lab(theirs, [recipe])[0]
    options = [recipe, *_ways(recipe)]
    far = ciede2000(predict_lab(mine, options), wanted)
    effort = np.array([_effort(option, recipe) for option in options])
    best = int(np.lexsort((effort, np.round(far, 6)))[0])
    enough = far <= far[best] + 0.5 * thresholds()["noticeable"]
    chosen = int(min(np.flatnonzero(enough), key=lambda i: (effort[i], far[i])))
    if far[0] <= far[chosen] + thresholds()["noticeable"]:
        chosen = 0
    own = options[chosen]
    return Restated(recipe, own, float(far[0]), float(far[chosen]), _words(recipe, own))


def _ways(recipe: Recipe) -> list[Recipe]:
    laid = [step for step in recipe.steps if isinstance(step, Step)]
    each = [_ways_of(step, few=len(laid) > 2) for step in laid]
    return [Recipe(steps) for steps in product(*each)]


def _ways_of(step: Step, *, few: bool) -> list[Step]:
    coats = COATS[:3] if few else COATS
    return [
        replace(step, laydown=replace(step.laydown, coats=count, stroke=stroke))
        for count, stroke in product(coats, STROKES)
    ]


def _effort(option: Recipe, recipe: Recipe) -> float:
    """Return how many coats an option has, and how many strokes other than theirs."""
    strokes = [_stroke(a) != _stroke(b) for a, b in zip(option.steps, recipe.steps, strict=True)]
    return option.coats + 0.5 * sum(strokes)


def _stroke(step: object) -> Stroke:
    return step.laydown.stroke if isinstance(step, Step) else Stroke.EVEN


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
    many = laid.coats != 1
    noun = ("ones" if many else "one") if short else ("coats" if many else "coat")
    number = NUMBERS.get(laid.coats, str(laid.coats))
    if short and not QUALITY[laid.stroke]:
        return number if many else "one even coat"
    if short and not many:
        return f"one {QUALITY[laid.stroke]}coat"
    return f"{number} {QUALITY[laid.stroke]}{noun}"


def restate_all(
    recipes: Sequence[Recipe], *, theirs: MarkerFit, mine: MarkerFit
) -> tuple[Restated, ...]:
    """Restate several recipes; see `restate`."""
    return tuple(restate(recipe, theirs=theirs, mine=mine) for recipe in recipes)
