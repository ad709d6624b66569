"""A colorant's class of lightfastness, as its maker states it, in one of two open scales.

Blue wools run from 1, which fades first, to 8; the classes of ASTM D4303 from I, the most lasting,
to V. Digits mean the one, Roman numerals the other. Stars and words of a maker's own are neither.
"""

import re
from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from laydown.errors import LightfastnessError
from laydown.media.light.exposure import Span
from laydown.reference.tables import load_table

_WOOL = re.compile(r"(?:blue wool|bw)?\s*([1-8])(?:\s*[-–]\s*([1-8]))?", re.IGNORECASE)
_ASTM = re.compile(r"(?:astm(?:\s*d\s*4303)?|d\s*4303)?\s*(I{1,3}|IV|V)", re.IGNORECASE)


class Scale(StrEnum):
    """Who drew the classes up."""

    BLUE_WOOL = "blue wool"
    ASTM = "ASTM D4303"


@dataclass(frozen=True, slots=True)
class Lightfastness:
    """A class."""

    scale: Scale
    """Blue wool or ASTM D4303."""
    grade: str
    """``3``, ``3-4`` or ``II``."""

    @property
    def words(self) -> str:
        """The class as people write it.

        Examples
        --------
        >>> parse_class("3-4").words, parse_class("astm ii").words
        ('blue wool 3-4', 'ASTM D4303 II')
        """
        return f"{self.scale} {self.grade}"


def parse_class(text: str) -> Lightfastness:
    """Read a class.

    Parameters
    ----------
    text
        ``3``, ``3-4``, ``blue wool 3``; ``II``, ``ASTM II``.

    Raises
    ------
    LightfastnessError
        For anything else.

    Examples
    --------
    >>> parse_class("ii").scale.value
    'ASTM D4303'
    """
    plain = " ".join(text.split())
    if found := _WOOL.fullmatch(plain):
        low, high = found[1], found[2] or found[1]
        if int(high) - int(low) in {0, 1}:
            return Lightfastness(Scale.BLUE_WOOL, low if low == high else f"{low}-{high}")
    if found := _ASTM.fullmatch(plain):
        return Lightfastness(Scale.ASTM, found[1].upper())
    raise LightfastnessError(
        f"“{text}” is no class of lightfastness.",
        hint="Write 1 to 8 for blue wool (3-4 is between), I to V for ASTM D4303. A maker's own"
        " stars or words are neither: leave such a colorant unrated, or hang it in a window.",
    )


def wools_of(fastness: Lightfastness) -> tuple[int, int] | None:
    """Return the blue wools a class comes near to, the first and the last; None where unknown.

    Examples
    --------
    >>> wools_of(parse_class("3-4")), wools_of(parse_class("I")), wools_of(parse_class("IV"))
    ((3, 4), (7, 8), None)
    """
    if fastness.scale is Scale.BLUE_WOOL:
        low, _, high = fastness.grade.partition("-")
        return int(low), int(high or low)
    table = load_table("lightfastness_classes")
    place = table.words("class").index(fastness.grade)
    low, high = table.words("from_wool")[place], table.words("to_wool")[place]
    return (int(low), int(high)) if low else None


LASTS = ((1, "fades very fast"), (3, "fades fast"), (6, "fades slowly"), (8, "lasts long"))
"""Up to which blue wool a colorant is said to: high, medium and low sensitivity to light of CIE
157:2004 (wools 1 to 3, 4 to 6, 7 and 8), and the first of them for itself."""


def lasting_words(stated: str) -> str:
    """Say in plain words how fast a colorant of a class fades.

    Parameters
    ----------
    stated
        What its fading rests on: a class in words; whatever else it is comes back as it is.

    Examples
    --------
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

    Parameters
    ----------
    fastness
        The class; it is taken to speak of a plain coat.

    Returns
    -------
    Span or None
        In million lux-hours; None where no table of the class was read.

    References
    ----------
    CIE 157:2004, Control of damage to museum objects by optical radiation, read in secondary
    sources.

    Examples
    --------
    >>> noticeable_dose(parse_class("2"))
    Span(low=0.3, high=3.0)
    >>> noticeable_dose(parse_class("V")) is None
    True
    """
    wools = wools_of(fastness)
    if wools is None:
        return None
    doses = load_table("blue_wool").numbers("dose")[:, 0]
    before = np.concatenate([[doses[0] ** 2 / doses[1]], doses, [np.inf]])
    return Span(round(float(before[wools[0] - 1]), 9), float(before[wools[1] + 1]))
