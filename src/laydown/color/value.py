"""Value, 0 black to 10 white, on the scale of ASTM D1535."""

import numpy as np
from numpy.polynomial.polynomial import polyder, polyval

from laydown.color.arrays import FloatArray
from laydown.color.lab import EPSILON, SLOPE, WHITE_D50

COEFFICIENTS = (0.0, 1.1914, -0.22533, 0.23352, -0.020484, 0.00081939)
"""Of the polynomial in value, constant term first (ASTM D1535)."""
STARTS: FloatArray = np.linspace(0.0, 11.0, 221)
"""Each twentieth of a value, from which the inverse starts."""


def luminance_from_value(value: FloatArray | float) -> FloatArray:
    """Turn value into luminance.

    `value`: shape (…) [0 to 10]. Returns shape (…), Y [perfect white at 100].

    The polynomial of D1535, already on the scale of the perfect white. The standard gives Y under
    light C; under D50 the Y of a surface differs by little, of a gray not at all.

    Source: ASTM D1535, Standard practice for specifying color by the Munsell system.

    At value 1 the coefficients just add up: 1.1914 − .22533 + .23352 − .020484 + .00081939.

    >>> float(luminance_from_value(1.0).round(4))
    1.1799
    """
    return np.asarray(polyval(np.asarray(value, dtype=np.float64), COEFFICIENTS))


def gray_of_value(value: float) -> FloatArray:
    """Return the XYZ under D50 of a neutral gray of a value [0 to 10], shape (3,).

    >>> round(float(gray_of_value(5.0)[1]), 2)
    19.27
    """
    return WHITE_D50 * float(luminance_from_value(value)) / 100.0


STARTS_SEEN: FloatArray = luminance_from_value(STARTS)


def value_from_luminance(luminance: FloatArray | float) -> FloatArray:
    """Turn luminance into value.

    `luminance`: shape (…), Y [perfect white at 100]; below 0 counts as 0. Returns shape (…) [0 to
    10, above where the surface is whiter than white].

    Three Newton steps from the nearest twentieth of a value, exact to the last digits; the
    polynomial rises everywhere from 0 on.

    Source: ASTM D1535.

    >>> float(value_from_luminance(luminance_from_value(5.5)).round(12))
    5.5
    """
    y = np.maximum(np.asarray(luminance, dtype=np.float64), 0.0)
    slopes = polyder(COEFFICIENTS)
    v = np.interp(y, STARTS_SEEN, STARTS)
    for _ in range(3):
        v = v - (luminance_from_value(v) - y) / polyval(v, slopes)
    return np.asarray(v, dtype=np.float64)


def value_from_lab(lab: FloatArray) -> FloatArray:
    """Return the value of colors in CIELAB.

    `lab`: shape (…, 3). Returns shape (…) [0 to 10].

    L* 50 is Y 18.42, close below value 5 with its Y 19.27.

    >>> float(value_from_lab(np.array([50.0, 0.0, 0.0])).round(2))
    4.9
    """
    f = (np.asarray(lab, dtype=np.float64)[..., 0] + 16.0) / 116.0
    t = np.where(f**3 > EPSILON, f**3, (f - 4.0 / 29.0) / SLOPE)
    return value_from_luminance(100.0 * t)


def grays(lab: FloatArray) -> FloatArray:
    """Return colors as the neutral grays of their values.

    `lab`: shape (…, 3).

    >>> grays(np.array([60.0, 8.0, 30.0])).tolist()
    [60.0, 0.0, 0.0]
    """
    return np.asarray(lab * np.array([1.0, 0.0, 0.0]))
