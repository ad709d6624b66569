"""What was read of a cell, all that can be doubtful about it, and several readings made one."""

from collections.abc import Mapping, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass, replace
from enum import StrEnum
from math import sqrt

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.color.lab import ciede2000, lab_from_xyz

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
    xyz: FloatArray
    """Shape (3,), under D50, perfect white at Y = 100."""
    spread: float
    """Standard deviation within the cell [CIELAB units, root of the mean square over the axes]:
    texture and streaks belong to it, the picture's noise does not."""
    flags: frozenset[Flag] = frozenset()


@dataclass(frozen=True, slots=True)
class Accuracy:
    """How far off readings by a conversion are expected to be, in CIEDE2000."""

    conversion: ColorConversion
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


DISAGREEMENT = 3.0
"""CIEDE2000 between two photographs of a cell that is more than noise and uneven light make."""
DRYING = 2.0
"""CIEDE2000 between two readings of a cell, one after the other, that says it was still drying."""


def combine(readings: Sequence[CellReading]) -> CellReading:
    """Return one reading of a cell from those of several photographs, at least one.

    Those without flags count; where all have flags, the one with the fewest does. Where sound ones
    disagree by more than 3 units of CIEDE2000, the mean is flagged.

    >>> one = CellReading(3, np.array([20.0, 21.0, 17.0]), 0.4)
    >>> glary = CellReading(3, np.array([60.0, 62.0, 50.0]), 9.0, frozenset({Flag.GLARE}))
    >>> combine([glary, one]).xyz.tolist()
    [20.0, 21.0, 17.0]
    """
    sound = [reading for reading in readings if not reading.flags]
    if not sound:
        return min(readings, key=lambda reading: (len(reading.flags), reading.spread))
    xyz = np.mean([reading.xyz for reading in sound], axis=0)
    off = ciede2000(lab_from_xyz(np.array([r.xyz for r in sound])), lab_from_xyz(xyz))
    flags = frozenset({Flag.DISAGREE}) if 2 * off.max() > DISAGREEMENT else frozenset()
    spread = float(np.sqrt(np.mean([reading.spread**2 for reading in sound])))
    return CellReading(sound[0].number, xyz, spread, flags)


def compared(reading: CellReading, before: CellReading) -> CellReading:
    """Return a reading, flagged as still wet where it differs from one of the same stage before it.

    >>> wet = CellReading(3, np.array([10.0, 10.5, 8.5]), 0.4)
    >>> later = CellReading(3, np.array([12.0, 12.6, 10.2]), 0.4)
    >>> [str(flag) for flag in compared(later, wet).flags]
    ['still wet']
    """
    off = float(ciede2000(lab_from_xyz(reading.xyz), lab_from_xyz(before.xyz)))
    if off <= DRYING:
        return reading
    return replace(reading, flags=reading.flags | {Flag.STILL_WET})


def comparable(
    before: Mapping[int, CellReading], later: Mapping[int, CellReading], *, bare: AbstractSet[int]
) -> dict[int, CellReading]:
    """Return the earlier readings, by cell, that later ones tell of what has dried since.

    Paper that is `bare` doesn't dry: where it reads otherwise than before, the pictures differ and
    not the cells, and there are none.

    >>> dark = CellReading(1, np.array([67.0, 69.0, 57.0]), 0.4)
    >>> light = CellReading(1, np.array([88.0, 91.0, 75.0]), 0.4)
    >>> color = CellReading(2, np.array([12.0, 12.6, 10.2]), 0.4)
    >>> comparable({1: dark, 2: color}, {1: light, 2: color}, bare={1})
    {}
    >>> list(comparable({1: light, 2: color}, {1: light, 2: color}, bare={1}))
    [2]
    """
    both = sorted(bare & before.keys() & later.keys())
    if both:
        earlier, now = (
            lab_from_xyz(np.mean([one[number].xyz for number in both], axis=0))
            for one in (before, later)
        )
        if float(ciede2000(earlier, now)) > DRYING:
            return {}
    return {number: reading for number, reading in before.items() if number not in bare}
