"""The difference between two colors, CIEDE2000."""

import numpy as np

from laydown.color.arrays import FloatArray

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
    L_1, a_1, b_1 = _channels(lab_1)
    L_2, a_2, b_2 = _channels(lab_2)
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


def _channels(lab: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
    lab = np.asarray(lab, dtype=np.float64)
    return lab[..., 0], lab[..., 1], lab[..., 2]


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
