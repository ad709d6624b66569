"""What the marker model takes for granted until swatches say otherwise, with a reason for each."""

import csv
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cache
from importlib.resources import files

import numpy as np

from laydown.color.arrays import FloatArray

EFFECTS = ("scale", "later coat", "lift", "quick", "soaked", "wet", "blender")
"""The effects that all colorants of a kit share on a paper, in the order of their array.

Scale w in [0, 1], the amount of a later coat, the lift, natural logs of the amounts of a quick and
a soaked stroke (against an even one) and of a coat over wet color (against one over dry), and the
share of what lies below that a coat of a colorless blender carries off.
"""
SCALE, LATER_COAT, LIFT, QUICK, SOAKED, WET, BLENDER = range(7)
HELD = 1e-6
"""Standard deviation of an effect that is held where it is."""


@dataclass(frozen=True, slots=True, eq=False)
class Priors:
    """What is expected before any swatch, and how firmly.

    Parameters
    ----------
    mean, sd
        Shape (7,), of the effects.
    lowest, highest
        Shape (7,), what the effects can be at all.
    hand, hand_sd
        Scatter of the natural log of the amount from coat to coat, and the standard deviation of
        that scatter's own natural log.
    misfit, misfit_sd
        How far the model itself is off per further coat [CIELAB units], likewise.
    cover, cover_sd
        Scatter of the natural log of what lies below when another colorant is laid over it,
        likewise.
    measuring
        Noise of the instrument [CIELAB units per axis].
    crowding_sd
        How unsure the fall-off of a coat on a deep pile is, see
        `laydown.media.marker.pile.step_numbers`.
    """

    mean: FloatArray
    sd: FloatArray
    lowest: FloatArray
    highest: FloatArray
    hand: float
    hand_sd: float
    misfit: float
    misfit_sd: float
    cover: float
    cover_sd: float
    measuring: float
    crowding_sd: float

    def held(self, values: Mapping[str, float]) -> "Priors":
        """Return the same with some effects, by their names in `EFFECTS`, held at given values.

        Examples
        --------
        >>> usual_priors().held({"later coat": 1.0}).mean[LATER_COAT].item()
        1.0
        """
        mean, sd = self.mean.copy(), self.sd.copy()
        for name, value in values.items():
            mean[EFFECTS.index(name)], sd[EFFECTS.index(name)] = value, HELD
        return replace(self, mean=mean, sd=sd)


@cache
def usual_priors() -> Priors:
    """Return the priors of ``marker_priors.csv``, which gives the reason for each.

    Examples
    --------
    >>> usual_priors().mean[LATER_COAT].item()
    0.78
    """
    text = (files("laydown.reference") / "marker_priors.csv").read_text(encoding="utf-8")
    rows = {row["name"]: row for row in csv.DictReader(text.splitlines())}

    def column(name: str) -> FloatArray:
        return np.array([float(rows[effect][name]) for effect in EFFECTS])

    return Priors(
        mean=column("mean"),
        sd=column("sd"),
        lowest=column("lowest"),
        highest=column("highest"),
        hand=float(rows["hand"]["mean"]),
        hand_sd=float(rows["hand"]["sd"]),
        misfit=float(rows["misfit"]["mean"]),
        misfit_sd=float(rows["misfit"]["sd"]),
        cover=float(rows["cover"]["mean"]),
        cover_sd=float(rows["cover"]["sd"]),
        measuring=float(rows["measuring"]["mean"]),
        crowding_sd=float(rows["crowding"]["sd"]),
    )
