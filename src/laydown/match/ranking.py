"""What recipes are ranked by."""

from dataclasses import dataclass

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.color.difference import ciede2000
from laydown.media.recipe import Recipe, Step


@dataclass(frozen=True, slots=True)
class Ranking:
    """What recipes are ranked by: CIEDE2000 with its parametric factors, and the effort they ask.

    A factor below 1 makes its term weigh more. Value first is the usual order: lights and darks
    carry a picture, hue may move. That is a choice for pictures, not what the eye calls nearest: on
    pairs judged by eye kL .5 has a STRESS of 25 to 44, kL 1 one of 19 to 35
    (``tests/match/test_observers.py``). Effort and price are added to the difference, in its units.

    Parameters
    ----------
    k_L, k_C, k_H
        Above 0.
    step, coat
        What each step and each coat adds to the cost, 0 or above.
    prices
        What a coat of a colorant adds besides, by its label (``Range/Name``), 0 or above.
    """

    k_L: float = 0.5  # noqa: N815  the symbols of the standard
    k_C: float = 1.0  # noqa: N815
    k_H: float = 1.0  # noqa: N815
    step: float = 0.0
    coat: float = 0.0
    prices: tuple[tuple[str, float], ...] = ()

    def __post_init__(self) -> None:
        if min(self.k_L, self.k_C, self.k_H) <= 0:
            raise ValueError(f"kL, kC, kH are {self.k_L}, {self.k_C}, {self.k_H}: allowed: above 0")
        if min(self.step, self.coat, *(price for _, price in self.prices), 0.0) < 0:
            raise ValueError("step, coat and prices: allowed are 0 and above")

    def effort(self, recipe: Recipe) -> float:
        """Return what a recipe adds to the cost beside its difference."""
        return sum(
            self.step + step.laydown.coats * (self.coat + self._price(step))
            for step in recipe.steps
            if isinstance(step, Step)
        )

    def _price(self, step: Step) -> float:
        """Return what a coat adds besides; of a mixture, each part by its share."""
        price = dict(self.prices)
        whole = sum(part.parts for part in step.parts)
        return sum(price.get(p.colorant.label, 0.0) * p.parts for p in step.parts) / whole

    def difference(self, wanted: FloatArray, lab: FloatArray) -> FloatArray:
        """Return how far colors are from the one wanted; leading axes broadcast."""
        return np.asarray(
            ciede2000(wanted, lab, k_L=self.k_L, k_C=self.k_C, k_H=self.k_H), dtype=np.float64
        )


VALUE_FIRST = Ranking()
"""Lightness weighs double: the usual order."""
BY_EYE = Ranking(k_L=1.0)
"""All factors 1: what tolerances and verdicts are given in."""
EQUAL = 1e-9
"""Costs this near to each other are equal, and the key of the recipe decides."""
