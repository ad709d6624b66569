"""What recipes are ranked by."""

from dataclasses import dataclass

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.color.difference import ciede2000


@dataclass(frozen=True, slots=True)
class Ranking:
    """The parametric factors of the CIEDE2000 that recipes are ranked by.

    A factor below 1 makes its term weigh more. Value first is the usual order: lights and darks
    carry a picture, hue may move.

    Parameters
    ----------
    k_L, k_C, k_H
        Above 0.
    """

    k_L: float = 0.5  # noqa: N815  the symbols of the standard
    k_C: float = 1.0  # noqa: N815
    k_H: float = 1.0  # noqa: N815

    def __post_init__(self) -> None:
        if min(self.k_L, self.k_C, self.k_H) <= 0:
            raise ValueError(f"kL, kC, kH are {self.k_L}, {self.k_C}, {self.k_H}: allowed: above 0")

    def cost(self, wanted: FloatArray, lab: FloatArray) -> FloatArray:
        """Return what colors cost against the one wanted; leading axes broadcast."""
        return np.asarray(
            ciede2000(wanted, lab, k_L=self.k_L, k_C=self.k_C, k_H=self.k_H), dtype=np.float64
        )


VALUE_FIRST = Ranking()
"""Lightness weighs double: the usual order."""
BY_EYE = Ranking(k_L=1.0)
"""All factors 1: what tolerances and verdicts are given in."""
EQUAL = 1e-9
"""Costs this near to each other are equal, and the key of the recipe decides."""
