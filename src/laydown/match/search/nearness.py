"""Which colors of many may lie near a wanted one: a box of X, Y, Z, then a bound of CIEDE2000.

The proofs stand in docs/decisions/search.md.
"""

from math import asin, atan2, degrees, exp, hypot, inf, radians, sin, sqrt
from typing import Any

import numpy as np
from numpy.typing import NDArray

from laydown.color.arrays import FloatArray
from laydown.match.search.compiling import compiled, compiled_in_place

F = np.float32
COS_275, SIN_275 = F(0.08715574), F(-0.9961947)
COS_30, SIN_30 = F(0.8660254), F(0.5)
COS_6, SIN_6 = F(0.9945219), F(0.10452846)
COS_63, SIN_63 = F(0.4539905), F(0.8910065)
Single = NDArray[np.float32]
UNBOUNDED = 1e6
BLOCK = 256
"""Colors looked at side by side: enough for the processor's lanes, few enough for its cache."""
EVERYTHING = np.array([-inf, inf] * 3)
"""The box in which every color lies."""


def window(wanted: FloatArray, ks: FloatArray, reach: float, error: float) -> FloatArray:
    """Return the least and most X/Xn, Y/Yn, Z/Zn of colors within `reach` of a wanted one.

    Parameters
    ----------
    wanted
        Lab, shape (3,).
    ks
        kL, kC, kH.
    reach
        CIEDE2000; may be infinite.
    error
        How far f(X/Xn) and its fellows may be off where the box is asked.

    Returns
    -------
    FloatArray
        Shape (6,): of X, of Y, of Z.
    """
    low, high = _lightness_reach(wanted[0], ks[0] * reach)
    hue = atan2(wanted[2], wanted[1])
    off = _plane_reach(hypot(wanted[1], wanted[2]), hue, max(ks[1], ks[2]) * reach)
    f_low, f_high = (low + 16.0) / 116.0, (high + 16.0) / 116.0
    roots = (
        f_low + (wanted[1] - off) / 500.0 - error,
        f_high + (wanted[1] + off) / 500.0 + error,
        f_low - error,
        f_high + error,
        f_low - (wanted[2] + off) / 200.0 - error,
        f_high - (wanted[2] - off) / 200.0 + error,
    )
    return np.array([cubed(f) for f in roots])


def cubed(f: float) -> float:
    """Return what the root of CIELAB was taken of; it rises all the way, below 0 too."""
    return f**3 if f > 6.0 / 29.0 else (f - 4.0 / 29.0) * 108.0 / 841.0


def _lightness_reach(lightness: float, light: float) -> tuple[float, float]:
    """Return the L* between which |ΔL| / S_L stays within `light`, by halving; monotone on 0–100.

    Beyond 100 (a fluorescent paper) it is monotone too, up to L* near 200.
    """
    ends = []
    for end in (-20.0, 160.0):
        inside, outside = lightness, end
        for _ in range(24):
            middle = 0.5 * (inside + outside)
            mean = 0.5 * (lightness + middle) - 50.0
            s_l = 1.0 + 0.015 * mean * mean / sqrt(20.0 + mean * mean)
            if abs(middle - lightness) / s_l <= light:
                inside = middle
            else:
                outside = middle
        ends.append(outside)
    return ends[0], ends[1]


def _plane_reach(chroma: float, hue: float, reach: float) -> float:
    """Return how far off in a* or b* a color may be whose chroma–hue form is within `reach`².

    Parameters
    ----------
    chroma, hue
        C*ab and hue angle in radians of the wanted color.
    reach
        The difference times the larger of kC and kH.
    """
    radius, turn = inf, 3.2
    for _ in range(4):
        most = chroma * 1.5 if radius == inf else min(1.5 * chroma, _stretched(chroma, radius))
        mean = inf if radius == inf else most + 0.5 * radius
        grows = 1.0 - 0.0225 * reach * _slack(mean, hue, turn)
        if grows <= 0.0:
            return UNBOUNDED
        found = reach * _slack(mean, hue, turn) * (1.0 + 0.045 * most) / grows
        radius = min(radius, found)
        turn = asin(radius / chroma) if radius < chroma else 3.2
    return radius


def _stretched(chroma: float, radius: float) -> float:
    """Return the most that C' of the wanted color can be, for samples within `radius` of it."""
    mean = 0.5 * (chroma + max(0.0, chroma - radius))
    return chroma * (1.5 - 0.5 * sqrt(mean**7 / (mean**7 + 25.0**7)))


def _slack(mean: float, hue: float, turn: float) -> float:
    """Return 1/√(1 − |R_T|/2) at its largest: what the rotation term may take off the form.

    `mean` is the largest mean C'; `turn` how far [radians] the sample's hue may lie from `hue`.
    The stretch of a* can turn a hue by less than 12°, which is allowed for.
    """
    rotation = 0.8660254037844387
    if turn < 1.0:
        away = abs((degrees(hue) - 275.0 + 540.0) % 360.0 - 180.0)
        away = max(0.0, away - degrees(turn) - 12.0)
        rotation = sin(radians(60.0) * exp(-((away / 25.0) ** 2)))
    if mean < inf:
        rotation *= sqrt(mean**7 / (mean**7 + 25.0**7))
    return 1.0 / sqrt(1.0 - rotation)


# Compiled because some million colors pass through it for one wanted color of a large kit. Right
# because all that it passes over lies outside the box, or has a lower bound above the reach.
@compiled
def near(  # noqa: PLR0917  a compiled loop, called in one place
    xyz: Single,
    last: int,
    wanted: FloatArray,
    ks: FloatArray,
    error: float,
    box: FloatArray,
    reach: float,
    places: NDArray[np.int64],
    least: Single,
) -> int:
    """Write down which of the first `last` colors may lie within reach.

    Parameters
    ----------
    xyz
        Shape (3, `last` or more), X/Xn, Y/Yn, Z/Zn, whose roots may be off by `error`.
    wanted, ks
        Lab, and kL, kC, kH.
    error, box, reach
        As in `window`.
    places, least
        Written: where such colors stand, and their lower bounds.

    Returns
    -------
    int
        How many there are.
    """
    x, x_2, y, y_2 = F(box[0]), F(box[1]), F(box[2]), F(box[3])
    z, z_2, limit = F(box[4]), F(box[5]), F(reach)
    part, bound = np.empty((3, BLOCK), dtype=np.float32), np.empty(BLOCK, dtype=np.float32)
    inside, at = np.empty(BLOCK, dtype=np.float32), np.empty(BLOCK, dtype=np.int64)
    found, one, none = 0, F(1.0), F(0.0)
    for start in range(0, last, BLOCK):
        end, count = min(start + BLOCK, last), none
        # slices and indices from 0, or no colors go through the processor side by side
        xs, ys, zs = xyz[0, start:end], xyz[1, start:end], xyz[2, start:end]
        for i in range(len(xs)):
            there = (xs[i] >= x) & (xs[i] <= x_2) & (ys[i] >= y) & (ys[i] <= y_2)
            inside[i] = one if there & (zs[i] >= z) & (zs[i] <= z_2) else none
            count += inside[i]
        if count == none:
            continue
        kept = 0
        for i in range(len(xs)):
            if inside[i] > none:
                part[0, kept], part[1, kept], part[2, kept] = xs[i], ys[i], zs[i]
                at[kept] = start + i
                kept += 1
        bound_colors(kept, part, wanted, ks, error, bound)
        for i in range(kept):
            if bound[i] <= limit:
                places[found], least[found] = at[i], bound[i]
                found += 1
    return found


# Compiled, and in single precision, to go sixteen colors wide through the processor. Right because
# each term is at most the true one for any color within `error`: docs/decisions/search.md, point 6.
@compiled
def bound_colors(  # noqa: PLR0917  a compiled loop, called in one place
    count: int, xyz: Single, wanted: FloatArray, ks: FloatArray, error: float, least: Single
) -> None:
    """Put into `least` no more than the CIEDE2000 of each of the first `count` colors."""
    t_l, t_a, t_b, t_c = F(wanted[0]), F(wanted[1]), F(wanted[2]), F(np.hypot(wanted[1], wanted[2]))
    k_l, k_c, k_h = F(ks[0]), F(ks[1]), F(ks[2])
    off_l, off = F(116.0 * error + 1e-3), F(3100.0 * error + 1e-2)
    tiny, one, none = F(1e-6), F(1.0), F(0.0)
    for i in range(count):
        f_y = root(xyz[1, i])
        light = F(116.0) * f_y - F(16.0)
        a, b = F(500.0) * (root(xyz[0, i]) - f_y), F(200.0) * (f_y - root(xyz[2, i]))
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
        sure = (length > F(0.05) + F(4.0) * turn) & (turn < F(0.3))
        cos_h, sin_h = cos_h / (length + tiny), sin_h / (length + tiny)
        weight = hue_weight(cos_h, sin_h) + F(2.5) * turn + F(2e-4) if sure else F(1.93)
        blue = min(max(cos_h * COS_275 + sin_h * SIN_275 + turn, none), one) if sure else one
        blue = blue * blue * blue
        rho = F(0.8661) * blue * blue * chroma_share(mean + off)
        # R_T is never above 0: where ΔC′ and ΔH′ are sure to have opposite signs, it only adds
        away = (c_2 - c_1) * (a_1 * b - t_b * a_2) < none
        rho = none if sure & away & (along > none) & (across > none) else rho
        longest = (along + F(2.0) * off) / (k_c * (one + F(0.045) * max(mean - off, none)))
        along = along / (k_c * (one + F(0.045) * (mean + off)))
        across = across / (k_h * (one + F(0.015) * (mean + off) * weight))
        # the least of c² + h² − 2 ρ c h for c from `along` to `longest` and h no less than `across`
        c, h = min(max(along, rho * across), longest), max(across, rho * along)
        least[i] = np.sqrt(d_l * d_l + c * c + h * h - F(2.0) * rho * c * h) * F(0.9999)


# Compiled into the loop above. Right to a few parts in a million, which its margins allow for:
# x^(1/3) is near x^(1/4 + 1/16 + 1/64), which square roots give; two Newton steps do the rest.
@compiled_in_place
def root(t: Any) -> Any:
    """Return the cube root of CIELAB in single precision."""
    x = max(t, F(0.008856452))
    fourth = np.sqrt(np.sqrt(x))
    sixteenth = np.sqrt(np.sqrt(fourth))
    y = fourth * sixteenth * np.sqrt(np.sqrt(sixteenth))
    y = (F(2.0) * y + x / (y * y)) * F(0.33333333)
    y = (F(2.0) * y + x / (y * y)) * F(0.33333333)
    return y if t > F(0.008856452) else t * F(7.787037) + F(0.13793103)


# Compiled into the loop above: a plain function can't be called there. Right by its definition.
@compiled_in_place
def chroma_share(chroma: Any) -> Any:
    """Return √(C⁷ / (C⁷ + 25⁷))."""
    c = chroma * F(0.04)
    cube = c * c * c
    power = cube * cube * c
    return np.sqrt(power / (power + F(1.0)))


# Compiled into the loop above. Right by the formulas for cosines of multiples of an angle, without
# which each of the four would take an arc tangent and a cosine.
@compiled_in_place
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
