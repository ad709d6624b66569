"""What was read of a cell, and all that can be doubtful about it."""

from dataclasses import dataclass
from enum import StrEnum
from math import sqrt

import numpy as np

from laydown.color.arrays import FloatArray

DEVIATION = 0.57
"""Standard deviation along each axis of CIEDE2000 by its mean, that by which 80 of 100 lie within
the 80 % region over the odd ones of 39 real photographs of charts, and over simulated ones of every
other camera. Vivid colors are farther off in CIELAB than grays, for its units are smaller there."""
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
        match are, that by which regions of their differences hold as stated.
        """
        return {self.PAPER: 0.7, self.KNOWN: 0.4, self.CHART: 0.2}.get(self, 0.0)

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

    def deviation(self, lab: FloatArray) -> float:
        """Return what standard deviation follows for a cell of a color [CIELAB units per axis]."""
        L, chroma = float(lab[0]) - 50, float(np.hypot(lab[1], lab[2]))
        axes = (1 + 0.015 * L**2 / sqrt(20 + L**2), 1 + 0.045 * chroma, 1 + 0.015 * chroma)
        return DEVIATION * self.mean * sqrt(sum(axis**2 for axis in axes) / 3)

    def shared(self, lab: FloatArray) -> float:
        """Return the part of `deviation` that all cells of a picture have alike."""
        alike = ALIKE_BY_PAPER if self.conversion is ColorConversion.PAPER else ALIKE
        return self.deviation(lab) * sqrt(alike)

    def shared_nearby(self, lab: FloatArray) -> float:
        """Return the part of `deviation` that near colors have alike in a picture."""
        return self.deviation(lab) * sqrt(self.conversion.near_alike)
