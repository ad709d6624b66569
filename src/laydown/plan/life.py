"""How long recipes keep their color on a wall: ranges of dose for each, and what goes first.

What each colorant's plain coat does at a dose says how much of it is left; with that much left of
each, the model of layers says how the recipe looks. So a layered recipe goes as fast as the eye can
see its weakest colorant in it, and no faster.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.media.colorant import Colorant
from laydown.media.exposure import Exposure, Span
from laydown.media.faded import faded_difference, share_left
from laydown.media.fading import Fading, fading_constants, power_law
from laydown.media.kit_fit import AnyFit
from laydown.media.recipe import Recipe

DOSES = np.logspace(-5.0, 7.0, 361)
"""Million lux-hours at which a recipe is looked at: from seconds in the sun to beyond any life."""
BARE = "nothing lies there but the paper, whose own aging isn't forecast"


@dataclass(frozen=True, slots=True)
class Life:
    """How long a recipe keeps its color.

    Parameters
    ----------
    noticeable, clear
        Dose [million lux-hours] to a just noticeable and to a clear change; None without forecast.
    first
        Label of the colorant whose fading is seen first; empty without forecast.
    why_not
        Why there is no forecast; empty where there is one.
    """

    noticeable: Span | None
    clear: Span | None
    first: str = ""
    why_not: str = ""


def recipe_life(fit: AnyFit, recipe: Recipe, fadings: Mapping[str, Fading | None]) -> Life:
    """Forecast the life of a recipe.

    Parameters
    ----------
    fit
        Of its colorants on their paper.
    recipe
        As laid.
    fadings
        By the label of a colorant, how it fades in this light; those whose fading isn't known are
        missing or None.

    Returns
    -------
    Life
        Without a forecast where the fading of any of its colorants isn't known.

    Raises
    ------
    BadRecipeError, NotMeasuredError
        For a recipe that the model has no answer for.
    """
    colored = [c for c in recipe.colorants if not c.blender]
    unknown = [c.name for c in colored if fadings.get(c.label) is None]
    if unknown or not colored:
        why_not = f"no known lightfastness: {', '.join(unknown)}" if unknown else BARE
        return Life(None, None, why_not=why_not)
    known = {c: fading for c in colored if (fading := fadings[c.label]) is not None}
    told = fading_constants()
    ends = [_moved(fit, recipe, known, late=late, steep=s) for late in (0, 1) for s in (0, 1)]
    noticeable, clear = (
        Span(min(found), max(found))
        for found in ([_crossing(m, told[name]) for m in ends] for name in ("noticeable", "clear"))
    )
    return Life(noticeable, clear, _first(fit, recipe, known, noticeable).label)


def _moved(
    fit: AnyFit, recipe: Recipe, known: Mapping[Colorant, Fading], *, late: int, steep: int
) -> FloatArray:
    """Return the recipe's difference at all doses, each colorant at one end of its range."""
    left = np.ones((len(DOSES), len(recipe.colorants)))
    for place, colorant in enumerate(recipe.colorants):
        if colorant in known:
            fading = known[colorant]
            at = fading.noticeable.high if late else fading.noticeable.low
            exponent = fading.exponent.high if steep else fading.exponent.low
            left[:, place] = _left(fit, colorant, DOSES, at=at, exponent=exponent)
    return faded_difference(fit, recipe, left)


def _left(
    fit: AnyFit, colorant: Colorant, doses: FloatArray, *, at: float, exponent: float
) -> FloatArray:
    reached = fading_constants()["noticeable"]
    return share_left(fit, colorant, power_law(doses, reached=reached, at=at, exponent=exponent))


def _crossing(moved: FloatArray, difference: float) -> float:
    """Return the dose at which a difference is first reached; 0 for at once, infinite for never."""
    if moved[0] >= difference:
        return 0.0
    past = np.flatnonzero(moved >= difference)
    if not len(past):
        return float(np.inf)
    here = slice(past[0] - 1, past[0] + 1)
    return float(np.exp(np.interp(difference, moved[here], np.log(DOSES[here]))))


def _first(
    fit: AnyFit, recipe: Recipe, known: Mapping[Colorant, Fading], noticeable: Span
) -> Colorant:
    """Return the colorant that alone would move the recipe most when a change is just seen."""
    dose = np.array([min(noticeable.middle, DOSES[-1])])
    alone = np.ones((len(recipe.colorants), len(recipe.colorants)))
    for place, colorant in enumerate(recipe.colorants):
        if colorant in known:
            fading = known[colorant]
            exponent = 0.5 * (fading.exponent.low + fading.exponent.high)
            left = _left(fit, colorant, dose, at=fading.noticeable.middle, exponent=exponent)
            alone[place, place] = left[0]
    moved = faded_difference(fit, recipe, alone)
    candidates = [place for place, c in enumerate(recipe.colorants) if c in known]
    return recipe.colorants[max(candidates, key=lambda place: float(moved[place]))]


def years(dose: Span, exposure: Exposure) -> Span:
    """Return how many years of an exposure come to a dose.

    Examples
    --------
    >>> years(Span(0.3, 3.0), Exposure(Span(100.0, 100.0), hours=10.0, days=300.0))
    Span(low=1.0, high=10.0)
    """
    return dose.over(exposure.yearly)


def soonest_first(lives: Iterable[Life]) -> list[int]:
    """Return the places of lives with a forecast, the one that goes first at the head.

    Examples
    --------
    >>> soonest_first([Life(Span(2.0, 9.0), Span(4.0, 99.0)), Life(None, None, why_not="?")])
    [0]
    """
    known = [
        (life.noticeable.middle, life.noticeable.low, place)
        for place, life in enumerate(lives)
        if life.noticeable is not None
    ]
    return [place for _, _, place in sorted(known)]


def hours_to_last(dose: float, *, lux: float, years: float, days: float) -> float:
    """Return for how many hours a day light of so many lux may fall, to reach a dose in so long.

    Examples
    --------
    >>> hours_to_last(0.3, lux=50.0, years=10.0, days=300.0)
    2.0
    """
    return 1e6 * dose / (lux * years * days)
