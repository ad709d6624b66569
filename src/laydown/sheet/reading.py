"""What was read of a cell, and all that can be doubtful about it."""

from dataclasses import dataclass
from enum import StrEnum
from math import sqrt

from laydown.color.arrays import FloatArray

DEVIATION = 1.25
"""Standard deviation per axis of CIELAB by the mean CIEDE2000, over half of 39 real photographs of
charts: 1.24 by their white patch alone, 1.22 by the chart."""
ALIKE, ALIKE_BY_PAPER = 0.1, 0.3
"""Share of the variance of a conversion's error that all colors of a picture have alike, over the
same photographs: .02 by the chart, .09 by grays, and .27 by white alone."""


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
    def near_alike(self) -> float:
        """Share of the variance of its error that colors near each other have alike.

        Of colors less than 16 (CIEDE2000) apart in real photographs, as a color wanted and its
        match are, that by which regions of their differences hold as stated; .8 by white alone.
        """
        return {self.PAPER: 0.75, self.KNOWN: 0.5, self.CHART: 0.3}.get(self, 0.0)

    @property
    def by_camera(self) -> bool:
        """Whether its error is a camera's, which a swatch carries with it."""
        return self is not ColorConversion.PROFILE


@dataclass(frozen=True, slots=True, eq=False)
class CellReading:
    """The color of one cell."""

    number: int
    """The cell's number."""
    xyz: FloatArray
    """Shape (3,), under D50, perfect white at Y = 100."""
    spread: float
    """Standard deviation within the cell [CIELAB units, root of the mean square over the axes]:
    texture and streaks belong to it, the picture's noise does not."""
    flags: frozenset[Flag] = frozenset()
    """What is doubtful."""


@dataclass(frozen=True, slots=True)
class Accuracy:
    """How far off readings by a conversion are expected to be, in CIEDE2000."""

    conversion: ColorConversion
    """How the picture was converted."""
    mean: float
    """Expected of a cell."""
    likely: float
    """What 80 cells of 100 stay within."""
    most: float
    """What 95 cells of 100 stay within."""
    basis: str
    """What these numbers come from, in words."""
    rough: bool = False
    """Whether the paper doesn't look as it should, so that readings are taken only when
    accepted."""

    @property
    def deviation(self) -> float:
        """Standard deviation that follows for a cell [CIELAB units per axis]."""
        return DEVIATION * self.mean

    @property
    def shared(self) -> float:
        """The part of `deviation` that all cells of a picture have alike."""
        alike = ALIKE_BY_PAPER if self.conversion is ColorConversion.PAPER else ALIKE
        return self.deviation * sqrt(alike)

    @property
    def shared_nearby(self) -> float:
        """The part of `deviation` that cells of nearly one color have alike in a picture."""
        return self.deviation * sqrt(self.conversion.near_alike)
