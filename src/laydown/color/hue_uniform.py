"""A space in which colors of one hue lie on a straight line from gray, so that drift shows."""

import numpy as np

from laydown.color.adaptation import adapt
from laydown.color.arrays import FloatArray
from laydown.color.lab import xyz_from_lab
from laydown.color.tristimulus import WHITE_D50

WHITE_D65: FloatArray = np.array([95.047, 100.0, 108.883])
"""XYZ of D65 for the 2° observer, CIE 15."""
TO_CONES: FloatArray = np.array(
    [[0.4002, 0.7075, -0.0807], [-0.2280, 1.1500, 0.0612], [0.0, 0.0, 0.9184]]
)
"""XYZ (white at Y = 1, D65) to cone responses, eq. of the reference."""
TO_IPT: FloatArray = np.array(
    [[0.4000, 0.4000, 0.2000], [4.4550, -4.8510, 0.3960], [0.8056, 0.3572, -1.1628]]
)
"""Compressed cone responses to I, P, T."""
POWER = 0.43


def ipt_from_xyz(xyz: FloatArray, *, white: FloatArray = WHITE_D50) -> FloatArray:
    """Return IPT of XYZ.

    Parameters
    ----------
    xyz
        Shape (…, 3), the perfect white at Y = 100.
    white
        Shape (3,), the white that it was seen under; it is adapted to D65.

    Returns
    -------
    FloatArray
        Shape (…, 3): I from 0 to 1, P red to green, T yellow to blue.

    Notes
    -----
    The power is taken of the absolute response and gets its sign back, as the reference has it for
    responses below 0. Made for surface colors under average surrounds.

    References
    ----------
    F. Ebner, M. D. Fairchild, *Development and testing of a color space (IPT) with improved hue
    uniformity*, IS&T 6th Color Imaging Conference, 1998.

    Examples
    --------
    The white has I = 1 and no hue:

    >>> np.abs(np.round(ipt_from_xyz(WHITE_D50), 2)).tolist()
    [1.0, 0.0, 0.0]
    """
    seen = adapt(xyz, white_from=white, white_to=WHITE_D65) / 100.0
    cones = seen @ TO_CONES.T
    return np.asarray((np.sign(cones) * np.abs(cones) ** POWER) @ TO_IPT.T)


def hue_and_chroma(lab: FloatArray) -> FloatArray:
    """Return hue angle [degrees, 0 to 360] and chroma of IPT for CIELAB D50, shape (…, 2).

    Examples
    --------
    >>> gray = hue_and_chroma(np.array([50.0, 0.0, 0.0]))
    >>> bool(gray[1] < 0.001)
    True
    """
    ipt = ipt_from_xyz(xyz_from_lab(lab))
    hue = np.degrees(np.arctan2(ipt[..., 2], ipt[..., 1])) % 360.0
    return np.stack([hue, np.hypot(ipt[..., 1], ipt[..., 2])], axis=-1)
