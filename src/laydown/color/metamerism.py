"""How far a pair of colors that agree under one light comes apart under another."""

from collections.abc import Callable

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.color.difference import ciede2000
from laydown.color.lab import lab_from_xyz

Difference = Callable[[FloatArray, FloatArray], FloatArray]
"""A color-difference formula: two Lab (…, 3) to their differences (…)."""


def corrected_for_mismatch(
    xyz_test: FloatArray, *, wanted_reference: FloatArray, xyz_reference: FloatArray
) -> FloatArray:
    """Take out of a color under the test light what was off under the reference light already.

    Parameters
    ----------
    xyz_test
        Shape (…, 3), the color obtained, under the test light.
    wanted_reference, xyz_reference
        Shape (…, 3), the color wanted and the one obtained, under the reference light; none of the
        latter's numbers is 0.

    Returns
    -------
    FloatArray
        Shape (…, 3), X, Y and Z each times wanted / obtained under the reference light.

    Notes
    -----
    The multiplicative correction in X, Y, Z. It is true for small mismatches; of a pair that is
    far apart by day it says little.

    References
    ----------
    ISO 18314-4:2024, Analytical colorimetry, part 4 (multiplicative correction of XYZ); CIE
    015:2018, special metamerism index.

    Examples
    --------
    What is a tenth too much by day is taken for a tenth too much by lamp.

    >>> day, wanted, lamp = np.full(3, 22.0), np.full(3, 20.0), np.full(3, 33.0)
    >>> corrected_for_mismatch(lamp, wanted_reference=wanted, xyz_reference=day).round(9).tolist()
    [30.0, 30.0, 30.0]
    """
    share = np.asarray(wanted_reference, dtype=np.float64) / xyz_reference
    return np.asarray(xyz_test * share, dtype=np.float64)


def metamerism_index(
    *,
    wanted_reference: FloatArray,
    xyz_reference: FloatArray,
    wanted_test: FloatArray,
    xyz_test: FloatArray,
    white_test: FloatArray,
    difference: Difference = ciede2000,
) -> FloatArray:
    """Return the special metamerism index of a pair for a change of light.

    Parameters
    ----------
    wanted_reference, xyz_reference
        Shape (…, 3), XYZ of the color wanted and the one obtained, under the reference light.
    wanted_test, xyz_test
        Shape (…, 3), the same under the test light.
    white_test
        Shape (3,), XYZ of the perfect white under the test light.
    difference
        The formula that the index is told in, which is to be named beside it.

    Returns
    -------
    FloatArray
        Shape (…), the difference under the test light once the mismatch under the reference light
        is taken out; 0 for a pair with one spectrum.

    Notes
    -----
    The CIE prefers D65 as the reference light; here it is whichever the colors were given for,
    which in laydown is D50, as in all else. Of a fluorescent pair it says nothing. It says how far
    the pair comes apart, not whether either color keeps its look (that is color constancy).

    References
    ----------
    ISO 18314-4:2024, Analytical colorimetry, part 4: Metamerism index for pairs of samples for
    change of illuminant; CIE 015:2018, Colorimetry, special metamerism index: change in illuminant.

    Examples
    --------
    >>> day, lamp = np.array([20.0, 20.0, 16.0]), np.array([22.0, 20.0, 7.0])
    >>> white = np.array([109.85, 100.0, 35.58])
    >>> pair = {"wanted_reference": day, "wanted_test": lamp, "white_test": white}
    >>> float(metamerism_index(**pair, xyz_reference=day, xyz_test=lamp))
    0.0
    """
    corrected = corrected_for_mismatch(
        xyz_test, wanted_reference=wanted_reference, xyz_reference=xyz_reference
    )
    wanted, obtained = (lab_from_xyz(xyz, white=white_test) for xyz in (wanted_test, corrected))
    return difference(wanted, obtained)
