"""The compiled loops of the search: lay coats, turn a pile into a color, bound its difference.

All of them work on plain arrays and numbers. A pile is its absorption over the bands and two
numbers: strength S (what the colorants in it weigh, by amount) and amount T. The rules of laying
are those of `laydown.media.marker.pile`, whose functions rescore whatever comes out of here.
"""

from math import atan2, cos, exp, hypot, pi, radians, sin, sqrt
from typing import NamedTuple

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.match.search.compiling import compiled, compiled_in_place

BANDS = 36
STRENGTH, AMOUNT, EFFORT = BANDS, BANDS + 1, BANDS + 2
CHOICE, NUMBER, LEFT = BANDS + 3, BANDS + 4, BANDS + 5
WIDTH = BANDS + 6
"""A pile is a row: its bands, strength, amount and effort; then what the search must remember: the
choice made last, the number of the recipe up to it, the coats left after it."""
MARGIN = 1e-4
"""How far above the k-th best [CIEDE2000] a recipe is still handed on to be rescored exactly."""
TIE = radians(1e-3)
"""Hues this near to opposite [radians] are bounded on both sides of the jump of CIEDE2000."""
GRAY = 1e-6
"""Below this chroma, rounding may turn a hue about."""


class KitNumbers(NamedTuple):
    """A kit on a paper as the compiled loops take it.

    Parameters
    ----------
    absorption
        Shape (n, 36), what one even dry coat of each colorant adds.
    strength
        Shape (n,), what each weighs when it may be lifted or lift.
    blender
        Shape (n,), 1 for a colorless blender, else 0.
    paper
        Shape (36,), the bare paper's absorption.
    curve
        From `laydown.match.search.curve`.
    weights
        Shape (3, 36): reflectance to X/Xn, Y/Yn, Z/Zn.
    effort
        Shape (n,), what a coat of each adds to the cost, 0 or above.
    lift
        Shape (n,), as `laydown.media.marker.marker.MarkerFit.lifts`.
    later_coat
        As in `laydown.media.marker.pile`.
    step_effort
        What each step adds to the cost.
    """

    absorption: FloatArray
    strength: FloatArray
    blender: FloatArray
    paper: FloatArray
    curve: FloatArray
    weights: FloatArray
    effort: FloatArray
    later_coat: float
    lift: FloatArray
    step_effort: float


@compiled_in_place
def lay(  # noqa: PLR0917  a compiled loop, called in one place
    strength_below: float,
    amount_below: float,
    strength: float,
    blender: bool,
    coats: int,
    later_coat: float,
    lift: float,
) -> tuple[float, float]:
    """Return K and M of a step of so many coats: the pile's absorption A becomes K A + M a."""
    keep, add = 1.0, 0.0
    for _ in range(coats):
        if amount_below > 0.0 and strength_below > strength * amount_below:
            kept = 1.0 - lift * (1.0 - strength * amount_below / strength_below)
            keep *= kept
            add *= kept
            strength_below *= kept
            amount_below *= kept
        if not blender:
            amount = later_coat if amount_below > 0.0 else 1.0
            add += amount
            strength_below += amount * strength
            amount_below += amount
    return keep, add


@compiled
def lab_of_pile(
    pile: FloatArray, paper: FloatArray, curve: FloatArray, weights: FloatArray, lab: FloatArray
) -> None:
    """Put into `lab` the color of a pile on a paper (absorptions, 36 bands each).

    The reflectance is read from `curve`, see `laydown.match.search.curve`: its first row is (1
    − w, w, knots per unit, 0), the further ones the four coefficients of a cubic. `weights` (3,
    36) gives X/Xn, Y/Yn, Z/Zn.
    """
    one_less, w, per_unit = curve[0, 0], curve[0, 1], curve[0, 2]
    last = curve.shape[0] - 2
    x, y, z = 0.0, 0.0, 0.0
    for b in range(BANDS):
        a = max(paper[b] + pile[b], 0.0)
        place = per_unit * 2.0 * a / (one_less + sqrt(one_less * one_less + 2.0 * w * a) + 1e-300)
        knot = min(int(place), last)
        t = place - knot
        row = curve[knot + 1]
        r = row[0] + t * (row[1] + t * (row[2] + t * row[3]))
        x += r * weights[0, b]
        y += r * weights[1, b]
        z += r * weights[2, b]
    f_x, f_y, f_z = lab_root(x), lab_root(y), lab_root(z)
    lab[0] = 116.0 * f_y - 16.0
    lab[1] = 500.0 * (f_x - f_y)
    lab[2] = 200.0 * (f_y - f_z)


@compiled
def lab_root(t: float) -> float:
    """Return the cube root of CIELAB with its straight part below (6/29)³."""
    if t > 216.0 / 24389.0:
        return float(t ** (1.0 / 3.0))
    return t * 841.0 / 108.0 + 4.0 / 29.0


@compiled
def squared_difference(target: FloatArray, lab: FloatArray, ks: FloatArray) -> float:
    """Return CIEDE2000² with (kL, kC, kH) = `ks`; near its jumps, no more than either side.

    Where the two hues are opposite, or a color is gray, a last digit decides between two values
    far apart. There the lesser is given, so that nothing is passed over wrongly.
    """
    chroma_mean = 0.5 * (hypot(target[1], target[2]) + hypot(lab[1], lab[2]))
    power = chroma_mean**7
    stretch = 1.5 - 0.5 * sqrt(power / (power + 25.0**7))
    a_1, a_2 = stretch * target[1], stretch * lab[1]
    c_1, c_2 = hypot(a_1, target[2]), hypot(a_2, lab[2])
    h_1, h_2 = atan2(target[2], a_1), atan2(lab[2], a_2)
    l_mean = 0.5 * (target[0] + lab[0]) - 50.0
    s_l = 1.0 + 0.015 * l_mean * l_mean / sqrt(20.0 + l_mean * l_mean)
    light = (lab[0] - target[0]) / (ks[0] * s_l)
    c_mean = 0.5 * (c_1 + c_2)
    chroma = (c_2 - c_1) / (ks[1] * (1.0 + 0.045 * c_mean))
    turn = h_2 - h_1
    other = turn - 2.0 * pi if turn > 0.0 else turn + 2.0 * pi
    near, far = (turn, other) if abs(turn) <= pi else (other, turn)
    spread = 2.0 * sqrt(c_1 * c_2)
    if min(c_1, c_2) < GRAY and c_1 > 0.0:
        most = spread / ks[2]
        return float(max(0.0, light**2 + chroma**2 - 2.0 * abs(chroma) * most))
    best = chroma_hue(chroma, near, h_1, spread, c_mean, ks[2])
    if abs(near) > pi - TIE:
        best = min(best, chroma_hue(chroma, far, h_1, spread, c_mean, ks[2]))
    return float(light * light + best)


@compiled
def chroma_hue(  # noqa: PLR0917  a compiled loop, called in one place
    chroma: float, turn: float, hue_1: float, spread: float, c_mean: float, k_h: float
) -> float:
    """Return the chroma and hue terms of CIEDE2000² for a turn of hue in radians."""
    if spread == 0.0:
        return chroma * chroma
    mean = hue_1 + 0.5 * turn
    weight = (
        1.0
        - 0.17 * cos(mean - radians(30.0))
        + 0.24 * cos(2.0 * mean)
        + 0.32 * cos(3.0 * mean + radians(6.0))
        - 0.20 * cos(4.0 * mean - radians(63.0))
    )
    hue = spread * sin(0.5 * turn) / (k_h * (1.0 + 0.015 * c_mean * weight))
    degrees = (mean % (2.0 * pi)) * (180.0 / pi)
    angle = (degrees - 275.0) / 25.0
    power = c_mean**7
    rotation = -2.0 * sqrt(power / (power + 25.0**7)) * sin(radians(60.0) * exp(-angle * angle))
    return chroma * chroma + hue * hue + rotation * chroma * hue


@compiled_in_place
def put_on(pile: FloatArray, below: FloatArray, colorant: int, coats: int, kit: KitNumbers) -> None:
    """Put into `pile` what `below` becomes under so many coats: bands, strength, amount, effort."""
    weight = kit.strength[colorant]
    keep, add = lay(
        below[STRENGTH],
        below[AMOUNT],
        weight,
        kit.blender[colorant] > 0.0,
        coats,
        kit.later_coat,
        kit.lift[colorant],
    )
    for b in range(BANDS):
        pile[b] = keep * below[b] + add * kit.absorption[colorant, b]
    pile[STRENGTH] = keep * below[STRENGTH] + add * weight
    pile[AMOUNT] = keep * below[AMOUNT] + add
    pile[EFFORT] = below[EFFORT] + kit.step_effort + coats * kit.effort[colorant]


@compiled
def lay_numbers(
    numbers: FloatArray, ground: FloatArray, coats: int, kit: KitNumbers, absorption: FloatArray
) -> None:
    """Put into each row of `absorption` (m, 36) what the recipe with that number lays on paper."""
    base = kit.absorption.shape[0] * coats + 1
    below, above = np.empty(WIDTH), np.empty(WIDTH)
    for row in range(len(numbers)):
        below[:] = ground
        number = int(numbers[row])
        while number > 0:
            step = number % base - 1
            put_on(above, below, step // coats, step % coats + 1, kit)
            below[:] = above
            number //= base
        absorption[row] = below[:BANDS]
