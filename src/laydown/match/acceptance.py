"""The chance that an observer accepts a match, given how sure its color is; and in words."""

from functools import cache
from itertools import product
from math import hypot

import numpy as np
from numpy.typing import NDArray

from laydown.color.arrays import FloatArray
from laydown.color.lab import ciede2000
from laydown.reference.thresholds import thresholds

NODES = 7
"""Points along each of the three axes of the covariance."""
INNER = 1.5
"""Three of them lie nearer to the middle than so many standard deviations, and count most."""


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

    `wanted`, `lab`: shape (3,), CIELAB of the target and of the prediction. `covariance`: shape (3,
    3), of prediction and target together [CIELAB²]. `tolerance`: CIEDE2000 at which half of
    observers accept. From 0 to 1.

    Source: A. H. Stroud, D. Secrest, *Gaussian Quadrature Formulas*, 1966, for the rule.

    A color known for certain, just as far off as the tolerance:

    >>> from laydown.color.lab import ciede2000
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

    `lab`, `covariance`: shapes (…, 3) and (…, 3, 3). `wanted`, `tolerance`: as there.
    """
    points, weights, _ = _cubature()
    return np.asarray(_shares(wanted, lab, _spread(covariance), points, tolerance) @ weights)


def may_each_pass(
    wanted: FloatArray, lab: FloatArray, covariance: FloatArray, *, tolerance: float
) -> NDArray[np.bool_]:
    """Return which of n colors may pass, as `may_pass` says of their `acceptances`.

    Of the rule's 343 points the 27 in the middle have four fifths of all weight. What they say
    decides for nearly all colors, whatever the others would.

    `lab`, `covariance`: shapes (n, 3) and (n, 3, 3). `wanted`, `tolerance`: as there.
    """
    points, weights, middle = _cubature()
    spread = _spread(covariance)
    least = _shares(wanted, lab, spread, points[middle], tolerance) @ weights[middle]
    passing = _each_passes(least)
    left = np.flatnonzero(_each_passes(least + weights[~middle].sum()) & ~passing)
    some = lab[left], (spread[0][left], spread[1][left])
    further = _shares(wanted, *some, points[~middle], tolerance) @ weights[~middle]
    passing[left] = _each_passes(least[left] + further)
    return passing


def _each_passes(chances: FloatArray) -> NDArray[np.bool_]:
    return np.array([may_pass(chance) for chance in chances.tolist()], dtype=np.bool_)


_Spread = tuple[FloatArray, FloatArray]
"""Standard deviations (…, 3) along the axes of covariances, and these (…, 3, 3), in columns."""


def _spread(covariance: FloatArray) -> _Spread:
    spreads, axes = np.linalg.eigh(covariance)
    return np.sqrt(np.maximum(spreads, 0.0)), axes


def _shares(
    wanted: FloatArray, lab: FloatArray, spread: _Spread, points: FloatArray, tolerance: float
) -> FloatArray:
    """Return the share of observers who accept at each of some points (k, 3), shape (…, k)."""
    roots, axes = spread
    cloud = lab[..., None, :] + (points * roots[..., None, :]) @ np.swapaxes(axes, -1, -2)
    return accepting_share(ciede2000(wanted, cloud), tolerance=tolerance)


def accepting_share(delta_e: FloatArray, *, tolerance: float) -> FloatArray:
    """Return the share of observers who accept a pair this far apart, see `acceptance`."""
    from scipy.special import ndtr  # noqa: PLC0415 - slow to import, where nothing is judged

    spread = hypot(thresholds()["observer spread"], thresholds()["formula spread"])
    steps = np.log(tolerance / np.maximum(delta_e, 1e-9)) / spread
    return np.asarray(ndtr(steps))


@cache
def _cubature() -> tuple[FloatArray, FloatArray, NDArray[np.bool_]]:
    """Return the rule's points, their weights, and which stand in the middle along each axis."""
    nodes, weights = np.polynomial.hermite_e.hermegauss(NODES)
    points = np.array(list(product(nodes, repeat=3)))
    shares = np.array([np.prod(row) for row in product(weights, repeat=3)])
    middle = (np.abs(points) < INNER).all(axis=1)
    return points, shares / shares.sum(), middle


# A chance in words, at every door the same: never in more digits than are known.

CLOSENESS = ((0.20, "probably not close enough"), (0.50, "may pass"), (0.75, "probably close"))
"""What is said of a match whose chance to be accepted, in steps of .05, is at most that."""
LIKELY, PERHAPS = CLOSENESS[1][0], CLOSENESS[0][0]


def in_steps(chance: float) -> float:
    """Return a chance in the steps in which it is told: a word never disagrees with the number."""
    return round(20 * chance) / 20


def likely(chance: float) -> bool:
    """Whether a match is likelier accepted than not, as its chance is told: *close* or *probably*.

    >>> likely(0.52), likely(0.53)
    (False, True)
    """
    return in_steps(chance) > LIKELY


def may_pass(chance: float) -> bool:
    """Whether a match may pass at least, as its chance is told.

    >>> may_pass(0.22), may_pass(0.23)
    (False, True)
    """
    return in_steps(chance) > PERHAPS


def chance_words(chance: float) -> str:
    """Say a chance in steps of five in a hundred.

    >>> chance_words(0.643), chance_words(0.01), chance_words(0.998)
    ('about 65 in 100', 'under 5 in 100', 'over 95 in 100')
    """
    rounded = 5 * round(20 * chance)
    if rounded > 95:
        return "over 95 in 100"
    return f"about {rounded} in 100" if rounded >= 5 else "under 5 in 100"


def closeness(chance: float) -> str:
    """Say how close a match is, by its chance to be accepted.

    >>> closeness(0.62), closeness(0.99)
    ('probably close', 'close')
    """
    return next((word for most, word in CLOSENESS if in_steps(chance) <= most), "close")


def acceptance_words(chance: float, tolerance: str = "") -> str:
    """Say how likely an observer accepts a match, and how close it has to come where that is told.

    >>> acceptance_words(0.62), acceptance_words(0.99, "class")
    ('probably close: accepted by about 60 in 100', 'close: accepted by over 95 in 100 (class)')
    """
    return f"{closeness(chance)}: accepted by {chance_words(chance)}" + (
        f" ({tolerance})" if tolerance else ""
    )
