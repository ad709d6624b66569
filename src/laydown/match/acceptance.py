"""The chance that an observer accepts a match, given how sure its color is."""

from functools import cache
from itertools import product
from math import erfc, hypot, sqrt

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.color.difference import ciede2000
from laydown.reference.thresholds import thresholds

NODES = 7
"""Points along each of the three axes of the covariance."""


def acceptance(
    wanted: FloatArray, lab: FloatArray, covariance: FloatArray, *, tolerance: float
) -> float:
    """Return the chance that an observer accepts a color in place of the one wanted.

    An observer accepts a pair whose difference lies below their own tolerance. Tolerances are taken
    to scatter log-normally about `tolerance`, at which half of observers accept, and so is what
    looks ΔE apart about what the formula says, so that of a pair ΔE apart a share
    Φ(ln(tolerance / ΔE) / σ) accepts, σ² being the sum of both variances. That share is averaged
    over what the color may turn out to be, by a Gauss–Hermite rule along the axes of the
    covariance: no chance is drawn, so the same question has the same answer.

    Of the two parts of σ = .51, the formula's scatter about the eye (.32) was measured, that of
    observers' tolerances (.40) is chosen (see the table of thresholds); where the covariance is
    much wider than the tolerance, the rule is right to about one in a hundred.

    Parameters
    ----------
    wanted, lab
        Shape (3,), CIELAB of the target and of the prediction.
    covariance
        Shape (3, 3), of prediction and target together [CIELAB²].
    tolerance
        CIEDE2000 at which half of observers accept.

    Returns
    -------
    float
        From 0 to 1.

    References
    ----------
    A. H. Stroud, D. Secrest, *Gaussian Quadrature Formulas*, 1966, for the rule.

    Examples
    --------
    A color known for certain, just as far off as the tolerance:

    >>> from laydown.color.difference import ciede2000
    >>> wanted, lab = np.array([50.0, 0, 0]), np.array([52.0, 0, 0])
    >>> far = float(ciede2000(wanted, lab))
    >>> round(acceptance(wanted, lab, np.zeros((3, 3)), tolerance=far), 6)
    0.5
    """
    return float(acceptances(wanted, lab, covariance, tolerance=tolerance))


def acceptances(
    wanted: FloatArray, lab: FloatArray, covariance: FloatArray, *, tolerance: float
) -> FloatArray:
    """Return the chance of each of several colors, shape (…), as `acceptance` does.

    Parameters
    ----------
    lab, covariance
        Shapes (…, 3) and (…, 3, 3).
    wanted, tolerance
        As there.
    """
    spreads, axes = np.linalg.eigh(covariance)
    points, weights = _cubature()
    roots = np.sqrt(np.maximum(spreads, 0.0))[..., None, :]
    cloud = lab[..., None, :] + (points * roots) @ np.swapaxes(axes, -1, -2)
    return np.asarray(accepting_share(ciede2000(wanted, cloud), tolerance=tolerance) @ weights)


def accepting_share(delta_e: FloatArray, *, tolerance: float) -> FloatArray:
    """Return the share of observers who accept a pair this far apart, see `acceptance`."""
    spread = hypot(thresholds()["observer spread"], thresholds()["formula spread"])
    steps = np.log(tolerance / np.maximum(delta_e, 1e-9)) / spread
    return normal_below(np.asarray(steps))


def normal_below(z: FloatArray) -> FloatArray:
    """Return the share of a normal distribution below z.

    Examples
    --------
    >>> [round(float(p), 4) for p in normal_below(np.array([-1.6449, 0.0, 1.0]))]
    [0.05, 0.5, 0.8413]
    """
    halves = [0.5 * erfc(-value / sqrt(2.0)) for value in np.ravel(z)]
    return np.array(halves).reshape(np.shape(z))


@cache
def _cubature() -> tuple[FloatArray, FloatArray]:
    nodes, weights = np.polynomial.hermite_e.hermegauss(NODES)
    points = np.array(list(product(nodes, repeat=3)))
    shares = np.array([np.prod(row) for row in product(weights, repeat=3)])
    return points, shares / shares.sum()
