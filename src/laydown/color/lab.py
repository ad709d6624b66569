"""CIELAB, its polar form LCh, and IPT, in which drift of hue shows."""

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.color.tristimulus import WEIGHTS_D50, WHITE_D50, adapt, xyz_from_reflectance

EPSILON = (6.0 / 29.0) ** 3
"""Share of white below which the cube root is replaced by a straight line."""
SLOPE = 841.0 / 108.0
"""Slope of that line, (29/6)²/3."""


def lab_from_xyz(xyz: FloatArray, *, white: FloatArray = WHITE_D50) -> FloatArray:
    """Turn XYZ into CIELAB.

    `xyz`: shape (…, 3) [perfect white at Y = 100]. `white`: shape (3,) or (…, 3), XYZ of the white.
    Returns shape (…, 3), L* [0 to 100], a*, b*.

    Equations 8.3 to 8.10 of CIE 015. True as a scale of differences only near a light like D50
    or D65, on a gray surround, for small areas of color.

    Source: CIE 015:2018, section 8.2.1; ISO/CIE 11664-4.

    An eighth of white has the cube root ½: L* = 116/2 − 16 = 42.

    >>> lab_from_xyz(WHITE_D50 / 8.0).round(9).tolist()
    [42.0, 0.0, 0.0]
    """
    t = np.asarray(xyz, dtype=np.float64) / white
    f = np.where(t > EPSILON, np.cbrt(t), SLOPE * t + 4.0 / 29.0)
    x, y, z = f[..., 0], f[..., 1], f[..., 2]
    return np.stack([116.0 * y - 16.0, 500.0 * (x - y), 200.0 * (y - z)], axis=-1)


def xyz_from_lab(lab: FloatArray, *, white: FloatArray = WHITE_D50) -> FloatArray:
    """Turn CIELAB back into XYZ.

    `lab`: shape (…, 3). `white`: shape (3,) or (…, 3), XYZ of the white. Returns shape (…, 3)
    [perfect white at Y = 100]; not every L*, a*, b* is a color that can be.

    Source: CIE 015:2018, annex D (inverse of section 8.2.1).

    >>> (xyz_from_lab(np.array([42.0, 0.0, 0.0])) / WHITE_D50).round(9).tolist()
    [0.125, 0.125, 0.125]
    """
    lab = np.asarray(lab, dtype=np.float64)
    y = (lab[..., 0] + 16.0) / 116.0
    f = np.stack([y + lab[..., 1] / 500.0, y, y - lab[..., 2] / 200.0], axis=-1)
    t = np.where(f > 6.0 / 29.0, f**3, (f - 4.0 / 29.0) / SLOPE)
    return np.asarray(t * white, dtype=np.float64)


def lch_from_lab(lab: FloatArray) -> FloatArray:
    """Turn L*, a*, b* into lightness, chroma and hue angle.

    `lab`: shape (…, 3). Returns shape (…, 3), L*, C* and h [degrees, 0 to below 360]; the hue of a
    gray says nothing.

    Source: CIE 015:2018, section 8.2.1.2.

    >>> lch_from_lab(np.array([50.0, 3.0, 4.0])).round(2).tolist()
    [50.0, 5.0, 53.13]
    """
    lab = np.asarray(lab, dtype=np.float64)
    a, b = lab[..., 1], lab[..., 2]
    hue = np.mod(np.degrees(np.arctan2(b, a)), 360.0)
    hue = np.where(hue < 360.0, hue, 0.0)  # a hair below 0 may round up to 360
    return np.stack([lab[..., 0], np.hypot(a, b), hue], axis=-1)


def lab_from_lch(lch: FloatArray) -> FloatArray:
    """Turn lightness, chroma and hue angle into L*, a*, b*.

    `lch`: shape (…, 3), h in degrees. Returns shape (…, 3).

    >>> lab_from_lch(np.array([50.0, 5.0, 90.0])).round(9).tolist()
    [50.0, 0.0, 5.0]
    """
    lch = np.asarray(lch, dtype=np.float64)
    hue = np.radians(lch[..., 2])
    return np.stack([lch[..., 0], lch[..., 1] * np.cos(hue), lch[..., 1] * np.sin(hue)], axis=-1)


def lab_from_reflectance(
    reflectance: FloatArray, *, weights: FloatArray = WEIGHTS_D50
) -> FloatArray:
    """See reflectances under a light and put them in CIELAB, against that light's own white.

    `reflectance`: shape (…, 36) [0 to 1]. `weights`: shape (36, 3), the light's own, from
    `laydown.color.light.weights`; D50 if not given. Returns shape (…, 3).

    >>> lab_from_reflectance(np.full(36, 0.125)).round(9).tolist()
    [42.0, 0.0, 0.0]
    """
    xyz = xyz_from_reflectance(reflectance, weights=weights)
    return lab_from_xyz(xyz, white=weights.sum(axis=0))


# IPT: a space in which colors of one hue lie on a straight line from gray, so that drift shows.

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

    `xyz`: shape (…, 3), the perfect white at Y = 100. `white`: shape (3,), the white that it was
    seen under; it is adapted to D65. Returns shape (…, 3): I from 0 to 1, P red to green, T yellow
    to blue.

    The power is taken of the absolute response and gets its sign back, as the reference has it for
    responses below 0. Made for surface colors under average surrounds.

    Source: F. Ebner, M. D. Fairchild, *Development and testing of a color space (IPT) with improved
    hue uniformity*, IS&T 6th Color Imaging Conference, 1998.

    The white has I = 1 and no hue:

    >>> np.abs(np.round(ipt_from_xyz(WHITE_D50), 2)).tolist()
    [1.0, 0.0, 0.0]
    """
    seen = adapt(xyz, white_from=white, white_to=WHITE_D65) / 100.0
    cones = seen @ TO_CONES.T
    return np.asarray((np.sign(cones) * np.abs(cones) ** POWER) @ TO_IPT.T)


def hue_and_chroma(lab: FloatArray) -> FloatArray:
    """Return hue angle [degrees, 0 to 360] and chroma of IPT for CIELAB D50, shape (…, 2).

    >>> gray = hue_and_chroma(np.array([50.0, 0.0, 0.0]))
    >>> bool(gray[1] < 0.001)
    True
    """
    ipt = ipt_from_xyz(xyz_from_lab(lab))
    hue = np.degrees(np.arctan2(ipt[..., 2], ipt[..., 1])) % 360.0
    return np.stack([hue, np.hypot(ipt[..., 1], ipt[..., 2])], axis=-1)
