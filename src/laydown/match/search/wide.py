"""All choices of a last step laid and colored at once, in single precision, side by side."""

from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from laydown.color.arrays import FloatArray
from laydown.match.search.compiling import compiled, compiled_in_place
from laydown.match.search.loops import AMOUNT, BANDS, STRENGTH

Single = NDArray[np.float32]
LANES = 16


class WideKit(NamedTuple):
    """A kit in single precision, with room for a whole number of lanes.

    Parameters
    ----------
    absorption
        Shape (36, lanes), one choice (colorant and coats) a column: first those of one coat, then
        those of two, each group filled up to whole lanes and in one order of colorants.
    strength, lift
        Shape (lanes,).
    paper
        Shape (36,), the bare paper's absorption.
    curve
        The numbers of a `laydown.match.search.quick_curve.QuickCurve`.
    weights
        Shape (3, 36), from reflectance to X/Xn, Y/Yn, Z/Zn.
    rises
        Shape (36,), how far a coat may lower the absorption of a band, at most.
    rules
        Shape (3,): later coat, the most that any colorant lifts, the least strength of any.
    places
        Shape (lanes,), where in the kit each column's colorant stands; -1 fills the lanes up.
    ends
        Shape (coats + 1,), where the group of columns of so many coats ends; the first is 0.
    """

    absorption: Single
    strength: Single
    lift: Single
    paper: Single
    curve: Single
    weights: Single
    rises: Single
    rules: Single
    places: NDArray[np.int64]
    ends: NDArray[np.int64]


@compiled_in_place
def lay_row(left: int, pile: FloatArray, state: Single, wide: Single, kit: WideKit) -> None:
    """Lay 1 to `left` coats of every colorant: K and M of each choice go into `wide`.

    The rows of `state` are K and M of each colorant after the coats laid so far; the amount is
    K·T + M and the strength K·S + M·s. A blender is counted as laying its amount, too: it has no
    color and no strength, so nothing follows from that.
    """
    later, one, none = kit.rules[0], np.float32(1.0), np.float32(0.0)
    below, amount = np.float32(pile[STRENGTH]), np.float32(pile[AMOUNT])
    keeps, adds = state[0], state[1]
    for c in range(kit.ends[1]):
        keeps[c], adds[c] = one, none
    for coat in range(1, left + 1):
        start, end = kit.ends[coat - 1], kit.ends[coat]
        keep, add = wide[0, start:end], wide[1, start:end]
        for c in range(end - start):
            laid = keeps[c] * amount + adds[c]
            there = keeps[c] * below + adds[c] * kit.strength[c]
            lifts = (laid > none) & (there > kit.strength[c] * laid)
            ratio = kit.strength[c] * laid / there if lifts else one
            kept = one - kit.lift[c] * (one - ratio)
            keep[c] = kept
            add[c] = later if kept * laid > none else one
        for c in range(end - start):
            adds[c] = adds[c] * keep[c] + add[c]
            keeps[c] *= keep[c]
            keep[c], add[c] = keeps[c], adds[c]


@compiled
def color_row(lanes: int, below: Single, wide: Single, xyz: Single, kit: WideKit) -> None:
    """Put X/Xn, Y/Yn, Z/Zn of the first `lanes` of a row into `xyz`.

    Four bands at a time share a division, the slowest step: 1/a is b c d over the product of all.
    """
    for c in range(lanes):
        xyz[0, c], xyz[1, c], xyz[2, c] = np.float32(0.0), np.float32(0.0), np.float32(0.0)
    p, one, w = kit.curve, np.float32(1.0), kit.weights
    squarings, scale = int(p[3]), p[2]
    start = -p[1] * p[2]
    for b in range(0, BANDS, 4):
        a_1, a_2, a_3, a_4 = below[b], below[b + 1], below[b + 2], below[b + 3]
        g_1, g_2 = kit.paper[b] + p[0], kit.paper[b + 1] + p[0]
        g_3, g_4 = kit.paper[b + 2] + p[0], kit.paper[b + 3] + p[0]
        for c in range(lanes):
            keep, add = wide[0, c], wide[1, c]
            t_1 = np.sqrt(max(g_1 + keep * a_1 + add * kit.absorption[b, c], p[0]))
            t_2 = np.sqrt(max(g_2 + keep * a_2 + add * kit.absorption[b + 1, c], p[0]))
            t_3 = np.sqrt(max(g_3 + keep * a_3 + add * kit.absorption[b + 2, c], p[0]))
            t_4 = np.sqrt(max(g_4 + keep * a_4 + add * kit.absorption[b + 3, c], p[0]))
            q_1, q_2 = polynomial(t_1 * scale + start, p), polynomial(t_2 * scale + start, p)
            q_3, q_4 = polynomial(t_3 * scale + start, p), polynomial(t_4 * scale + start, p)
            q_12, q_34 = q_1 * q_2, q_3 * q_4
            shared = one / (q_12 * q_34)
            r_12, r_34 = shared * q_34, shared * q_12
            r_1, r_2, r_3, r_4 = r_12 * q_2, r_12 * q_1, r_34 * q_4, r_34 * q_3
            if squarings > 0:
                r_1, r_2, r_3, r_4 = r_1 * r_1, r_2 * r_2, r_3 * r_3, r_4 * r_4
            if squarings > 1:
                r_1, r_2, r_3, r_4 = r_1 * r_1, r_2 * r_2, r_3 * r_3, r_4 * r_4
                r_1, r_2, r_3, r_4 = r_1 * r_1, r_2 * r_2, r_3 * r_3, r_4 * r_4
            xyz[0, c] += w[0, b] * r_1 + w[0, b + 1] * r_2 + w[0, b + 2] * r_3 + w[0, b + 3] * r_4
            xyz[1, c] += w[1, b] * r_1 + w[1, b + 1] * r_2 + w[1, b + 2] * r_3 + w[1, b + 3] * r_4
            xyz[2, c] += w[2, b] * r_1 + w[2, b + 1] * r_2 + w[2, b + 2] * r_3 + w[2, b + 3] * r_4


@compiled_in_place
def polynomial(t: Any, p: Single) -> Any:
    """Return q of a `laydown.match.search.quick_curve.QuickCurve`."""
    q = p[10] + t * (p[11] + t * (p[12] + t * (p[13] + t * p[14])))
    return p[4] + t * (p[5] + t * (p[6] + t * (p[7] + t * (p[8] + t * (p[9] + t * q)))))


@compiled_in_place
def show_pile(pile: Single, shown: Single, kit: WideKit) -> None:
    """Put into `shown` the reflectance of one pile, band by band."""
    p, one = kit.curve, np.float32(1.0)
    squarings, floor = int(p[3]), p[0]
    for b in range(BANDS):
        t = np.sqrt(max(kit.paper[b] + pile[b] + floor, floor))
        r = one / polynomial((t - p[1]) * p[2], p)
        if squarings > 0:
            r *= r
        if squarings > 1:
            r *= r
            r *= r
        shown[b] = r
