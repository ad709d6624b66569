"""A lower bound of CIEDE2000 that a processor computes sixteen lanes wide.

The proof stands in docs/decisions/search.md.
"""

from typing import Any

import numpy as np
from numpy.typing import NDArray

from laydown.color.arrays import FloatArray
from laydown.match.search.compiling import compiled

COS_275, SIN_275 = np.float32(0.08715574), np.float32(-0.9961947)
COS_30, SIN_30 = np.float32(0.8660254), np.float32(0.5)
COS_6, SIN_6 = np.float32(0.9945219), np.float32(0.10452846)
COS_63, SIN_63 = np.float32(0.4539905), np.float32(0.8910065)
F = np.float32
Single = NDArray[np.float32]


@compiled
def root_32(t: Any) -> Any:
    """Return the cube root of CIELAB in single precision, to a few parts in a million.

    x^(1/3) is near x^(1/4 + 1/16 + 1/64), which square roots give; two Newton steps do the rest.
    """
    x = max(t, F(0.008856452))
    fourth = np.sqrt(np.sqrt(x))
    sixteenth = np.sqrt(np.sqrt(fourth))
    y = fourth * sixteenth * np.sqrt(np.sqrt(sixteenth))
    y = (F(2.0) * y + x / (y * y)) * F(0.33333333)
    y = (F(2.0) * y + x / (y * y)) * F(0.33333333)
    return y if t > F(0.008856452) else t * F(7.787037) + F(0.13793103)


@compiled
def chroma_share(chroma: Any) -> Any:
    """Return sqrt(C^7 / (C^7 + 25^7))."""
    c = chroma * F(0.04)
    cube = c * c * c
    power = cube * cube * c
    return np.sqrt(power / (power + F(1.0)))


@compiled
def hue_weight(cos_h: Any, sin_h: Any) -> Any:
    """Return T of CIEDE2000 from the direction of the mean hue."""
    cos_2, sin_2 = F(2.0) * cos_h * cos_h - F(1.0), F(2.0) * sin_h * cos_h
    cos_3, sin_3 = cos_2 * cos_h - sin_2 * sin_h, sin_2 * cos_h + cos_2 * sin_h
    cos_4, sin_4 = F(2.0) * cos_2 * cos_2 - F(1.0), F(2.0) * sin_2 * cos_2
    return (
        F(1.0)
        - F(0.17) * (cos_h * COS_30 + sin_h * SIN_30)
        + F(0.24) * cos_2
        + F(0.32) * (cos_3 * COS_6 - sin_3 * SIN_6)
        - F(0.20) * (cos_4 * COS_63 + sin_4 * SIN_63)
    )


@compiled
def bound_row(  # noqa: PLR0917  a compiled loop, called in few places
    lanes: int, xyz: Single, target: FloatArray, ks: FloatArray, error: float, least: Single
) -> None:
    """Put into `least` no more than the CIEDE2000 of each color of a row.

    Parameters
    ----------
    lanes
        How many of the colors are asked for.
    xyz
        Shape (3, …), X/Xn, Y/Yn, Z/Zn, whose roots may be off by `error`.
    target
        Shape (3,), Lab.
    ks
        kL, kC, kH.
    least
        Filled up to `lanes`.
    """
    t_l, t_a, t_b, t_c = F(target[0]), F(target[1]), F(target[2]), F(np.hypot(target[1], target[2]))
    k_l, k_c, k_h = F(ks[0]), F(ks[1]), F(ks[2])
    off_l, off = F(116.0 * error + 1e-3), F(3100.0 * error + 1e-2)
    tiny, one, none = F(1e-6), F(1.0), F(0.0)
    for i in range(lanes):
        f_y = root_32(xyz[1, i])
        light = F(116.0) * f_y - F(16.0)
        a, b = F(500.0) * (root_32(xyz[0, i]) - f_y), F(200.0) * (f_y - root_32(xyz[2, i]))
        stretch = F(1.5) - F(0.5) * chroma_share(F(0.5) * (t_c + np.sqrt(a * a + b * b)))
        a_1, a_2 = stretch * t_a, stretch * a
        c_1, c_2 = np.sqrt(a_1 * a_1 + t_b * t_b), np.sqrt(a_2 * a_2 + b * b)
        mean = F(0.5) * (c_1 + c_2)
        middle = F(0.5) * (t_l + light) - F(50.0)
        bent = F(0.015) * middle * middle / np.sqrt(F(20.0) + middle * middle)
        s_l = one + bent + F(0.009) * off_l
        d_l = max(abs(light - t_l) - off_l, none) / (k_l * s_l)
        along = abs(c_2 - c_1)
        square = max((a_2 - a_1) * (a_2 - a_1) + (b - t_b) * (b - t_b) - along * along, none)
        most, fewest = max(c_1, c_2) + off, min(c_1, c_2) + tiny
        turn = F(1.05) * off / fewest
        across = max(np.sqrt(square) - F(2.2) * off * np.sqrt(most / fewest) - F(3e-3) * mean, none)
        square = max(square - F(4.0) * most * off - F(1e-5) * mean * mean, none)
        across = across if turn < F(0.3) else np.sqrt(square)
        along = max(along - off, none)
        # the direction of the mean hue, and how far [radians] it may be off
        cos_h, sin_h = (
            a_1 / (c_1 + tiny) + a_2 / (c_2 + tiny),
            t_b / (c_1 + tiny) + b / (c_2 + tiny),
        )
        length = np.sqrt(cos_h * cos_h + sin_h * sin_h)
        sure = (length > F(0.6)) & (turn < F(0.3))
        cos_h, sin_h = cos_h / (length + tiny), sin_h / (length + tiny)
        weight = hue_weight(cos_h, sin_h) + F(2.5) * turn if sure else F(1.93)
        blue = min(max(cos_h * COS_275 + sin_h * SIN_275 + turn, none), one) if sure else one
        blue = blue * blue * blue
        slack = one - F(0.8661) * blue * blue * chroma_share(mean + off)
        along = along / (k_c * (one + F(0.045) * (mean + off)))
        across = across / (k_h * (one + F(0.015) * (mean + off) * weight))
        least[i] = np.sqrt(d_l * d_l + slack * (along * along + across * across)) * F(0.9999)
