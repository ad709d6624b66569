"""The coloring of a row: how light it may be, its colors in part, and which lie in a window."""

from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from laydown.color.arrays import FloatArray
from laydown.match.brute import AMOUNT, STRENGTH
from laydown.match.compiling import compiled_in_place
from laydown.match.loops import BANDS
from laydown.match.wide import FIRST, LANES, PAST, Single, WideKit, add_bands, clear, show_pile

NOWHERE = np.float32(-1.0)
"""A Y that lies in no window."""


class Wanted(NamedTuple):
    """The targets of a pass, and what has been found for each.

    Parameters
    ----------
    labs
        Shape (m, 3).
    ks
        Shape (3,): kL, kC, kH.
    boxes
        Shape (m, 6), see `laydown.match.window.window`.
    cap
        Shape (m,), costs above which nothing is of use, from what is known already.
    bound
        Shape (m, top), the lowest costs of this pass in rising order.
    kept
        Shape (m, room, 2), cost and number of each recipe that may be among the best.
    filled
        Shape (m,), how many rows of `kept` are in use.
    error
        Shape (1,), how far the f(X/Xn) of a row may be off.
    within
        Shape (1,), how far above the last of the best a recipe is still of interest.
    """

    labs: FloatArray
    ks: FloatArray
    boxes: FloatArray
    cap: FloatArray
    bound: FloatArray
    kept: FloatArray
    filled: NDArray[np.int64]
    error: FloatArray
    within: FloatArray


class Room(NamedTuple):
    """Working room of one pass.

    `state` has rows of K and M for each colorant, `wide` of K and M for each choice, `xyz` of X, Y,
    Z, `least` the bounds of a row; `picked` are lanes that go on, and the next three the same as
    `wide`, absorption and `xyz` of those alone; `rest` is the most that the bands left out at first
    may add to X, Y, Z, and `shown` a pile's reflectance; `piles` are those of a recipe's steps,
    `below` one of them in single precision, `above` the one of its last step, `lab` its color;
    `serves` says which targets a row may serve.
    """

    state: Single
    wide: Single
    xyz: Single
    least: Single
    picked: NDArray[np.uint32]
    wide_picked: Single
    absorption_picked: Single
    xyz_picked: Single
    rest: FloatArray
    shown: Single
    below: Single
    piles: FloatArray
    above: FloatArray
    lab: FloatArray
    serves: NDArray[np.int64]


@compiled_in_place
def lightest(pile: FloatArray, left: int, room: Room, kit: WideKit) -> Any:
    """Return X/Xn, Y/Yn, Z/Zn of the lightest that any row on a pile can be.

    Each coat lifts at most what the weakest colorant would, did it lift as the one that lifts most,
    from the pile as it is, and may lighten a band by what its colorant does there, if it does.
    Leaves in `rest` what of that lies outside the bands that are colored first.
    """
    strength, amount, least = pile[STRENGTH], pile[AMOUNT], kit.rules[2]
    if amount > 0.0 and strength <= 0.0:  # a pile lighter than the paper: no bound is attempted
        room.rest[0], room.rest[1], room.rest[2] = np.inf, np.inf, np.inf
        return np.inf, np.inf, np.inf
    keep = 1.0
    if amount > 0.0 and strength > least * amount:
        lifted = max(0.0, 1.0 - kit.rules[1] * (1.0 - least * amount / strength))
        for _ in range(left):  # a power would take ten times as long as all the rest
            keep *= lifted
    for b in range(BANDS):
        room.below[b] = min(pile[b], keep * pile[b]) - left * kit.rises[b]
    show_pile(room.below, room.shown, kit)
    x, y, z = np.float32(0.0), np.float32(0.0), np.float32(0.0)
    for b in range(FIRST, PAST):
        x += kit.weights[0, b] * room.shown[b]
        y += kit.weights[1, b] * room.shown[b]
        z += kit.weights[2, b] * room.shown[b]
    x_2, y_2, z_2 = np.float32(0.0), np.float32(0.0), np.float32(0.0)
    for b in range(FIRST):
        x_2 += kit.weights[0, b] * room.shown[b]
        y_2 += kit.weights[1, b] * room.shown[b]
        z_2 += kit.weights[2, b] * room.shown[b]
    for b in range(PAST, BANDS):
        x_2 += kit.weights[0, b] * room.shown[b]
        y_2 += kit.weights[1, b] * room.shown[b]
        z_2 += kit.weights[2, b] * room.shown[b]
    room.rest[0], room.rest[1], room.rest[2] = x_2, y_2, z_2
    return x + x_2, y + y_2, z + z_2


@compiled_in_place
def mark_inside(lanes: int, xyz: Single, box: FloatArray, least: Single) -> int:
    """Put 0 into `least` for each color of a row that lies in a window, else much; count them."""
    x, x_2, y = np.float32(box[0]), np.float32(box[1]), np.float32(box[2])
    y_2, z, z_2 = np.float32(box[3]), np.float32(box[4]), np.float32(box[5])
    inside, none, much = np.int32(0), np.float32(0.0), np.float32(1e9)
    for c in range(lanes):
        found = (
            (xyz[0, c] >= x)
            & (xyz[0, c] <= x_2)
            & (xyz[1, c] >= y)
            & (xyz[1, c] <= y_2)
            & (xyz[2, c] >= z)
            & (xyz[2, c] <= z_2)
        )
        inside += np.int32(found)
        least[c] = none if found else much
    return int(inside)


@compiled_in_place
def color_in_part(lanes: int, room: Room, kit: WideKit, wanted: Wanted) -> None:
    """Put X/Xn, Y/Yn, Z/Zn of a row into `xyz`, or no color where it lies in no window for sure.

    The bands outside the first add at least nothing and at most what they give on the lightest
    pile; four times the error allows for what the curve is off on either, see the proof.
    """
    xyz = room.xyz
    clear(lanes, xyz)
    add_bands(FIRST, PAST, lanes, room.below, room.wide, kit.absorption, xyz, kit)
    for lane in range(lanes):
        room.least[lane] = np.float32(0.0)
    for target in range(len(wanted.labs)):
        if room.serves[target] > 0:
            mark_possible(lanes, wanted.boxes[target], 4.0 * wanted.error[0], room)
    count = pick(lanes, room, kit)
    picked = -(-count // LANES) * LANES
    others = (room.below, room.wide_picked, room.absorption_picked, room.xyz_picked, kit)
    add_bands(0, FIRST, picked, *others)
    add_bands(PAST, BANDS, picked, *others)
    for lane in range(lanes):
        xyz[1, lane] = NOWHERE
    for i in range(count):
        for j in range(3):
            xyz[j, room.picked[i]] = room.xyz_picked[j, i]


@compiled_in_place
def pick(lanes: int, room: Room, kit: WideKit) -> int:
    """Put the marked lanes of a row side by side, up to a whole number of them; count them."""
    count = 0
    for lane in range(lanes):
        room.picked[count] = lane
        count += 1 if room.least[lane] > 0.0 else 0
    picked = -(-count // LANES) * LANES
    for i in range(count, picked):
        room.picked[i] = 0
    for i in range(picked):
        lane = room.picked[i]
        room.wide_picked[0, i], room.wide_picked[1, i] = room.wide[0, lane], room.wide[1, lane]
        for j in range(3):
            room.xyz_picked[j, i] = room.xyz[j, lane]
    for b in range(BANDS):
        if not FIRST <= b < PAST:
            for i in range(picked):
                room.absorption_picked[b, i] = kit.absorption[b, room.picked[i]]
    return count


@compiled_in_place
def mark_possible(lanes: int, box: FloatArray, slack: float, room: Room) -> None:
    """Put 1 into `least` for each color of a row that its other bands may bring into a window."""
    xyz, rest = room.xyz, room.rest
    x, x_2 = np.float32(box[0] - rest[0] - slack), np.float32(box[1] + slack)
    y, y_2 = np.float32(box[2] - rest[1] - slack), np.float32(box[3] + slack)
    z, z_2 = np.float32(box[4] - rest[2] - slack), np.float32(box[5] + slack)
    for c in range(lanes):
        found = (
            (xyz[0, c] >= x)
            & (xyz[0, c] <= x_2)
            & (xyz[1, c] >= y)
            & (xyz[1, c] <= y_2)
            & (xyz[2, c] >= z)
            & (xyz[2, c] <= z_2)
        )
        room.least[c] = np.float32(1.0) if found else room.least[c]
