"""How a colorant's color moves with the dose of light: a power law, always told as a range.

Measured fades are steep at first and slow down, so that a straight line through the first part of
a curve foretells far too much: on measured curves about twice what came.
"""

from dataclasses import dataclass, replace
from functools import cache

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.media.light.exposure import Span
from laydown.media.light.lightfastness import Lightfastness, Scale, noticeable_dose
from laydown.reference.tables import load_table

LAST_SENSITIVE = Lightfastness(Scale.BLUE_WOOL, "3")
"""The most lasting wool that counts as sensitive to light (read in a secondary source)."""


@cache
def fading_constants() -> dict[str, float]:
    """Return what the forecast takes for granted, by the names in ``fading.csv``.

    Examples
    --------
    >>> fading_constants()["noticeable"]
    0.8
    """
    table = load_table("fading")
    return dict(zip(table.words("name"), table.numbers("value")[:, 0].tolist(), strict=True))


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

    Examples
    --------
    >>> from laydown.media.light.lightfastness import parse_class
    >>> class_fading(parse_class("3")).noticeable
    Span(low=1.0, high=10.0)
    """
    found = noticeable_dose(fastness)
    if found is None:
        return None
    told = fading_constants()
    exponent = Span(told["exponent lowest"], told["exponent highest"])
    least = noticeable_dose(LAST_SENSITIVE) or found
    floor = (1.0 - told["ultraviolet"]) * min(least.low, found.low)
    return Fading(found, exponent, filtered=True, words=fastness.words, with_ultraviolet=floor)


def power_law(dose: FloatArray, *, reached: float, at: float, exponent: float) -> FloatArray:
    """Return a difference that grows as a power of dose.

    Parameters
    ----------
    dose
        Shape (…,) [million lux-hours].
    reached, at
        The difference that a known dose does; `at` 0 is at once, infinite is never.
    exponent
        Below 1: fading slows down.

    Returns
    -------
    FloatArray
        Shape (…,), ΔE = reached · (dose / at)^exponent.

    Notes
    -----
    An empirical rule for the first part of fading; it knows no end, while a dye that is gone fades
    no further, and it knows nothing of heat, damp or what is in the air.

    Examples
    --------
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


def dose_for(difference: float, *, reached: float, at: float, exponent: float) -> float:
    """Return the dose at which a power law comes to a difference, the inverse of `power_law`.

    Examples
    --------
    >>> dose_for(1.6, reached=0.8, at=1.0, exponent=0.5)
    4.0
    """
    return float(at * (difference / reached) ** (1.0 / exponent))


def shown_in(fading: Fading, *, filtered: bool) -> Fading:
    """Return how a colorant fades in light with or without ultraviolet.

    Where ultraviolet is added, a color that is sensitive to light fades up to twice as fast; where
    it is taken away, down to half as fast. For colors that are not so sensitive ultraviolet may do
    much more, and how much isn't known here. A class still says that such a color bears more than
    blue wool 3: the wools are ranked in daylight through a window, which has ultraviolet in it. Of
    other colors that end of the range is left open.

    Parameters
    ----------
    fading
        As stated or tested.
    filtered
        Whether the light is free of ultraviolet.

    References
    ----------
    S. Michalski, Agent of deterioration: light, ultraviolet and infrared, Canadian Conservation
    Institute, read in a reprint.

    Examples
    --------
    >>> from laydown.media.light.lightfastness import parse_class
    >>> shown_in(class_fading(parse_class("2")), filtered=False).noticeable
    Span(low=0.15, high=3.0)
    >>> shown_in(class_fading(parse_class("5")), filtered=False).noticeable
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
