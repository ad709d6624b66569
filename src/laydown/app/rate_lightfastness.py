"""State the class of lightfastness of colorants, as their maker does."""

from dataclasses import dataclass

from laydown.app.own_colorants import OwnColorants, named_colorants, said
from laydown.media.colorant import Colorant
from laydown.media.lightfastness import parse_class
from laydown.store.library import Library

UNKNOWN = "unknown"
"""Takes a class back."""


@dataclass(frozen=True, slots=True)
class RateLightfastness:
    """Which colorants, and their class.

    Parameters
    ----------
    grade
        1 to 8 of blue wool, I to V of ASTM D4303, or ``unknown``.
    names
        Names, ``Range/Name`` or owner's codes.
    ranges
        Ranges meant as a whole.
    source
        Who states it, such as the label.
    """

    grade: str
    names: tuple[str, ...] = ()
    ranges: tuple[str, ...] = ()
    source: str = ""


@dataclass(frozen=True, slots=True)
class LightfastnessRated:
    """The class in words, the colorants it was new for, and those that had it."""

    fastness: str
    changed: tuple[Colorant, ...]
    unchanged: tuple[Colorant, ...]


def rate_lightfastness(library: Library, request: RateLightfastness) -> LightfastnessRated:
    """State a class for colorants, all of them or, if one name is unknown, none.

    Raises
    ------
    LightfastnessError
        For what is no class.
    UnknownNameError, AmbiguousNameError
        For a colorant that isn't there, or isn't clear.
    """
    taken_back = request.grade.strip().casefold() == UNKNOWN
    fastness = None if taken_back else parse_class(request.grade)
    asked = OwnColorants("", request.names, request.ranges)
    with library.work(f"rate {said(asked)} as {request.grade}") as work:
        named = named_colorants(work, asked)
        new = [work.lightfastness.rate(c, fastness, request.source) for c in named]
    pairs = list(zip(named, new, strict=True))
    return LightfastnessRated(
        fastness.words if fastness else UNKNOWN,
        tuple(c for c, changed in pairs if changed),
        tuple(c for c, changed in pairs if not changed),
    )
