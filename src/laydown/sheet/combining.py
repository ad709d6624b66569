"""Several readings of the same cell: from several photographs, or from another day."""

from collections.abc import Mapping, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import replace

import numpy as np

from laydown.color.lab import ciede2000, lab_from_xyz
from laydown.sheet.reading import CellReading, Flag

DISAGREEMENT = 3.0
"""CIEDE2000 between two photographs of a cell that is more than noise and uneven light make."""
DRYING = 2.0
"""CIEDE2000 between two readings of a cell, one after the other, that says it was still drying."""


def combine(readings: Sequence[CellReading]) -> CellReading:
    """Return one reading of a cell from those of several photographs.

    Parameters
    ----------
    readings
        At least one, of the same cell. Those without flags count; where all have flags, the one
        with the fewest does.

    Notes
    -----
    Where sound ones disagree by more than 3 units of CIEDE2000, the mean is flagged.

    Examples
    --------
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
    """Return a reading, flagged as still wet where it differs from the one before it.

    Parameters
    ----------
    reading
        The later reading.
    before
        The same cell, the same stage of the work, read earlier.

    Examples
    --------
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
    """Return the earlier readings that later ones can be compared with, to see what has dried.

    Bare paper doesn't dry: where it reads otherwise than before, the pictures differ and not the
    cells, and there are none.

    Parameters
    ----------
    before, later
        By cell number.
    bare
        Numbers of the cells of bare paper.

    Examples
    --------
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
