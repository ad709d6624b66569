"""Colorants, and papers to lay them on."""

from dataclasses import dataclass
from enum import StrEnum
from typing import TypeAlias

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.media.laydown import Medium


@dataclass(frozen=True, slots=True, order=True)
class Colorant:
    """One marker, pencil or pan, known by its range and its maker's name for it."""

    name: str
    """Unique within the range."""
    range: str
    """The line it belongs to."""
    medium: Medium = Medium.MARKER
    """Marker, pencil or wash."""
    code: str = ""
    """The owner's own label, opaque: kept, searched and shown, never parsed."""
    blender: bool = False
    """Whether it is a colorless blender, which carries solvent and no color."""

    @property
    def label(self) -> str:
        """Range and name, as recipes write a colorant where the name alone is not enough."""
        return f"{self.range}/{self.name}"


Key: TypeAlias = tuple[str, str]


def key_of(colorant: Colorant) -> Key:
    """Return what a colorant is known by: its range and its name."""
    return colorant.range, colorant.name


USUAL_COATS_LIMIT = 6
"""Coats that a marker paper bears before it pills, bleeds or fills (common practice, no source)."""
BARE_LIGHTNESS = (90.0, 100.0)
"""L* of bare paper for drawing. Of the nine characterization sets that the tests read (Debian
icc-profiles-free) seven lie at 90.1 to 95.9, and below them calendered magazine paper (89.2) and
newsprint (80.1); above 100 more light would come back than fell on it."""
BARE_CHROMA = 10.0
"""C*ab of bare paper: those sets lie within 4.7; twice that leaves room for creams and brighteners.
What lies beyond either is toned paper, or a picture gone wrong."""


class Stock(StrEnum):
    """How it stands with something that one owns."""

    THERE = "there"
    LOW = "running low"
    USED_UP = "used up"
    ON_LOAN = "on loan"

    @property
    def at_hand(self) -> bool:
        """Whether it can be laid today."""
        return self in {Stock.THERE, Stock.LOW}


class Surface(StrEnum):
    """Whether a paper is coated."""

    UNSAID = ""
    COATED = "coated"
    UNCOATED = "uncoated"


@dataclass(frozen=True, slots=True, eq=False)
class Paper:
    """What is colored on."""

    name: str
    """The owner's or maker's name for it."""
    reflectance: FloatArray
    """Of the bare paper, shape (36,); above 1 where a brightener fluoresces."""
    coats_limit: int = USUAL_COATS_LIMIT
    """How many coats in all it bears before it pills, bleeds or fills."""
    measured: bool = True
    """False where no bare-paper swatch exists and a usual white is assumed."""
    surface: Surface = Surface.UNSAID
    """Coated, so that dye stays on top, or not; unsaid where nobody did."""


def unlike_bare_paper(lab: FloatArray) -> str:
    """Return what sets a color apart from those of usual bare papers; empty for nothing.

    Parameters
    ----------
    lab
        Shape (3,), CIELAB D50.

    Examples
    --------
    >>> [unlike_bare_paper(np.array([lightness, 0.5, -2.0])) for lightness in (86.0, 95.0)]
    ['dark', '']
    """
    lowest, highest = BARE_LIGHTNESS
    if lab[0] < lowest:
        return "dark"
    if lab[0] > highest:
        return "light"
    return "colored" if np.hypot(lab[1], lab[2]) > BARE_CHROMA else ""
