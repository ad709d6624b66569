"""What was read of a cell, and all that can be doubtful about it."""

from dataclasses import dataclass
from enum import StrEnum
from math import sqrt

from laydown.color.arrays import FloatArray

ALIKE = 0.5
"""Share of the variance of a conversion's error that all cells of a picture have alike (chosen: 3
and 4 in 100 over the 24 patches of two measured photographs, 85 in 100 over simulated markers by
paper white alone)."""


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


class ColorConversion(StrEnum):
    """How a picture's numbers became colors."""

    PROFILE = "embedded profile"
    CHART = "reference chart"
    KNOWN = "cells of known color"
    PAPER = "paper white alone"

    @property
    def by_camera(self) -> bool:
        """Whether its error is a camera's, which a swatch carries with it."""
        return self is not ColorConversion.PROFILE


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
    likely
        What 80 cells of 100 stay within.
    most
        What 95 cells of 100 stay within.
    basis
        What these numbers come from, in words.
    rough
        Whether the paper doesn't look as it should, so that readings are taken only when accepted.
    """

    conversion: ColorConversion
    mean: float
    likely: float
    most: float
    basis: str
    rough: bool = False

    @property
    def deviation(self) -> float:
        """Standard deviation that follows for a cell [CIELAB units per axis].

        About as many units as the mean CIEDE2000: 1.0 to 1.1 times on two measured photographs, 1.3
        times by paper white alone.
        """
        return self.mean

    @property
    def shared(self) -> float:
        """The part of `deviation` that all cells of a picture have alike."""
        return self.deviation * sqrt(ALIKE)
