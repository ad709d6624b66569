"""A lower bound of CIEDE2000 over all colors of a box, for the walk through a table.

The proof stands in docs/decisions/0010-exact-search.md.
"""

from math import atan2, cos, exp, hypot, pi, radians, sin, sqrt

from laydown.color.arrays import FloatArray
from laydown.match.compiling import compiled
from laydown.match.window import slack

ROOT_2 = 1.4142135623730951
SPREAD = 2.82
"""How much farther apart colors may lie in the plane of a' and b' than in that of a* and b*."""


@compiled
def least_in_box(
    target: FloatArray, ks: FloatArray, center: FloatArray, half_l: float, half: float
) -> float:
    """Return no more than the CIEDE2000 between a target and any color of a box.

    Parameters
    ----------
    target
        Shape (3,), Lab.
    ks
        kL, kC, kH.
    center
        Shape (3,), Lab of the middle of the box.
    half_l
        Half its height in L*.
    half
        Half its width in a* and in b*.
    """
    apart = max(0.0, abs(center[0] - target[0]) - half_l)
    side = 1.0 if center[0] > target[0] else -1.0
    mean = target[0] + 0.5 * side * apart - 50.0
    light = apart / (ks[0] * (1.0 + 0.015 * mean * mean / sqrt(20.0 + mean * mean)))
    plain, pair, off = least_by_distance(target, ks, center, half), 0.0, SPREAD * ROOT_2 * half
    if off < 0.3 * hypot(center[1], center[2]):
        pair = least_by_parts(target, ks, center, off)
    return sqrt(light * light + max(plain, pair)) * 0.999999


@compiled
def least_by_distance(target: FloatArray, ks: FloatArray, center: FloatArray, half: float) -> float:
    """Return no more than the chroma–hue form, from the distance in the plane of a* and b*."""
    off_a = max(0.0, abs(center[1] - target[1]) - half)
    off_b = max(0.0, abs(center[2] - target[2]) - half)
    apart = hypot(off_a, off_b)
    if apart <= 0.0:
        return 0.0
    chroma = hypot(target[1], target[2])
    most = 0.75 * (chroma + hypot(center[1], center[2]) + ROOT_2 * half)
    turn = 3.2
    reach = hypot(center[1] - target[1], center[2] - target[2]) + ROOT_2 * half
    if reach < 0.8 * chroma:
        turn = reach / chroma * 1.16
    weight = (
        max(ks[1], ks[2]) * (1.0 + 0.045 * most) * slack(most, atan2(target[2], target[1]), turn)
    )
    return float((apart / weight) ** 2)


@compiled
def least_by_parts(target: FloatArray, ks: FloatArray, center: FloatArray, off: float) -> float:
    """Return no more than the chroma–hue form, from chroma and hue at the center, `off` allowed."""
    mean = 0.5 * (hypot(target[1], target[2]) + hypot(center[1], center[2]))
    power = mean**7
    stretch = 1.5 - 0.5 * sqrt(power / (power + 25.0**7))
    a_1, a_2 = stretch * target[1], stretch * center[1]
    c_1, c_2 = hypot(a_1, target[2]), hypot(a_2, center[2])
    if c_1 <= off / 0.3:
        return 0.0
    h_1, h_2 = atan2(target[2], a_1), atan2(center[2], a_2)
    turn = abs((h_2 - h_1 + 3.0 * pi) % (2.0 * pi) - pi)
    signed = (h_2 - h_1 + 3.0 * pi) % (2.0 * pi) - pi
    doubt = 1.05 * off / min(c_1, c_2)
    across = 2.0 * sqrt(c_1 * c_2) * sin(0.5 * turn)
    off_h = 2.2 * off * sqrt(max(c_1, c_2) / min(c_1, c_2))
    most = 0.5 * (c_1 + c_2) + off
    weight, lightest, rotation = 1.93, 0.0, 0.8660254037844387
    sure = turn + 2.0 * doubt < 3.1
    if sure:
        middle = h_1 + 0.5 * signed
        weight = hue_weight(middle) + 2.5 * doubt
        lightest = max(0.0, hue_weight(middle) - 2.5 * doubt)
        away = abs((middle * 180.0 / pi - 275.0 + 900.0) % 360.0 - 180.0)
        away = max(0.0, away - doubt * 180.0 / pi)
        rotation = sin(radians(60.0) * exp(-((away / 25.0) ** 2)))
    power = most**7
    rotation *= sqrt(power / (power + 25.0**7))
    s_c, s_c_least = ks[1] * (1.0 + 0.045 * most), ks[1] * (1.0 + 0.045 * (most - 2.0 * off))
    s_h, s_h_least = (
        ks[2] * (1.0 + 0.015 * most * weight),
        ks[2] * (1.0 + 0.015 * (most - 2.0 * off) * lightest),
    )
    c_low, c_high = max(0.0, abs(c_2 - c_1) - off) / s_c, (abs(c_2 - c_1) + off) / s_c_least
    h_low, h_high = max(0.0, across - off_h) / s_h, (across + off_h) / s_h_least
    if sure and (c_2 - c_1) * signed < 0.0 and c_low > 0.0 and turn > 2.0 * doubt:
        return float(c_low * c_low + h_low * h_low)
    return float(least_form(rotation, c_low, c_high, h_low, h_high))


@compiled
def least_form(share: float, c_low: float, c_high: float, h_low: float, h_high: float) -> float:
    """Return the least of c² + h² − 2·share·c·h on a rectangle of c ≥ 0 and h ≥ 0, share < 1.

    The form rises away from its least point at 0, so it is least on the two sides nearest to it.
    """
    h = min(max(share * c_low, h_low), h_high)
    c = min(max(share * h_low, c_low), c_high)
    return min(
        c_low * c_low + h * h - 2.0 * share * c_low * h,
        c * c + h_low * h_low - 2.0 * share * c * h_low,
    )


@compiled
def hue_weight(hue: float) -> float:
    """Return T of CIEDE2000 at a mean hue in radians."""
    return float(
        1.0
        - 0.17 * cos(hue - radians(30.0))
        + 0.24 * cos(2.0 * hue)
        + 0.32 * cos(3.0 * hue + radians(6.0))
        - 0.20 * cos(4.0 * hue - radians(63.0))
    )
