"""How far a predicted color may stray: in value, and in its difference from the one wanted."""

from functools import cache
from math import sqrt
from statistics import NormalDist

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.color.difference import ciede2000
from laydown.color.value import value_from_lab

SHARE = 0.8
"""The share of outcomes that a stated margin or range is meant to hold."""
POINTS = 1024
"""Points of the cloud that stands for what a color may turn out to be."""
_PLASTIC = 1.2207440846057596
"""Root of x⁴ = x + 1, whose powers spread points evenly over a cube (Roberts' sequence)."""


def value_margin(lab: FloatArray, covariance: FloatArray) -> float:
    """Return by how many value steps a color may come out lighter or darker, 80 times in 100.

    Parameters
    ----------
    lab
        Shape (3,), the predicted CIELAB.
    covariance
        Shape (3, 3) [CIELAB²].

    Returns
    -------
    float
        Half the range in value steps. Value runs nearly straight with L*, so that the range is
        taken as even on both sides.

    Examples
    --------
    A step of value is about ten units of L*, so ± 1.28 units of one are about an eighth of a step:

    >>> round(value_margin(np.array([50.0, 0.0, 0.0]), np.diag([1.0, 0.0, 0.0])), 2)
    0.13
    """
    reach = NormalDist().inv_cdf((1.0 + SHARE) / 2.0) * sqrt(max(float(covariance[0, 0]), 0.0))
    ends = np.array([[max(lab[0] + side * reach, 0.0), 0.0, 0.0] for side in (1.0, -1.0)])
    light, dark = value_from_lab(ends)
    return float(light - dark) / 2.0


def difference_range(
    wanted: FloatArray, lab: FloatArray, covariance: FloatArray
) -> tuple[float, float]:
    """Return the range of CIEDE2000 that holds 80 in 100 outcomes, a tenth left out at each end.

    Parameters
    ----------
    wanted, lab
        Shape (3,), CIELAB of the target and of the prediction.
    covariance
        Shape (3, 3), of target and prediction together [CIELAB²].

    Returns
    -------
    tuple of float
        Low and high. With no uncertainty both are the difference itself. Where the prediction lies
        on the target the low end is still above 0: three coordinates seldom all come out right.

    References
    ----------
    M. Roberts, *The unreasonable effectiveness of quasirandom sequences*, 2018, for the points: no
    chance is drawn, so the same question has the same answer.

    Examples
    --------
    >>> gray = np.array([50.0, 0.0, 0.0])
    >>> difference_range(gray, gray, np.zeros((3, 3)))
    (0.0, 0.0)
    """
    spreads, axes = np.linalg.eigh(covariance)
    cloud = lab + (_cloud() * np.sqrt(np.maximum(spreads, 0.0))) @ axes.T
    tail = (1.0 - SHARE) / 2.0
    low, high = np.quantile(ciede2000(wanted, cloud), (tail, 1.0 - tail))
    return float(low), float(high)


@cache
def _cloud() -> FloatArray:
    """Spread points as a standard normal in three dimensions, shape (POINTS, 3)."""
    steps = _PLASTIC ** -np.arange(1.0, 4.0)
    cube = (0.5 + np.outer(np.arange(1, POINTS + 1), steps)) % 1.0
    below = NormalDist().inv_cdf
    return np.array([[below(float(share)) for share in row] for row in cube])
