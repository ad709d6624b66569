"""What was read of a cell, and all that can be doubtful about it."""

from dataclasses import dataclass
from enum import StrEnum

from laydown.color.arrays import FloatArray


class Flag(StrEnum):
    """A reason not to take a cell's reading over unseen."""

    NOT_FILLED = "not filled"
    GLARE = "glare"
    CLIPPED = "clipped"
    SHADOW = "shadow edge"
    OVER_BORDER = "over the border"
    BLURRED = "blurred"
    TOO_SMALL = "too small"
    STILL_WET = "still wet"
    BRIGHTENED = "brightened or fluorescent"
    NOT_BARE = "colored, though it should be bare"
    DISAGREE = "photographs disagree"
    IMPOSSIBLE = "no surface has this color"
    OUTSIDE = "not in the picture"


class Conversion(StrEnum):
    """How a picture's numbers became colors."""

    PROFILE = "embedded profile"
    CHART = "reference chart"
    KNOWN = "cells of known color"
    PAPER = "paper white alone"

    @property
    def rough(self) -> bool:
        """Whether readings by it feed a fit only when accepted."""
        return self is Conversion.PAPER


@dataclass(frozen=True, slots=True, eq=False)
class CellReading:
    """The color of one cell.

    Parameters
    ----------
    number
        The cell's number.
    xyz
        Shape (3,), under D50, perfect white at Y = 100.
    spread
        Standard deviation within the cell [CIELAB units, root of the mean square over the axes]:
        texture and streaks belong to it, the picture's noise does not.
    flags
        What is doubtful.
    """

    number: int
    xyz: FloatArray
    spread: float
    flags: frozenset[Flag] = frozenset()


@dataclass(frozen=True, slots=True)
class Accuracy:
    """How far off readings by a conversion are expected to be, in CIEDE2000.

    Parameters
    ----------
    conversion
        How the picture was converted.
    mean
        Expected of a cell.
    most
        What 95 cells of 100 stay within.
    basis
        What the two numbers come from, in words.
    """

    conversion: Conversion
    mean: float
    most: float
    basis: str
