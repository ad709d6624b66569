"""The box of colors in which a recipe must lie if it is to come within a given difference.

The proof stands in docs/decisions/search.md.
"""

from math import asin, atan2, degrees, exp, hypot, inf, radians, sin, sqrt

from laydown.color.arrays import FloatArray
from laydown.match.search.compiling import compiled

UNBOUNDED = 1e6


@compiled
def lightness_reach(lightness: float, light: float) -> tuple[float, float]:
    """Return the L* between which |ΔL| / S_L stays within `light`, by halving; monotone on 0–100.

    Beyond 100 (a fluorescent paper) it is monotone too, up to L* near 200.
    """
    ends = (-20.0, 160.0)
    low, high = ends
    for side in range(2):
        inside, outside = lightness, ends[side]
        for _ in range(40):
            middle = 0.5 * (inside + outside)
            mean = 0.5 * (lightness + middle) - 50.0
            s_l = 1.0 + 0.015 * mean * mean / sqrt(20.0 + mean * mean)
            if abs(middle - lightness) / s_l <= light:
                inside = middle
            else:
                outside = middle
        if side == 0:
            low = outside
        else:
            high = outside
    return low, high


@compiled
def plane_reach(chroma: float, hue: float, reach: float) -> float:
    """Return how far off in a* or b* a color may be whose chroma–hue form is within `reach`².

    Parameters
    ----------
    chroma, hue
        C*ab and hue angle in radians of the wanted color.
    reach
        The difference times the larger of kC and kH.
    """
    radius = inf
    turn = 3.2
    for _ in range(4):
        most = chroma * 1.5 if radius == inf else min(1.5 * chroma, stretched(chroma, radius))
        mean = inf if radius == inf else most + 0.5 * radius
        grows = 1.0 - 0.0225 * reach * slack(mean, hue, turn)
        if grows <= 0.0:
            return UNBOUNDED
        found = reach * slack(mean, hue, turn) * (1.0 + 0.045 * most) / grows
        radius = min(radius, found)
        turn = asin(radius / chroma) if radius < chroma else 3.2
    return radius


@compiled
def stretched(chroma: float, radius: float) -> float:
    """Return the most that C' of the wanted color can be, for samples within `radius` of it."""
    mean = 0.5 * (chroma + max(0.0, chroma - radius))
    power = mean**7
    return chroma * (1.5 - 0.5 * sqrt(power / (power + 25.0**7)))


@compiled
def slack(mean: float, hue: float, turn: float) -> float:
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
        power = mean**7
        rotation *= sqrt(power / (power + 25.0**7))
    return 1.0 / sqrt(1.0 - rotation)


@compiled
def window(target: FloatArray, ks: FloatArray, reach: float, error: float, box: FloatArray) -> None:
    """Put into `box` the least and most X/Xn, Y/Yn, Z/Zn of recipes within `reach` of a target.

    `error` is how far f(X/Xn) and its fellows may be off where the box is asked.
    """
    low, high = lightness_reach(target[0], ks[0] * reach)
    k = max(ks[1], ks[2])
    off = plane_reach(hypot(target[1], target[2]), atan2(target[2], target[1]), k * reach)
    f_low, f_high = (low + 16.0) / 116.0, (high + 16.0) / 116.0
    box[0] = cubed(f_low + (target[1] - off) / 500.0 - error)
    box[1] = cubed(f_high + (target[1] + off) / 500.0 + error)
    box[2] = cubed(f_low - error)
    box[3] = cubed(f_high + error)
    box[4] = cubed(f_low - (target[2] + off) / 200.0 - error)
    box[5] = cubed(f_high - (target[2] - off) / 200.0 + error)


@compiled
def cubed(f: float) -> float:
    """Return what the root of CIELAB was taken of; it rises all the way, below 0 too."""
    if f > 6.0 / 29.0:
        return f * f * f
    return (f - 4.0 / 29.0) * 108.0 / 841.0
