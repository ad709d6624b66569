"""Which colors of many may lie near a wanted one: a box of X, Y, Z, then a bound of CIEDE2000.

The proofs stand in docs/decisions/search.md.
"""

from itertools import product
from math import asin, atan2, cos, degrees, exp, hypot, inf, pi, radians, sin, sqrt
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
CELL_BITS, FIRST_CELL, CELLS = 17, 115 << 6, 14 << 6
"""Cells of X/Xn, Y/Yn, Z/Zn: 64 for each octave from 2^-12 to 4; the outer ones have no end."""
AT_ONCE = 62
"""So many wanted colors have a bit of their own in a number."""
EVERYTHING = np.array([-inf, inf] * 3)
"""The box in which every color lies."""
NOWHERE = -EVERYTHING
"""The one in which none does."""


def window(wanted: FloatArray, ks: FloatArray, reach: float, error: float) -> FloatArray:
    """Return the least and most X/Xn, Y/Yn, Z/Zn of colors within `reach` of a wanted one.

    `wanted`: Lab, shape (3,). `ks`: kL, kC, kH. `reach`: CIEDE2000; may be infinite. `error`: how
    far f(X/Xn) and its fellows may be off where the box is asked. Returns shape (6,): of X, of Y,
    of Z.
    """
    low, high = _lightness_reach(wanted[0], ks[0] * reach)
    hue = atan2(wanted[2], wanted[1])
    ring = _plane_reach(hypot(wanted[1], wanted[2]), hue, ks[1] * reach, ks[2] * reach)
    a_low, a_high = _span(ring, hue, wanted[1])
    b_low, b_high = _span(ring, hue - 0.5 * pi, wanted[2])
    f_low, f_high = (low + 16.0) / 116.0, (high + 16.0) / 116.0
    roots = (
        f_low + a_low / 500.0 - error,
        f_high + a_high / 500.0 + error,
        f_low - error,
        f_high + error,
        f_low - b_high / 200.0 - error,
        f_high - b_low / 200.0 + error,
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
        for _ in range(14):
            middle = 0.5 * (inside + outside)
            mean = 0.5 * (lightness + middle) - 50.0
            s_l = 1.0 + 0.015 * mean * mean / sqrt(20.0 + mean * mean)
            if abs(middle - lightness) / s_l <= light:
                inside = middle
            else:
                outside = middle
        ends.append(outside)
    return ends[0], ends[1]


def _plane_reach(
    chroma: float, hue: float, along: float, across: float
) -> tuple[float, float, float, float]:
    """Return within which part of a ring the chroma–hue form can stay within reach.

    `chroma`, `hue`: C*ab and hue angle [radians] of the wanted color. `along`, `across`: the reach
    times kC and times kH. Returns the least and most C*ab; how far [radians] the hue angle may be
    off; and how far from the wanted color it all lies.
    """
    low, high, wide, radius = 0.0, UNBOUNDED, pi, UNBOUNDED
    for _ in range(4):
        stretch = 1.5 - 0.5 * _share(0.5 * (chroma + low))
        turn, longest = asin((stretch - 1.0) / (stretch + 1.0)), stretch * chroma
        rho = _rotation(0.5 * (longest + high), hue, 0.5 * wide + turn)
        slack = 1.0 / sqrt(1.0 - rho**2)
        grows, turns = 0.0225 * along * slack, 0.5 * across * slack
        low = max(low, (chroma * (1.0 - grows) - along * slack) / (1.0 + grows) / stretch)
        if grows < 1.0:
            high = min(high, (longest * (1.0 + grows) + along * slack) / (1.0 - grows))
        farthest = max(along, across) * (1.0 + 0.0225 * (longest + high)) / sqrt(1.0 - rho)
        radius = min(radius, farthest)
        low = max(low, chroma - radius)
        ends = product((chroma, longest), (low, high))
        sines = [turns * (1.0 + 0.01448 * (c + d)) / sqrt(c * d + 1e-12) for c, d in ends]
        wide = 2.0 * asin(min(1.0, max(sines)))
    return low, high, wide + 2.0 * turn, radius


def _span(
    ring: tuple[float, float, float, float], hue: float, middle: float
) -> tuple[float, float]:
    """Return the least and most r cos h in part of a ring around `hue`, of `_plane_reach`.

    `middle` is r cos h of the wanted color itself.
    """
    low, high, wide, radius = ring
    hue = abs((hue + pi) % (2.0 * pi) - pi)
    least = -1.0 if hue + wide >= pi else cos(hue + wide)
    most = 1.0 if hue <= wide else cos(hue - wide)
    least *= low if least > 0.0 else high
    most *= high if most > 0.0 else low
    return max(least, middle - radius), min(most, middle + radius)


def _share(chroma: float) -> float:
    return sqrt(chroma**7 / (chroma**7 + 25.0**7))


def _rotation(mean: float, hue: float, turn: float) -> float:
    """Return half of |R_T| at its largest.

    `mean` is the largest mean C'; `turn` how far [radians] the mean hue may lie from `hue`.
    """
    away = abs((degrees(hue) - 275.0 + 540.0) % 360.0 - 180.0)
    away = max(0.0, away - degrees(turn))
    return sin(radians(60.0) * exp(-((away / 25.0) ** 2))) * _share(mean)


def met_by(boxes: FloatArray) -> NDArray[np.int64]:
    """Return which of at most `AT_ONCE` boxes (m, 6) meet each cell, bit by bit, (3, `CELLS`)."""
    ends = (np.arange(FIRST_CELL, FIRST_CELL + CELLS + 1, dtype=np.int32) << CELL_BITS).view(F)
    ends[[0, -1]] = -inf, inf
    meets = (boxes[:, 0::2, None] <= ends[1:]) & (boxes[:, 1::2, None] >= ends[:-1])
    return np.asarray((meets << np.arange(len(boxes))[:, None, None]).sum(axis=0))


# Compiled because some million colors pass through it, each for all wanted colors at once. Right
# because what it passes over lies in a cell that no box meets, or has a lower bound above reach.
@compiled
def near(  # noqa: PLR0917  a compiled loop, called in one place
    xyz: Single,
    last: int,
    cells: NDArray[np.int64],
    wanted: FloatArray,
    ks: FloatArray,
    error: float,
    reach: FloatArray,
    places: NDArray[np.int32],
    colors: NDArray[np.uint8],
    bounds: Single,
) -> int:
    """Write down which of the first `last` colors may lie within reach of which wanted colors.

    `xyz`: shape (3, `last` or more), X/Xn, Y/Yn, Z/Zn, whose roots may be off by `error`. `cells`:
    of `met_by`. `wanted`, `ks`: Lab, shape (m, 3), and kL, kC, kH. `error`: as in `window`.
    `reach`: shape (m,). `places`, `colors`, `bounds`: shape (m `last`,), written: where such colors
    stand, for which wanted color, and, shape (2, m `last`), bounds of the difference. Returns how
    many there are.
    """
    found, pairs = 0, pair(xyz.view(np.int32), last, cells, places, colors)
    seen, sought = np.empty((3, BLOCK), dtype=np.float32), np.empty((3, BLOCK), dtype=np.float32)
    least, most = np.empty(BLOCK, dtype=np.float32), np.empty(BLOCK, dtype=np.float32)
    for start in range(0, pairs, BLOCK):
        count = min(BLOCK, pairs - start)
        for i in range(count):
            place, color = places[start + i], colors[start + i]
            for row in range(3):
                seen[row, i], sought[row, i] = xyz[row, place], wanted[color, row]
        bound_colors(count, seen, sought, ks, error, least, most)
        for i in range(count):
            if least[i] <= reach[colors[start + i]]:
                places[found], colors[found] = places[start + i], colors[start + i]
                bounds[0, found], bounds[1, found] = least[i], most[i]
                found += 1
    return found


# Compiled into the loop above. Right because a color inside a box lies in cells that the box meets.
@compiled_in_place
def pair(
    bits: NDArray[np.int32],
    last: int,
    cells: NDArray[np.int64],
    places: NDArray[np.int32],
    colors: NDArray[np.uint8],
) -> Any:
    """Write down which colors may lie in which boxes, and return how many there are."""
    pairs = 0
    for i in range(last):
        met, color = np.int64(-1), 0
        for axis in range(3):  # numbers above 0 rise with their bits
            cell = min(max((bits[axis, i] >> CELL_BITS) - FIRST_CELL, 0), CELLS - 1)
            met &= cells[axis, cell]
        while met:
            if met & 1:
                places[pairs], colors[pairs] = i, color
                pairs += 1
            met >>= 1
            color += 1
    return pairs


# Compiled, and in single precision, to go sixteen colors wide through the processor. Right because
# each term is at most, and at least, the true one for any color within `error`:
# docs/decisions/search.md, point 6.
@compiled
def bound_colors(  # noqa: PLR0917  a compiled loop, called in one place
    count: int,
    xyz: Single,
    wanted: Single,
    ks: FloatArray,
    error: float,
    least: Single,
    most: Single,
) -> None:
    """Put bounds of CIEDE2000 of the first `count` colors and wanted Labs into `least`, `most`."""
    k_l, k_c, k_h = F(ks[0]), F(ks[1]), F(ks[2])
    off_l, off = F(116.0 * error + 1e-3), F(3100.0 * error + 1e-2)
    tiny, one, none = F(1e-6), F(1.0), F(0.0)
    for i in range(count):
        t_l, t_a, t_b = wanted[0, i], wanted[1, i], wanted[2, i]
        f_y = root(xyz[1, i])
        light = F(116.0) * f_y - F(16.0)
        a, b = F(500.0) * (root(xyz[0, i]) - f_y), F(200.0) * (f_y - root(xyz[2, i]))
        stretch = F(1.5) - F(0.5) * chroma_share(
            F(0.5) * (np.sqrt(t_a * t_a + t_b * t_b) + np.sqrt(a * a + b * b))
        )
        a_1, a_2 = stretch * t_a, stretch * a
        c_1, c_2 = np.sqrt(a_1 * a_1 + t_b * t_b), np.sqrt(a_2 * a_2 + b * b)
        mean = F(0.5) * (c_1 + c_2)
        darker, d_l = lightness_terms(t_l, light, off_l, k_l)
        along, largest, fewest = abs(c_2 - c_1), max(c_1, c_2) + off, min(c_1, c_2) + tiny
        square = max((a_2 - a_1) * (a_2 - a_1) + (b - t_b) * (b - t_b) - along * along, none)
        turn, across = F(1.05) * off / fewest, np.sqrt(square)
        narrow = turn < F(0.3)
        rounding = F(2e-5) * mean * mean / (across + F(3e-3) * mean + tiny)
        slip = F(2.2) * off * np.sqrt(largest / fewest) + rounding
        spread = F(4.0) * largest * off + F(1e-5) * mean * mean
        farthest = across + slip if narrow else np.sqrt(square + spread)
        across = max(across - slip, none) if narrow else np.sqrt(max(square - spread, none))
        # the direction of the mean hue, and how far [radians] it may be off
        cos_h, sin_h, weight, length = mean_hue(a_1, t_b, c_1 + tiny, a_2, b, c_2 + tiny)
        sure = (length > F(0.05) + F(4.0) * turn) & narrow
        loose = F(2.5) * turn + F(2e-4)
        heaviest = weight + loose if sure else F(1.93)
        lightest = max(weight - loose, F(0.07)) if sure else F(0.07)
        chroma, blue = max(mean - off, none), cos_h * COS_275 + sin_h * SIN_275
        rho = min(rotation(min(blue + turn, one)), F(0.8661)) if sure else F(0.8661)
        rho *= chroma_share(mean + off)
        rho_least = max(rotation(max(blue - turn, -one)) - F(0.0052), none) * chroma_share(chroma)
        # R_T is never above 0: where the signs of ΔC′ and ΔH′ are sure, it only adds or only takes
        certain = sure & (along > off) & (across > none)
        away = certain & ((c_2 - c_1) * (a_1 * b - t_b * a_2) < none)
        longest = (along + off) / (k_c * (one + F(0.045) * chroma))
        farthest = farthest / (k_h * (one + F(0.015) * chroma * lightest))
        along = max(along - off, none) / (k_c * (one + F(0.045) * (mean + off)))
        across = across / (k_h * (one + F(0.015) * (mean + off) * heaviest))
        # the form is convex: the most of it stands in a corner, and never in the first; the least
        # on one of the two edges that are nearer to no difference
        taken = -rho if away or not certain else rho_least
        corner = max(form(longest, across, taken), form(along, farthest, taken))
        most[i] = np.sqrt(d_l * d_l + max(form(longest, farthest, taken), corner)) * F(1.0001)
        rho = -rho_least if away else rho
        c, h = min(max(along, rho * across), longest), min(max(across, rho * along), farthest)
        least[i] = np.sqrt(darker * darker + form(c, h, rho)) * F(0.9999)


# Compiled into the loop above: a plain function can't be called there. Right since S_L changes by
# .009 at most for each unit of lightness.
@compiled_in_place
def lightness_terms(wanted: Any, light: Any, off: Any, k_l: Any) -> Any:
    """Return ΔL′/(k_L S_L) at the least and at the most, light being known to `off`."""
    middle = F(0.5) * (wanted + light) - F(50.0)
    s_l = F(1.0) + F(0.015) * middle * middle / np.sqrt(F(20.0) + middle * middle)
    apart, bent = abs(light - wanted), F(0.009) * off
    return max(apart - off, F(0.0)) / (k_l * (s_l + bent)), (apart + off) / (k_l * (s_l - bent))


# Compiled into the loop above: a plain function can't be called there. Right by its definition.
@compiled_in_place
def form(c: Any, h: Any, rho: Any) -> Any:
    """Return what differences of chroma and of hue come to together."""
    return c * c + h * h - F(2.0) * rho * c * h


# Compiled into the loop above, where an exponential and a sine would go one by one. Right since the
# fourth power is off by no more than .0024, the least that one of this degree can be.
@compiled_in_place
def rotation(cosine: Any) -> Any:
    """Return sin(60° e^−(x/25°)²) or up to .0052 more, given the cosine of x."""
    u = F(1.0) - cosine
    q = F(-4.4207994) + u * (F(21.697255) - u * F(24.772802))
    q = max(F(0.96532565) + u * (F(-1.6912001) + u * q), F(0.0))
    return (q * q) * (q * q) + F(0.0026)


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
def mean_hue(  # noqa: PLR0917  a compiled function, called in one place
    a_1: Any, b_1: Any, c_1: Any, a_2: Any, b_2: Any, c_2: Any
) -> Any:
    """Return cosine, sine and T of CIEDE2000 of the mean of two hues, and how long it is.

    Its length is that of the sum of both units.
    """
    x, y = a_1 / c_1 + a_2 / c_2, b_1 / c_1 + b_2 / c_2
    length = np.sqrt(x * x + y * y)
    cos_h, sin_h = x / (length + F(1e-6)), y / (length + F(1e-6))
    cos_2, sin_2 = F(2.0) * cos_h * cos_h - F(1.0), F(2.0) * sin_h * cos_h
    cos_3, sin_3 = cos_2 * cos_h - sin_2 * sin_h, sin_2 * cos_h + cos_2 * sin_h
    cos_4, sin_4 = F(2.0) * cos_2 * cos_2 - F(1.0), F(2.0) * sin_2 * cos_2
    weight = (
        F(1.0)
        - F(0.17) * (cos_h * COS_30 + sin_h * SIN_30)
        + F(0.24) * cos_2
        + F(0.32) * (cos_3 * COS_6 - sin_3 * SIN_6)
        - F(0.20) * (cos_4 * COS_63 + sin_4 * SIN_63)
    )
    return cos_h, sin_h, weight, length
