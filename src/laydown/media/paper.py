"""A paper: what is colored on, with its own reflectance."""

from dataclasses import dataclass

from laydown.color.arrays import FloatArray

USUAL_COATS_LIMIT = 6
"""Coats that a marker paper bears before it pills, bleeds or fills (common practice, no source)."""


@dataclass(frozen=True, slots=True, eq=False)
class Paper:
    """What is colored on.

    Parameters
    ----------
    name
        The owner's or maker's name for it.
    reflectance
        Of the bare paper, shape (36,); above 1 where a brightener fluoresces.
    coats_limit
        How many coats in all it bears before it pills, bleeds or fills.
    measured
        False where no bare-paper swatch exists and a usual white is assumed.
    """

    name: str
    reflectance: FloatArray
    coats_limit: int = USUAL_COATS_LIMIT
    measured: bool = True
