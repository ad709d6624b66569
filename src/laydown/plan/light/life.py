"""How long a picture lasts on a wall, drawn and said."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.media.kit.fit import AnyFit
from laydown.media.light.exposure import Exposure, Span
from laydown.media.light.fading import (
    Fading,
    faded_difference,
    fading_constants,
    power_law,
    share_left,
)
from laydown.media.recipe import Colorant, Recipe
from laydown.plan.run.ranges import Plot

# How long recipes keep their color on a wall: ranges of dose for each, and what goes first.
#
# What each colorant's plain coat does at a dose says how much of it is left; with that much left
# of each, the model of layers says how the recipe looks. So a layered recipe goes as fast as the
# eye can see its weakest colorant in it, and no faster.

DOSES = np.logspace(-5.0, 7.0, 361)
"""Million lux-hours at which a recipe is looked at: from seconds in the sun to beyond any life."""
BARE = "nothing lies there but the paper, whose own aging isn't forecast"


@dataclass(frozen=True, slots=True)
class Life:
    """How long a recipe keeps its color."""

    noticeable: Span | None
    clear: Span | None
    """Dose [million lux-hours] to a just noticeable and to a clear change; None without
    forecast."""
    first: str = ""
    """Label of the colorant whose fading is seen first; empty without forecast."""
    why_not: str = ""
    """Why there is no forecast; empty where there is one."""


def recipe_life(fit: AnyFit, recipe: Recipe, fadings: Mapping[str, Fading | None]) -> Life:
    """Forecast the life of a recipe.

    `fadings`: by the label of a colorant, how it fades in this light; missing or None where that
    isn't known, and then there is no forecast of a recipe with it. Raises BadRecipeError or
    NotMeasuredError for a recipe that the model has no answer for.
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

    >>> years(Span(0.3, 3.0), Exposure(Span(100.0, 100.0), hours=10.0, days=300.0))
    Span(low=1.0, high=10.0)
    """
    return dose.over(exposure.yearly)


def soonest_first(lives: Iterable[Life]) -> list[int]:
    """Return the places of lives with a forecast, the one that goes first at the head.

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

    >>> hours_to_last(0.3, lux=50.0, years=10.0, days=300.0)
    2.0
    """
    return 1e6 * dose / (lux * years * days)


DAYS = {"day": 1.0, "week": 7.0, "month": 30.4, "year": 365.25}
FEWEST = 1.95
"""Below it a smaller unit says more; it is told as 2."""
MONTHS = 12
LONGEST = 100.0
"""Years; nobody has watched these colors for longer."""


def rounded(number: float) -> float:
    """Round to one significant figure, or to two where the first is 1.

    >>> [rounded(x) for x in (0.147, 3.46, 17.6, 862.0, 0.0)]
    [0.15, 3.0, 18.0, 900.0, 0.0]
    """
    if number <= 0.0 or not np.isfinite(number):
        return number
    exponent = int(np.floor(np.log10(number)))
    first = number / 10.0**exponent
    digits = 1 if first < 1.95 else 0
    return float(np.round(number, digits - exponent))


def years_words(span: Span) -> str:
    """Say a range of years.

    >>> years_words(Span(2.1, 8.7)), years_words(Span(0.3, 2.6))
    ('about 2 to 9 years', 'about 4 months to 3 years')
    >>> years_words(Span(0.0, 8.7))
    "within about 9 years, maybe much sooner: how much isn't known here"
    >>> years_words(Span(2.1, float("inf")))
    'not before about 2 years; no end is known here'
    >>> years_words(Span(140.0, 900.0)), years_words(Span(0.0, float("inf")))
    ('more than 100 years', 'not known here')
    """
    if span.low >= LONGEST:
        return f"more than {LONGEST:.0f} years"
    if span.low == 0.0:
        if span.high >= LONGEST:
            return "not known here"
        return f"within about {_time(span.high)}, maybe much sooner: how much isn't known here"
    if np.isinf(span.high):
        return f"not before about {_time(span.low)}; no end is known here"
    high = f"more than {LONGEST:.0f} years" if span.high >= LONGEST else _time(span.high)
    return f"about {_from_to(_time(span.low), high)}"


def _from_to(low: str, high: str) -> str:
    """Say a range from its ends; a unit that both have is said once, and an end that is both."""
    if low == high:
        return low
    same = low.rpartition(" ")[2].rstrip("s") == high.rpartition(" ")[2].rstrip("s")
    return f"{low.partition(' ')[0] if same and not high.startswith('more') else low} to {high}"


def _time(years: float) -> str:
    """Say a time in the largest unit of which there are two or more.

    >>> [_time(x) for x in (3.4, 1.7, 1.0, 0.1, 0.001, 0.0)]
    ['3 years', '20 months', '1 year', '5 weeks', 'a day', 'a day']
    """
    days = years * DAYS["year"]
    unit = next((u for u in reversed(DAYS) if days / DAYS[u] >= FEWEST), "day")
    number = round(rounded(days / DAYS[unit]))
    if unit == "month" and number == MONTHS:
        return "1 year"
    return f"{number} {unit}s" if number > 1 else "a day"


def dose_words(span: Span) -> str:
    """Say a range of doses in lux-hours.

    >>> dose_words(Span(0.09, 1.0)), dose_words(Span(0.3, 3.2))
    ('about 90 thousand to 1 million lux-hours', 'about 300 thousand to 3 million lux-hours')
    >>> dose_words(Span(3.0, float("inf"))), dose_words(Span(0.0, 12.0))
    ('more than about 3 million lux-hours', 'less than about 12 million lux-hours')
    """
    if span.low == 0.0:
        if np.isinf(span.high):
            return "not known here"
        return f"less than about {_light(span.high)} lux-hours"
    if np.isinf(span.high):
        return f"more than about {_light(span.low)} lux-hours"
    return f"about {_from_to(_light(span.low), _light(span.high))} lux-hours"


def _light(millions: float) -> str:
    number = rounded(millions)
    return f"{number:,g} million" if number >= 1.0 else f"{rounded(1e3 * millions):g} thousand"


TICKS = (
    ("a week", DAYS["week"] / DAYS["year"]),
    ("a month", DAYS["month"] / DAYS["year"]),
    ("a year", 1.0),
    ("10 years", 10.0),
    ("100 years", LONGEST),
)
WIDTH, ROW = 174.0, 5.8
LEFT, RIGHT, HEAD = 8.0, 12.0, 7.0
LETTER = 1.6
"""Room for a letter of a name [mm]."""


def life_plot(
    title: str, spans: Sequence[Span], fills: Sequence[str], names: Sequence[str]
) -> Plot:
    """Plot ranges of years below each other, numbered from 1, each under its name.

    `spans`: in years, from the top down. `fills`, `names`: screen colors and names of the parts
    they belong to; a name that is longer than the plot is wide is left out. An end is a filled
    square; a hollow one says that the range goes on beyond the scale, or isn't known there.

    >>> spans = [Span(1.0, 10.0), Span(0.0, 300.0)]
    >>> plot = life_plot("Two", spans, ["#ffcc00", "#336699"], ["Lemon", "Bowl"])
    >>> [hollow for *_, hollow in plot.dots]
    [False, False, True, True]
    """
    height = HEAD + ROW * (len(spans) + 1)
    labels = [(_place(years), HEAD - 3.0, name) for name, years in TICKS]
    rules = [(x, HEAD - 1.5, x, height) for x, _, _ in labels]
    dots = []
    for number, (span, fill, name) in enumerate(zip(spans, fills, names, strict=True), 1):
        y = HEAD + ROW * number
        ends = _place(span.low), _place(span.high)
        told = f"{number}. {name}" if LETTER * len(f"{number}. {name}") <= WIDTH else f"{number}"
        half = LETTER * len(told) / 2
        # over the middle of its range, or as near as the page's edges let it
        labels.append((min(max(sum(ends) / 2, half), WIDTH - half), y - 1.9, told))
        rules.append((ends[0], y, ends[1], y))
        dots.append((ends[0], y, fill, span.low < TICKS[0][1]))
        dots.append((ends[1], y, fill, span.high > LONGEST))
    return Plot(title, WIDTH, height, tuple(rules), tuple(labels), tuple(dots))


def along(years: float) -> float:
    """Return how far along the scale a time stands, 0 to 1; what lies beyond stands at its end.

    >>> along(0.0), along(100.0), along(float("inf"))
    (0.0, 1.0, 1.0)
    >>> round(2 * along(10.0) - along(1.0), 6)
    1.0
    """
    first, last = np.log(TICKS[0][1]), np.log(LONGEST)
    return float((np.log(np.clip(years, TICKS[0][1], LONGEST)) - first) / (last - first))


def _place(years: float) -> float:
    """Return where a time stands on the scale [mm]."""
    return round(LEFT + (WIDTH - LEFT - RIGHT) * along(years), 2)
