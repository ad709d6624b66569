"""Whether a color is out of reach of a recipe's, and what it is off by in value or in hue alone."""

from math import sqrt

from laydown.color.arrays import FloatArray
from laydown.color.difference import ciede2000
from laydown.color.value import value_from_lab
from laydown.match.acceptance import acceptance
from laydown.match.chances import may_pass
from laydown.match.outcome import Verdict
from laydown.match.ranking import BY_EYE
from laydown.reference.thresholds import thresholds

BLIND = 1e9
"""A parametric factor so large that its term of CIEDE2000 vanishes."""
HIDES = 0.5
"""By so many tolerances doubt may hide that a color is within the tolerance (chosen)."""


def hue_term(wanted: FloatArray, lab: FloatArray) -> float:
    """Return what hue alone adds to CIEDE2000."""
    return float(ciede2000(wanted, lab, k_L=BLIND, k_C=BLIND))


def doubt_of(wanted: FloatArray, lab: FloatArray, covariance: FloatArray) -> float:
    """Return how far off a color may be beside its own difference [CIEDE2000, kL 1]."""
    off = BY_EYE.expected(wanted, lab, covariance)
    return sqrt(max(0.0, off**2 - float(BY_EYE.difference(wanted, lab)) ** 2))


def but_for_one(wanted: FloatArray, lab: FloatArray, tolerance: float) -> Verdict | None:
    """Say whether value or hue alone keeps a color from being the same, and by how little."""
    limits = thresholds()
    off = abs(float(value_from_lab(lab) - value_from_lab(wanted)))
    if ciede2000(wanted, lab, k_L=BLIND) <= tolerance and off <= limits["value slack"]:
        return Verdict.BUT_VALUE
    if (
        ciede2000(wanted, lab, k_H=BLIND) <= tolerance
        and hue_term(wanted, lab) <= limits["hue slack"]
    ):
        return Verdict.BUT_HUE
    return None


def is_within(
    wanted: FloatArray, lab: FloatArray, covariance: FloatArray, tolerance: float
) -> bool:
    """Whether a color is within the tolerance, or its doubt could hide that it is.

    Parameters
    ----------
    wanted, lab
        Shape (3,), CIELAB D50.
    covariance
        Shape (3, 3), of their difference.
    tolerance
        CIEDE2000 at kL 1.
    """
    off = float(ciede2000(wanted, lab)) - tolerance
    return off <= 0.0 or (off <= HIDES * tolerance and off <= doubt_of(wanted, lab, covariance))


def is_out_of_reach(
    wanted: FloatArray, lab: FloatArray, covariance: FloatArray, tolerance: float
) -> bool:
    """Whether a color is not within the tolerance, nor but for value or hue, and can't pass."""
    if is_within(wanted, lab, covariance, tolerance) or but_for_one(wanted, lab, tolerance):
        return False
    return not may_pass(acceptance(wanted, lab, covariance, tolerance=tolerance))
