"""From reflectance to XYZ and CIELAB under D50; IPT, in which drift of hue shows; CIEDE2000."""

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.reference.tables import load_table, numbers_of

# CIE XYZ under D50 and the 2° observer, white at Y = 100; other whites.

WEIGHTS_D50: FloatArray = numbers_of(load_table("weights_d50"), "X", "Y", "Z")
"""Shape (36, 3): reflectance @ WEIGHTS_D50 is XYZ."""
WHITE_D50: FloatArray = WEIGHTS_D50.sum(axis=0)
"""Shape (3,): XYZ of the perfect white, so that it is L* 100, a* 0, b* 0 exactly."""
WEIGHTS_D50.flags.writeable = False
WHITE_D50.flags.writeable = False


def xyz_from_reflectance(
    reflectance: FloatArray, *, weights: FloatArray = WEIGHTS_D50
) -> FloatArray:
    """See reflectances under a light, as the CIE 1931 observer does.

    `reflectance`: shape (…, 36) [0 to 1]. `weights`: shape (36, 3), the light's own, from
    `laydown.color.light.weights`. Returns shape (…, 3), XYZ [perfect white at Y = 100].

    A fluorescent surface has another reflectance under another light; for it only the light it
    was measured under is true.

    Source: CIE 015:2018, section 7; ASTM E308.

    A gray that returns half of every wavelength has half of white's XYZ.

    >>> (xyz_from_reflectance(np.full(36, 0.5)) / WHITE_D50).round(12).tolist()
    [0.5, 0.5, 0.5]
    """
    return np.asarray(reflectance, dtype=np.float64) @ weights


BRADFORD: FloatArray = np.array(
    [[0.8951, 0.2664, -0.1614], [-0.7502, 1.7135, 0.0367], [0.0389, -0.0685, 1.0296]]
)
"""From XYZ to the cone responses in which white is scaled (ICC.1, annex E)."""
BRADFORD.flags.writeable = False


def adapt(xyz: FloatArray, *, white_from: FloatArray, white_to: FloatArray) -> FloatArray:
    """Estimate the XYZ under one light of surfaces known under another.

    `xyz`: shape (…, 3) under the first light [its white at Y = 100]. `white_from`, `white_to`:
    shape (3,), XYZ of the perfect white under the first and the second light. Returns shape (…, 3)
    under the second light.

    Bradford, linear. What a surface does under another light its XYZ can't tell; on 190 measured
    patches taken from daylight C to D50 the estimate was off by CIEDE2000 0.7 on average and 1.9
    at most (docs/decisions/color.md). With a spectrum, use the light's own weights.

    Source: ICC.1:2022, annex E; K. M. Lam, Metamerism and colour constancy, Ph.D. thesis,
    University of Bradford (1985).

    White becomes the other light's white.

    >>> daylight, lamp = np.array([95.05, 100.0, 108.9]), np.array([109.85, 100.0, 35.58])
    >>> adapt(daylight, white_from=daylight, white_to=lamp).round(9).tolist()
    [109.85, 100.0, 35.58]
    """
    gain = (BRADFORD @ white_to) / (BRADFORD @ white_from)
    matrix = np.linalg.solve(BRADFORD, gain[:, None] * BRADFORD)
    return np.asarray(xyz, dtype=np.float64) @ matrix.T


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


TIE = 1e-9
"""Hues so near to 180° apart [degrees] count as just 180°: rounding must not choose the side."""


def ciede2000(
    lab_1: FloatArray, lab_2: FloatArray, *, k_L: float = 1.0, k_C: float = 1.0, k_H: float = 1.0
) -> FloatArray:
    """Measure how different two colors look.

    `lab_1`, `lab_2`: shape (…, 3), CIELAB; they broadcast against each other. `k_L`, `k_C`, `k_H`:
    parametric factors: above 1, a difference of lightness, chroma or hue counts less. Returns shape
    (…), the same when the two change places.

    Equations 2 to 22 of Sharma and others. Made for small differences (up to about 5) between
    plain patches side by side; beyond, it orders but does not measure. It jumps where hues are
    180° apart; there we take the mean hue as if they were no farther than 180°, also when
    rounding made them a hair farther, which their printed pair 14 shows to matter.

    Source: G. Sharma, W. Wu, E. N. Dalal, The CIEDE2000 color-difference formula, Color Res. Appl.
    30 (2005) 21–30; ISO/CIE 11664-6.

    Between grays only lightness counts: ΔL* 10 at mean L* 50, where S_L is 1.

    >>> float(ciede2000(np.array([45.0, 0.0, 0.0]), np.array([55.0, 0.0, 0.0])).round(9))
    10.0
    """
    L_1, a_1, b_1 = np.moveaxis(np.asarray(lab_1, dtype=np.float64), -1, 0)
    L_2, a_2, b_2 = np.moveaxis(np.asarray(lab_2, dtype=np.float64), -1, 0)
    G = 0.5 * (1.0 - _saturating(0.5 * (np.hypot(a_1, b_1) + np.hypot(a_2, b_2))))
    C_1, h_1 = _chroma_hue((1.0 + G) * a_1, b_1)
    C_2, h_2 = _chroma_hue((1.0 + G) * a_2, b_2)
    dh, mean_h = _hues(h_1, h_2, gray=C_1 * C_2 == 0.0)
    mean_C = 0.5 * (C_1 + C_2)
    S_L, S_C, S_H = _weights(0.5 * (L_1 + L_2), mean_C, mean_h)
    dL = (L_2 - L_1) / (k_L * S_L)
    dC = (C_2 - C_1) / (k_C * S_C)
    dH = 2.0 * np.sqrt(C_1 * C_2) * np.sin(np.radians(0.5 * dh)) / (k_H * S_H)
    turn = 60.0 * np.exp(-(((mean_h - 275.0) / 25.0) ** 2))
    R_T = -2.0 * _saturating(mean_C) * np.sin(np.radians(turn))
    return np.asarray(np.sqrt(np.maximum(dL**2 + dC**2 + dH**2 + R_T * dC * dH, 0.0)))


def _saturating(C: FloatArray) -> FloatArray:
    """Return √(C⁷ / (C⁷ + 25⁷)), of equations 4 and 19."""
    C_7 = C**7
    return np.asarray(np.sqrt(C_7 / (C_7 + 25.0**7)))


def _chroma_hue(a: FloatArray, b: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return C' and h' of equations 6 and 7; the hue of a gray says nothing and counts nowhere."""
    return np.hypot(a, b), np.mod(np.degrees(np.arctan2(b, a)), 360.0)


def _hues(h_1: FloatArray, h_2: FloatArray, *, gray: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return Δh' and the mean h' of equations 10 and 14; a gray takes the other's hue."""
    dh = h_2 - h_1
    near = np.abs(dh) <= 180.0 + TIE
    total = h_1 + h_2
    far_mean = 0.5 * (total + np.where(total < 360.0, 360.0, -360.0))
    mean = np.where(gray, total, np.where(near, 0.5 * total, far_mean))
    wrapped = np.where(near, dh, dh - np.copysign(360.0, dh))
    return np.where(gray, 0.0, wrapped), mean


def _weights(
    L: FloatArray, C: FloatArray, h: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return S_L, S_C and S_H of equations 15 to 18 at the means."""
    T = (
        1.0
        - 0.17 * np.cos(np.radians(h - 30.0))
        + 0.24 * np.cos(np.radians(2.0 * h))
        + 0.32 * np.cos(np.radians(3.0 * h + 6.0))
        - 0.20 * np.cos(np.radians(4.0 * h - 63.0))
    )
    S_L = 1.0 + 0.015 * (L - 50.0) ** 2 / np.sqrt(20.0 + (L - 50.0) ** 2)
    return S_L, 1.0 + 0.045 * C, 1.0 + 0.015 * C * T
