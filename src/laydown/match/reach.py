"""Whether a color is out of reach of a recipe's, and what it is off by in value or in hue alone."""

import numpy as np
from numpy.typing import NDArray

from laydown.color.arrays import FloatArray
from laydown.color.difference import ciede2000
from laydown.color.value import value_from_lab
from laydown.match.acceptance import acceptances, may_pass
from laydown.match.outcome import Verdict
from laydown.match.ranking import BY_EYE
from laydown.reference.tables import thresholds

BoolArray = NDArray[np.bool_]

BLIND = 1e9
"""A parametric factor so large that its term of CIEDE2000 vanishes."""
HIDES = 0.5
"""By so many tolerances doubt may hide that a color is within the tolerance (chosen)."""


def hue_term(wanted: FloatArray, lab: FloatArray) -> FloatArray:
    """Return what hue alone adds to CIEDE2000."""
    return ciede2000(wanted, lab, k_L=BLIND, k_C=BLIND)


def doubt_of(wanted: FloatArray, lab: FloatArray, covariance: FloatArray) -> FloatArray:
    """Return how far off colors may be beside their own difference [CIEDE2000, kL 1]."""
    off = BY_EYE.expected(wanted, lab, covariance)
    return np.asarray(np.sqrt(np.maximum(0.0, off**2 - BY_EYE.difference(wanted, lab) ** 2)))


def but_for_one(wanted: FloatArray, lab: FloatArray, tolerance: float) -> Verdict | None:
    """Say whether value or hue alone keeps a color from being the same, and by how little."""
    if _but_for_value(wanted, lab, tolerance):
        return Verdict.BUT_VALUE
    return Verdict.BUT_HUE if _but_for_hue(wanted, lab, tolerance) else None


def _but_for_value(wanted: FloatArray, lab: FloatArray, tolerance: float) -> BoolArray:
    off = np.abs(value_from_lab(lab) - value_from_lab(wanted))
    same = ciede2000(wanted, lab, k_L=BLIND) <= tolerance
    return np.asarray(same & (off <= thresholds()["value slack"]))


def _but_for_hue(wanted: FloatArray, lab: FloatArray, tolerance: float) -> BoolArray:
    same = ciede2000(wanted, lab, k_H=BLIND) <= tolerance
    return np.asarray(same & (hue_term(wanted, lab) <= thresholds()["hue slack"]))


def are_out_of_reach(
    wanted: FloatArray, lab: FloatArray, covariance: FloatArray, tolerance: float
) -> BoolArray:
    """Return which colors can't pass: not within the tolerance, nor but for value or hue.

    Within are those, too, of which doubt could hide that they are.

    `wanted`, `lab`: shapes (3,) and (…, 3), CIELAB D50. `covariance`: shape (…, 3, 3), of their
    difference. `tolerance`: CIEDE2000 at kL 1.
    """
    off = ciede2000(wanted, lab) - tolerance
    hidden = np.minimum(HIDES * tolerance, doubt_of(wanted, lab, covariance))
    within = (off <= 0.0) | (off <= hidden)
    near = _but_for_value(wanted, lab, tolerance) | _but_for_hue(wanted, lab, tolerance)
    out = np.array(~(within | near))
    flat, left = out.reshape(-1), np.flatnonzero(out)
    rest = lab.reshape(-1, 3)[left], covariance.reshape(-1, 3, 3)[left]
    chances = acceptances(wanted, *rest, tolerance=tolerance).tolist()
    flat[left] = [not may_pass(chance) for chance in chances]
    return out
