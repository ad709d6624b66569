"""How a colorant's color moves with the dose of light: a power law, always told as a range.

Measured fades are steep at first and slow down, so that a straight line through the first part of
a curve foretells far too much: on measured curves about twice what came.
"""

import re
from dataclasses import dataclass, replace
from functools import cache
from typing import TypeAlias

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.color.lab import ciede2000, lab_from_reflectance
from laydown.errors import LightfastnessError
from laydown.media.kit.fit import AnyFit, runs
from laydown.media.light.exposure import Span
from laydown.media.recipe import Colorant, Recipe, Step
from laydown.reference.tables import load_table, numbers_of

# A colorant's class of lightfastness, as its maker states it, in one of two open scales.
#
# Blue wools run from 1, which fades first, to 8; the classes of ASTM D4303 from I, the most
# lasting, to V. Digits mean the one, Roman numerals the other. Stars and words of a maker's own
# are neither.

_WOOL = re.compile(r"(?:blue wool|bw)?\s*([1-8])(?:\s*[-–]\s*([1-8]))?", re.IGNORECASE)
_ASTM = re.compile(r"(?:astm(?:\s*d\s*4303)?|d\s*4303)?\s*(I{1,3}|IV|V)", re.IGNORECASE)


Lightfastness: TypeAlias = str
"""A class: ``3`` or ``3-4`` of the blue wools, ``II`` of ASTM D4303."""


def parse_class(text: str) -> Lightfastness:
    """Read a class.

    `text`: ``3``, ``3-4``, ``blue wool 3``; ``II``, ``ASTM II``. Raises LightfastnessError for
    anything else.

    >>> parse_class("blue wool 3 - 4"), parse_class("astm ii")
    ('3-4', 'II')
    """
    plain = " ".join(text.split())
    if found := _WOOL.fullmatch(plain):
        low, high = found[1], found[2] or found[1]
        if int(high) - int(low) in {0, 1}:
            return low if low == high else f"{low}-{high}"
    if found := _ASTM.fullmatch(plain):
        return found[1].upper()
    raise LightfastnessError(
        f"“{text}” is no class of lightfastness.",
        hint="Write 1 to 8 for blue wool (3-4 is between), I to V for ASTM D4303. A maker's own"
        " stars or words are neither: leave such a colorant unrated, or hang it in a window.",
    )


def class_words(fastness: Lightfastness) -> str:
    """Write a class as people do.

    >>> class_words("3-4"), class_words("II")
    ('blue wool 3-4', 'ASTM D4303 II')
    """
    return f"{'blue wool' if fastness[0].isdigit() else 'ASTM D4303'} {fastness}"


def wools_of(fastness: Lightfastness) -> tuple[int, int] | None:
    """Return the blue wools a class comes near to, the first and the last; None where unknown.

    >>> wools_of("3-4"), wools_of("I"), wools_of("IV")
    ((3, 4), (7, 8), None)
    """
    if fastness[0].isdigit():
        low, _, high = fastness.partition("-")
        return int(low), int(high or low)
    table = load_table("lightfastness_classes")
    place = table["class"].index(fastness)
    low, high = table["from_wool"][place], table["to_wool"][place]
    return (int(low), int(high)) if low else None


LASTS = ((1, "fades very fast"), (3, "fades fast"), (6, "fades slowly"), (8, "lasts long"))
"""Up to which blue wool a colorant is said to: high, medium and low sensitivity to light of CIE
157:2004 (wools 1 to 3, 4 to 6, 7 and 8), and the first of them for itself."""


def lasting_words(stated: str) -> str:
    """Say in plain words how fast a colorant of a class fades.

    `stated`: what its fading rests on: a class in words; whatever else it is comes back as it is.

    >>> lasting_words("blue wool 3"), lasting_words("ASTM D4303 I"), lasting_words("a window test")
    ('fades fast', 'lasts long', 'a window test')
    """
    try:
        wools = wools_of(parse_class(stated))
    except LightfastnessError:
        wools = None
    return next(words for most, words in LASTS if wools[0] <= most) if wools else stated


def noticeable_dose(fastness: Lightfastness) -> Span | None:
    """Return the doses of light without ultraviolet at which a change becomes just noticeable.

    A class says that a colorant fades about like that wool. Its range here runs from the dose of
    the wool before to that of the wool after. Below wool 1 the step from 1 to 2 is taken once more;
    above wool 8 no end is known.

    `fastness`: the class; it is taken to speak of a plain coat. In million lux-hours; None
    where no table of the class was read.

    Source: CIE 157:2004, Control of damage to museum objects by optical radiation, read in
    secondary sources.

    >>> noticeable_dose("2"), noticeable_dose("V")
    (Span(low=0.3, high=3.0), None)
    """
    wools = wools_of(fastness)
    if wools is None:
        return None
    doses = numbers_of(load_table("blue_wool"), "dose")[:, 0]
    before = np.concatenate([[doses[0] ** 2 / doses[1]], doses, [np.inf]])
    return Span(round(float(before[wools[0] - 1]), 9), float(before[wools[1] + 1]))


LAST_SENSITIVE: Lightfastness = "3"
"""The most lasting wool that counts as sensitive to light (read in a secondary source)."""


@cache
def fading_constants() -> dict[str, float]:
    """Return what the forecast takes for granted, by the names in ``fading.csv``.

    >>> fading_constants()["noticeable"]
    0.8
    """
    table = load_table("fading")
    return dict(zip(table["name"], numbers_of(table, "value")[:, 0].tolist(), strict=True))


@dataclass(frozen=True, slots=True)
class Fading:
    """How a plain coat of a colorant fades."""

    noticeable: Span
    """Dose [million lux-hours] at which its change is just noticeable."""
    exponent: Span
    """Of the power law."""
    filtered: bool
    """Whether that holds for light without ultraviolet."""
    words: str
    """What it rests on: ``blue wool 3``, or a window test."""
    with_ultraviolet: float = 0.0
    """Dose that it bears with ultraviolet, too, where that is known of its class; else 0."""


def class_fading(fastness: Lightfastness) -> Fading | None:
    """Return what a class says of fading; None where no table of the class was read.

    >>> class_fading("3").noticeable
    Span(low=1.0, high=10.0)
    """
    found = noticeable_dose(fastness)
    if found is None:
        return None
    told = fading_constants()
    exponent = Span(told["exponent lowest"], told["exponent highest"])
    least = noticeable_dose(LAST_SENSITIVE) or found
    floor = (1.0 - told["ultraviolet"]) * min(least.low, found.low)
    return Fading(
        found, exponent, filtered=True, words=class_words(fastness), with_ultraviolet=floor
    )


def power_law(dose: FloatArray, *, reached: float, at: float, exponent: float) -> FloatArray:
    """Return a difference that grows as a power of dose.

    `dose`: shape (…,) [million lux-hours]. `reached`, `at`: the difference that a known dose does;
    `at` 0 is at once, infinite is never. `exponent`: below 1: fading slows down. Returns shape
    (…,), ΔE = reached · (dose / at)^exponent.

    An empirical rule for the first part of fading; it knows no end, while a dye that is gone fades
    no further, and it knows nothing of heat, damp or what is in the air.

    Four times the dose does twice as much at exponent ½.

    >>> power_law(np.array([4.0]), reached=0.8, at=1.0, exponent=0.5).tolist()
    [1.6]
    """
    x = np.asarray(dose, dtype=np.float64)
    if at == 0.0:
        return np.asarray(np.where(x > 0.0, np.inf, 0.0))
    if np.isinf(at):
        return np.zeros_like(x)
    return np.asarray(reached * (x / at) ** exponent)


def shown_in(fading: Fading, *, filtered: bool) -> Fading:
    """Return how a colorant fades in light with or without ultraviolet.

    Where ultraviolet is added, a color that is sensitive to light fades up to twice as fast; where
    it is taken away, down to half as fast. For colors that are not so sensitive ultraviolet may do
    much more, and how much isn't known here. A class still says that such a color bears more than
    blue wool 3: the wools are ranked in daylight through a window, which has ultraviolet in it. Of
    other colors that end of the range is left open.

    `fading`: as stated or tested. `filtered`: whether the light is free of ultraviolet.

    Source: S. Michalski, Agent of deterioration: light, ultraviolet and infrared, Canadian
    Conservation Institute, read in a reprint.


    >>> shown_in(class_fading("2"), filtered=False).noticeable
    Span(low=0.15, high=3.0)
    >>> shown_in(class_fading("5"), filtered=False).noticeable
    Span(low=0.5, high=100.0)
    """
    if fading.filtered == filtered:
        return fading
    told = fading_constants()
    sensitive = fading.noticeable.high <= told["sensitive"]
    kept = 1.0 - told["ultraviolet"]
    if filtered:
        factor = Span(1.0, 1.0 / kept if sensitive else np.inf)
    else:
        factor = Span(kept if sensitive else 0.0, 1.0)
    moved = fading.noticeable.times(factor)
    if not filtered:
        moved = Span(max(moved.low, fading.with_ultraviolet), moved.high)
    return replace(fading, noticeable=moved, filtered=filtered)


# What a recipe looks like once light has taken part of each colorant away.
#
# Light takes absorption, not body: a faded dye absorbs less over all bands alike, and what scatters
# stays. A change of hue as a dye breaks down, and the paper's own yellowing, are outside this.

SHARES = np.linspace(1.0, 0.0, 65)
"""Shares of a colorant left at which its plain coat is looked at; between them it is straight."""


def faded_reflectance(fit: AnyFit, recipe: Recipe, left: FloatArray) -> FloatArray:
    """Return a recipe's reflectance with only a share of each colorant left.

    `fit`: of its colorants on their paper. `recipe`: as it was laid. `left`: shape (v, u), share of
    the absorption of each of its u colorants that is left, 0 to 1, in the order of
    `Recipe.colorants`. Returns shape (v, 36). Raises BadRecipeError for steps or an order that
    can't be done. Raises NotMeasuredError for a colorant that was not swatched on this paper.
    """
    seen = np.tile(fit.paper.reflectance, (len(left), 1))
    places = {colorant: place for place, colorant in enumerate(recipe.colorants)}
    laid = runs(fit, recipe)
    for run in laid:
        own = left[:, [places[colorant] for colorant in run.recipe.colorants]]
        seen = run.fit.lay(run.recipe, seen, share=run.share, left=own)
    factor = laid[0].fit.factor(recipe) if len(laid) == 1 else None
    if factor is None:
        return seen
    # what a swatch shows beside the model fades as the color does, and bare paper has none of it
    return np.asarray(seen * factor ** left.mean(axis=1, keepdims=True))


def faded_difference(fit: AnyFit, recipe: Recipe, left: FloatArray) -> FloatArray:
    """Return how far a recipe has moved from its own color (CIEDE2000), shape (v,).

    `fit`, `recipe`, `left`: as in `faded_reflectance`.
    """
    whole = np.ones((1, len(recipe.colorants)))
    lab = lab_from_reflectance(faded_reflectance(fit, recipe, np.concatenate([whole, left])))
    return ciede2000(lab[0], lab[1:])


def share_left(fit: AnyFit, colorant: Colorant, difference: FloatArray) -> FloatArray:
    """Return how much of a colorant is left when its plain coat has moved so far.

    `fit`: of the colorant on its paper. `colorant`: laid as one plain coat. `difference`: shape
    (…,), CIEDE2000; more than fading can do means that nothing is left. Returns shape (…,), 0 to 1.
    """
    moved = faded_difference(fit, Recipe((Step(colorant),)), SHARES[:, None])
    return np.asarray(np.interp(difference, np.maximum.accumulate(moved), SHARES, right=0.0))
