"""A finely tabled way from absorption back to reflectance, for the compiled loops."""

from collections.abc import Callable

import numpy as np

from laydown.color.arrays import FloatArray

KNOTS_PER_UNIT = 500


def tabled_inverse(
    inverse: Callable[[FloatArray], FloatArray], *, scale: float, most: float
) -> FloatArray:
    """Table the reflectance of a pile over its absorption as cubics between close knots.

    With R = exp(−u) the scale of `laydown.media.marker.absorption` reads
    A = (1 − w) u + w (cosh u − 1). Cutting cosh short gives v = 2 A / ((1 − w) +
    √((1 − w)² + 2 w A)), in which R is smooth for every w, so a cubic through values and slopes at
    knots 1/500 apart is right to about 1e-11. Beyond `most` the last cubic must not be used.

    Parameters
    ----------
    inverse
        From absorption to reflectance at this scale.
    scale
        w in [0, 1], from clear film to dye in the fibre.
    most
        The largest absorption that will be asked for.

    Returns
    -------
    FloatArray
        Shape (knots + 1, 4); the first row is (1 − w, w, knots per unit of v, 0).

    Examples
    --------
    >>> table = tabled_inverse(lambda a: np.exp(-a), scale=0.0, most=1.0)
    >>> bool(abs(table[1:, 0].min() - np.exp(-1.0)) < 0.01)
    True
    """
    one_less = 1.0 - scale
    reach = 2.0 * most / (one_less + np.sqrt(one_less**2 + 2.0 * scale * most))
    knots = np.arange(int(reach * KNOTS_PER_UNIT) + 3) / KNOTS_PER_UNIT
    value = inverse(one_less * knots + 0.5 * scale * knots**2)
    u = -np.log(value)
    rate = one_less + scale * np.sinh(u)
    slope = np.empty_like(u)
    slope[1:] = -value[1:] * (one_less + scale * knots[1:]) / rate[1:] / KNOTS_PER_UNIT
    slope[0] = -1.0 / KNOTS_PER_UNIT
    rise = np.diff(value)
    rows = np.zeros((len(knots), 4))
    rows[0] = one_less, scale, KNOTS_PER_UNIT, 0.0
    rows[1:, 0] = value[:-1]
    rows[1:, 1] = slope[:-1]
    rows[1:, 2] = 3.0 * rise - 2.0 * slope[:-1] - slope[1:]
    rows[1:, 3] = slope[:-1] + slope[1:] - 2.0 * rise
    return rows
