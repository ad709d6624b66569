"""The compiled loops of prepared tables: filling in the keys, and the walk down the octree."""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from laydown.color.arrays import FloatArray
from laydown.match.bound import root_32
from laydown.match.brute import CHOICE, EFFORT, LEFT, NUMBER, KitNumbers, put_on
from laydown.match.compiling import compiled
from laydown.match.loops import BANDS, lab_of_pile, squared_difference
from laydown.match.near import least_in_box
from laydown.match.rows import note, reach
from laydown.match.shades import Room, Wanted
from laydown.match.wide import Single, WideKit, color_row, lay_row

BITS = 13
"""Bits of each of L*, a*, b* in a key."""
NUMBER_BITS = 24
INDEXED = 6
"""The level of the octree whose boxes are indexed."""
LEAF = 24
"""A box with so few recipes is looked through one by one."""
LOW_L, SIZE_L = -1.0, 104.0
LOW_A, LOW_B, SIZE = -176.0, -144.0, 304.0
"""What the octree covers: more than the colors that surfaces without fluorescence can have."""
Keys = NDArray[np.int64]
Box = tuple[int, int, int, int]


class Heap(NamedTuple):
    """Boxes still to be opened.

    Their bounds, how far their middles are from the target, their (level, cell, first, end), and
    how many they are.
    """

    least: FloatArray
    far: FloatArray
    boxes: Keys
    height: Keys


def empty_heap() -> Heap:
    """Return a heap with room for every level's eight parts."""
    deep = 8 * (BITS + 1)
    boxes, height = np.zeros((deep, 4), dtype=np.int64), np.zeros(1, dtype=np.int64)
    return Heap(np.zeros(deep), np.zeros(deep), boxes, height)


@compiled
def spread_bits(x: int) -> int:
    """Put two empty bits between each two of the bits of a number below 2^21."""
    x = (x | (x << 32)) & 0x1F00000000FFFF
    x = (x | (x << 16)) & 0x1F0000FF0000FF
    x = (x | (x << 8)) & 0x100F00F00F00F00F
    x = (x | (x << 4)) & 0x10C30C30C30C30C3
    return (x | (x << 2)) & 0x1249249249249249


@compiled
def gather_bits(x: int) -> int:
    """Undo `spread_bits`, whatever lies in the bits between."""
    x &= 0x1249249249249249
    x = (x ^ (x >> 2)) & 0x10C30C30C30C30C3
    x = (x ^ (x >> 4)) & 0x100F00F00F00F00F
    x = (x ^ (x >> 8)) & 0x1F0000FF0000FF
    x = (x ^ (x >> 16)) & 0x1F00000000FFFF
    return (x ^ (x >> 32)) & 0x1FFFFF


@compiled
def key_of(light: float, a: float, b: float, number: int) -> int:
    """Return the key of a recipe whose color lies in these cells of the finest level."""
    most = 2**BITS - 1
    l_cell = min(max(int(light), 0), most)
    a_cell = min(max(int(a), 0), most)
    b_cell = min(max(int(b), 0), most)
    cell = (spread_bits(l_cell) << 2) | (spread_bits(a_cell) << 1) | spread_bits(b_cell)
    return (cell << NUMBER_BITS) | number


@compiled
def cells_of_row(lanes: int, xyz: Single) -> None:
    """Turn X/Xn, Y/Yn, Z/Zn of a row into places in cells: rows a*, L*, b* of `xyz`."""
    one = np.float32(2.0**BITS)
    fine, fine_l = one / np.float32(SIZE), one / np.float32(SIZE_L)
    for i in range(lanes):
        f_y = root_32(xyz[1, i])
        a, b = root_32(xyz[0, i]) - f_y, f_y - root_32(xyz[2, i])
        xyz[0, i] = (np.float32(500.0) * a - np.float32(LOW_A)) * fine
        xyz[1, i] = (np.float32(116.0) * f_y - np.float32(16.0 + LOW_L)) * fine_l
        xyz[2, i] = (np.float32(200.0) * b - np.float32(LOW_B)) * fine


@compiled
def fill_row(  # noqa: PLR0917  a compiled loop, called in two places
    depth: int, at: int, way: int, room: Room, wide_kit: WideKit, n: int, keys: Keys
) -> int:
    """Write the keys of all recipes of one more step on a pile; return where the next may stand."""
    pile, coats = room.piles[depth], len(wide_kit.ends) - 1
    left, xyz = min(coats, int(pile[LEFT])), room.xyz
    if left <= 0:
        return at
    for b in range(BANDS):
        room.below[b] = pile[b]
    lanes = wide_kit.ends[left]
    lay_row(left, pile, room.state, room.wide, wide_kit)
    color_row(lanes, room.below, room.wide, xyz, wide_kit)
    cells_of_row(lanes, xyz)
    last = int(pile[CHOICE]) // coats if depth > 0 else -1
    below, place, coat = int(pile[NUMBER]), (n * coats + 1) ** depth, 1
    for i in range(lanes):
        while i == wide_kit.ends[coat]:
            coat += 1
        c = wide_kit.places[i]
        if c != last and c >= 0:
            at -= 1 if way < 0 else 0
            keys[at] = key_of(xyz[1, i], xyz[0, i], xyz[2, i], below + place * (c * coats + coat))
            at += 1 if way > 0 else 0
    return at


@compiled
def fill_root(steps: int, room: Room, wide_kit: WideKit, kit: KitNumbers, keys: Keys) -> int:
    """Write the keys of the recipe that adds nothing and of all of one step; return how many."""
    lab_of_pile(room.piles[0], kit.paper, kit.curve, kit.weights, room.lab)
    fine, fine_l = 2.0**BITS / SIZE, 2.0**BITS / SIZE_L
    keys[0] = key_of(
        (room.lab[0] - LOW_L) * fine_l,
        (room.lab[1] - LOW_A) * fine,
        (room.lab[2] - LOW_B) * fine,
        0,
    )
    if steps < 1:
        return 1
    return fill_row(0, 1, 1, room, wide_kit, len(kit.strength), keys)


@compiled
def fill_keys(  # noqa: PLR0917  a compiled loop, called in one place
    first: int,
    last: int,
    steps: int,
    coats: int,
    at: int,
    way: int,
    room: Room,
    wide_kit: WideKit,
    kit: KitNumbers,
    keys: Keys,
) -> int:
    """Write the keys of all recipes of two steps or three whose bottom choice is in a range."""
    n, piles = len(kit.strength), room.piles
    for one in range(first, last):
        lay_choice(piles[0], piles[1], one, 1, coats, kit)
        at = fill_row(1, at, way, room, wide_kit, n, keys)
        for two in range(n * coats if steps > 2 else 0):
            if two // coats != one // coats and piles[1, LEFT] > two % coats:
                lay_choice(piles[1], piles[2], two, n * coats + 1, coats, kit)
                at = fill_row(2, at, way, room, wide_kit, n, keys)
    return at


@compiled
def lay_choice(  # noqa: PLR0917  a compiled loop, called in few places
    below: FloatArray, pile: FloatArray, choice: int, place: int, coats: int, kit: KitNumbers
) -> None:
    """Lay a choice (colorant × coats) on a pile, and keep account of it in the new one."""
    put_on(pile, below, choice // coats, choice % coats + 1, kit)
    pile[CHOICE], pile[LEFT] = choice, below[LEFT] - (choice % coats + 1)
    pile[NUMBER] = below[NUMBER] + place * (choice + 1)


@compiled
def least_in_cell(  # noqa: PLR0917  a compiled loop, called in few places
    cell: int, level: int, error: float, target: FloatArray, ks: FloatArray, middle: FloatArray
) -> float:
    """Return no more than the CIEDE2000 between a target and any color in a box of the octree."""
    share = 1.0 / 2.0**level
    middle[0] = LOW_L + (gather_bits(cell >> 2) + 0.5) * SIZE_L * share
    middle[1] = LOW_A + (gather_bits(cell >> 1) + 0.5) * SIZE * share
    middle[2] = LOW_B + (gather_bits(cell) + 0.5) * SIZE * share
    half_l = 0.5 * SIZE_L * share + 116.0 * error + 5e-4
    half = 0.5 * SIZE * share + 1000.0 * error + 4e-3
    return least_in_box(target, ks, middle, half_l, half)


@compiled
def first_at(keys: Keys, key: int, low: int, high: int) -> int:
    """Return the first place between `low` and `high` whose key is not below `key`."""
    while low < high:
        middle = (low + high) // 2
        if keys[middle] < key:
            low = middle + 1
        else:
            high = middle
    return low


@compiled
def look_through(  # noqa: PLR0917  a compiled loop, called in one place
    target: int,
    low: int,
    high: int,
    keys: Keys,
    coats: int,
    room: Room,
    kit: KitNumbers,
    wanted: Wanted,
) -> bool:
    """Score the recipes of a box that may come within reach; False on running over."""
    choices, lab, above = len(kit.strength) * coats, wanted.labs[target], room.above
    for at in range(low, high):
        cell, number = keys[at] >> NUMBER_BITS, keys[at] & (2**NUMBER_BITS - 1)
        least = least_in_cell(cell, BITS, wanted.error[0], lab, wanted.ks, room.lab)
        if least > reach(target, wanted):
            continue
        above[:] = room.piles[0]
        rest = number
        while rest > 0:
            choice = rest % (choices + 1) - 1
            put_on(room.piles[1], above, choice // coats, choice % coats + 1, kit)
            above[:] = room.piles[1]
            rest //= choices + 1
        lab_of_pile(above, kit.paper, kit.curve, kit.weights, room.lab)
        cost = np.sqrt(squared_difference(lab, room.lab, wanted.ks)) + above[EFFORT]
        if cost <= reach(target, wanted) and not note(target, cost, float(number), wanted):
            return False
    return True


@compiled
def open_box(  # noqa: PLR0917  a compiled loop, called in one place
    target: int, box: Box, keys: Keys, starts: Keys, wanted: Wanted, heap: Heap, lab: FloatArray
) -> int:
    """Put the eight parts of a box on the heap, the nearest uppermost; return its new height."""
    level, cell, low, high = box
    level, cell, bottom, lab_t = level + 1, cell * 8, heap.height[0], wanted.labs[target]
    top, shift = bottom, NUMBER_BITS + 3 * (BITS - level)
    for part in range(cell, cell + 8):
        if level <= INDEXED:
            end = starts[(part + 1) << (3 * (INDEXED - level))]
        else:
            end = first_at(keys, (part + 1) << shift, low, high)
        if end > low:
            least = least_in_cell(part, level, wanted.error[0], lab_t, wanted.ks, lab)
            if least <= reach(target, wanted):
                at, far = top, np.sum((lab - lab_t) ** 2)
                while at > bottom and heap.far[at - 1] < far:
                    heap.least[at], heap.far[at] = heap.least[at - 1], heap.far[at - 1]
                    heap.boxes[at] = heap.boxes[at - 1]
                    at -= 1
                heap.least[at], heap.far[at] = least, far
                boxes = heap.boxes[at]
                boxes[0], boxes[1], boxes[2], boxes[3] = level, part, low, end
                top += 1
        low = end
    return int(top)


@compiled
def walk(  # noqa: PLR0917  a compiled loop, called in one place
    keys: Keys,
    starts: Keys,
    coats: int,
    room: Room,
    kit: KitNumbers,
    wanted: Wanted,
    heap: Heap,
) -> bool:
    """Find the best recipes of all targets in a table; False where a shortlist ran over."""
    for target in range(len(wanted.labs)):
        heap.least[0] = 0.0
        root = heap.boxes[0]
        root[0], root[1], root[2], root[3] = 0, 0, 0, len(keys)
        heap.height[0] = 1
        while heap.height[0] > 0:
            heap.height[0] -= 1
            at = heap.height[0]
            if heap.least[at] > reach(target, wanted):
                continue
            box = heap.boxes[at]
            level, cell, low, high = box[0], box[1], box[2], box[3]
            if high - low <= LEAF or level == BITS:
                if not look_through(target, low, high, keys, coats, room, kit, wanted):
                    return False
            else:
                parts = (level, cell, low, high)
                heap.height[0] = open_box(target, parts, keys, starts, wanted, heap, room.lab)
    return True
