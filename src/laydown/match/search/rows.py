"""The compiled pass over all recipes, a row of them at a time.

A row is all recipes that lay one more step on one pile. Its colors are computed in single
precision, sixteen colorants side by side, and only those that fall into the window of a target are
laid and scored one by one. What the pass may leave out is proven in
docs/decisions/search.md.
"""

from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from laydown.color.arrays import FloatArray
from laydown.match.search.bound import bound_row
from laydown.match.search.compiling import compiled, compiled_in_place
from laydown.match.search.loops import (
    AMOUNT,
    BANDS,
    CHOICE,
    EFFORT,
    LEFT,
    MARGIN,
    NUMBER,
    STRENGTH,
    KitNumbers,
    lab_of_pile,
    put_on,
    squared_difference,
)
from laydown.match.search.wide import Single, WideKit, color_row, lay_row, show_pile
from laydown.match.search.window import window

FEW = 6
"""Up to so many colors of a row are scored at once; of more, a bound is computed first."""


class PassTargets(NamedTuple):
    """The targets of a pass, and what has been found for each.

    Parameters
    ----------
    labs
        Shape (m, 3).
    ks
        Shape (3,): kL, kC, kH.
    boxes
        Shape (m, 6), see `laydown.match.search.window.window`.
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
    Z, `least` the bounds of a row; `shown` is a pile's reflectance; `piles` are those of a recipe's
    steps, `below` one of them in single precision, `above` the one of its last step, `lab` its
    color; `serves` says which targets a row may serve.
    """

    state: Single
    wide: Single
    xyz: Single
    least: Single
    shown: Single
    below: Single
    piles: FloatArray
    above: FloatArray
    lab: FloatArray
    serves: NDArray[np.int64]


@compiled_in_place
def reach(target: int, wanted: PassTargets) -> float:
    """Return the cost up to which a recipe for a target is still of interest."""
    last = wanted.bound[target, wanted.bound.shape[1] - 1]
    return float(min(last, wanted.cap[target]) + wanted.within[0] + MARGIN)


@compiled
def aim(target: int, wanted: PassTargets) -> None:
    """Draw the window of a target anew, after its reach has changed."""
    window(
        wanted.labs[target],
        wanted.ks,
        reach(target, wanted),
        wanted.error[0],
        wanted.boxes[target],
    )


@compiled
def note(target: int, cost: float, number: float, wanted: PassTargets) -> bool:
    """Keep a recipe for a target; False where its shortlist ran over."""
    top = wanted.bound.shape[1]
    bound, kept = wanted.bound[target], wanted.kept[target]
    if cost < bound[top - 1]:
        place = top - 1
        while place > 0 and bound[place - 1] > cost:
            bound[place] = bound[place - 1]
            place -= 1
        bound[place] = cost
        aim(target, wanted)
    count = wanted.filled[target]
    if count == kept.shape[0]:
        count = 0
        most = reach(target, wanted)
        for row in range(kept.shape[0]):
            if kept[row, 0] <= most:
                kept[count, 0], kept[count, 1] = kept[row, 0], kept[row, 1]
                count += 1
        if count == kept.shape[0]:
            return False
    kept[count, 0], kept[count, 1] = cost, number
    wanted.filled[target] = count + 1
    return True


@compiled
def note_row(  # noqa: PLR0917, C901  a compiled loop, called in one place, kept in one piece
    target: int,
    inside: int,
    lanes: int,
    depth: int,
    room: Room,
    wide_kit: WideKit,
    kit: KitNumbers,
    wanted: PassTargets,
) -> bool:
    """Score those of a row that may come within reach of a target; False on running over."""
    pile, coats = room.piles[depth], len(wide_kit.ends) - 1
    last = int(pile[CHOICE]) // coats if depth > 0 else -1
    place, limit = (len(kit.strength) * coats + 1.0) ** depth, np.float32(reach(target, wanted))
    if inside > FEW:
        bound_row(lanes, room.xyz, wanted.labs[target], wanted.ks, wanted.error[0], room.least)
        near = np.int32(0)
        for lane in range(lanes):
            near += np.int32(room.least[lane] <= limit)
        if near == 0:
            return True
    coat = 1
    for lane in range(lanes):
        while lane == wide_kit.ends[coat]:
            coat += 1
        c = wide_kit.places[lane]
        if room.least[lane] > limit or c == last or c < 0:
            continue
        put_on(room.above, pile, c, coat, kit)
        if room.least[lane] + room.above[EFFORT] > reach(target, wanted):
            continue
        lab_of_pile(room.above, kit.paper, kit.curve, kit.weights, room.lab)
        cost = np.sqrt(squared_difference(wanted.labs[target], room.lab, wanted.ks))
        cost += room.above[EFFORT]
        number = pile[NUMBER] + place * (c * coats + coat)
        if cost <= reach(target, wanted) and not note(target, cost, number, wanted):
            return False
    return True


@compiled_in_place
def lightest(pile: FloatArray, left: int, room: Room, kit: WideKit) -> Any:
    """Return X/Xn, Y/Yn, Z/Zn of the lightest that any row on a pile can be.

    Each coat lifts at most what the weakest colorant would, did it lift as the one that lifts most,
    from the pile as it is, and may lighten a band by what its colorant does there, if it does.
    """
    strength, amount, least = pile[STRENGTH], pile[AMOUNT], kit.rules[2]
    if amount > 0.0 and strength <= 0.0:  # a pile lighter than the paper: no bound is attempted
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
    for b in range(BANDS):
        x += kit.weights[0, b] * room.shown[b]
        y += kit.weights[1, b] * room.shown[b]
        z += kit.weights[2, b] * room.shown[b]
    return x, y, z


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
def serve(depth: int, left: int, room: Room, wide_kit: WideKit, wanted: PassTargets) -> int:
    """Mark the targets that a row may serve; return how many there are."""
    pile, count = room.piles[depth], 0
    x, y, z = lightest(pile, left, room, wide_kit)
    for target in range(len(wanted.labs)):
        box = wanted.boxes[target]
        serves = x >= box[0] and y >= box[2] and z >= box[4]
        room.serves[target] = serves and pile[EFFORT] <= reach(target, wanted)
        count += room.serves[target]
    return count


@compiled_in_place
def serve_row(depth: int, room: Room, wide_kit: WideKit, wanted: PassTargets) -> int:
    """Return how many targets a row may serve; for most rows all that is done, so kept apart."""
    left = min(len(wide_kit.ends) - 1, int(room.piles[depth, LEFT]))
    return serve(depth, left, room, wide_kit, wanted) if left > 0 else 0


@compiled
def look_at_row(depth: int, room: Room, wide_kit: WideKit, wanted: PassTargets) -> int:
    """Color all that lay one more step on the pile at `depth`; count those inside a window."""
    left, inside = min(len(wide_kit.ends) - 1, int(room.piles[depth, LEFT])), 0
    for b in range(BANDS):
        room.below[b] = room.piles[depth, b]
    lanes = wide_kit.ends[left]
    lay_row(left, room.piles[depth], room.state, room.wide, wide_kit)
    color_row(lanes, room.below, room.wide, room.xyz, wide_kit)
    for target in range(len(wanted.labs)):
        if room.serves[target] > 0:
            inside += mark_inside(lanes, room.xyz, wanted.boxes[target], room.least)
    return inside


@compiled
def note_served(
    depth: int, room: Room, wide_kit: WideKit, kit: KitNumbers, wanted: PassTargets
) -> bool:
    """Note for each target what a colored row has for it; False on running over."""
    lanes = wide_kit.ends[min(len(wide_kit.ends) - 1, int(room.piles[depth, LEFT]))]
    for target in range(len(wanted.labs)):
        if room.serves[target] > 0:
            inside = mark_inside(lanes, room.xyz, wanted.boxes[target], room.least)
            if inside > 0 and not note_row(
                target, inside, lanes, depth, room, wide_kit, kit, wanted
            ):
                return False
    return True


@compiled
def run_rows(  # noqa: PLR0917  a compiled loop, called in one place
    first: int,
    last: int,
    deepest: int,
    coats: int,
    room: Room,
    wide_kit: WideKit,
    kit: KitNumbers,
    wanted: PassTargets,
) -> bool:
    """Go through the rows on all piles of 1 to `deepest` steps; False on running over.

    `first` to `last` − 1 are the choices (colorant × coats) of the bottom step. `room.piles[0]` is
    what lies there already, with the coats left in its place LEFT.
    """
    choices, piles = len(kit.strength) * coats, room.piles
    for target in range(len(wanted.labs)):
        aim(target, wanted)
    depth = 1
    piles[1, CHOICE] = first - 1
    while depth > 0:
        choice = int(piles[depth, CHOICE]) + 1
        piles[depth, CHOICE] = choice
        if choice >= (last if depth == 1 else choices):
            depth -= 1
            continue
        colorant, laid = choice // coats, choice % coats + 1
        left = int(piles[depth - 1, LEFT]) - laid
        if left < 0 or (depth > 1 and int(piles[depth - 1, CHOICE]) // coats == colorant):
            continue
        put_on(piles[depth], piles[depth - 1], colorant, laid, kit)
        place = (choices + 1.0) ** (depth - 1)
        piles[depth, NUMBER] = piles[depth - 1, NUMBER] + place * (choice + 1)
        piles[depth, LEFT] = left
        serves = serve_row(depth, room, wide_kit, wanted)
        inside = look_at_row(depth, room, wide_kit, wanted) if serves > 0 else 0
        if inside > 0 and not note_served(depth, room, wide_kit, kit, wanted):
            return False
        if depth < deepest:
            depth += 1
            piles[depth, CHOICE] = -1.0
    return True


@compiled
def run_prefixes(  # noqa: PLR0917  a compiled loop, called in one place
    prefixes: FloatArray,
    coats: int,
    room: Room,
    wide_kit: WideKit,
    kit: KitNumbers,
    wanted: PassTargets,
) -> bool:
    """Go through the rows on the piles of given recipe numbers; False on running over."""
    base = len(kit.strength) * coats + 1
    for target in range(len(wanted.labs)):
        aim(target, wanted)
    for prefix in prefixes:
        number, depth = int(prefix), 0
        while number > 0:
            choice = number % base - 1
            below, pile = room.piles[depth], room.piles[depth + 1]
            put_on(pile, below, choice // coats, choice % coats + 1, kit)
            pile[CHOICE], pile[LEFT] = choice, below[LEFT] - (choice % coats + 1)
            pile[NUMBER] = prefix
            number //= base
            depth += 1
        serves = serve_row(depth, room, wide_kit, wanted)
        inside = look_at_row(depth, room, wide_kit, wanted) if serves > 0 else 0
        if inside > 0 and not note_served(depth, room, wide_kit, kit, wanted):
            return False
    return True


@compiled
def run_ground(
    steps: int, room: Room, wide_kit: WideKit, kit: KitNumbers, wanted: PassTargets
) -> bool:
    """Offer the recipe that adds nothing and all of one step; False on running over."""
    for target in range(len(wanted.labs)):
        lab_of_pile(room.piles[0], kit.paper, kit.curve, kit.weights, room.lab)
        cost = np.sqrt(squared_difference(wanted.labs[target], room.lab, wanted.ks))
        aim(target, wanted)
        if cost <= reach(target, wanted) and not note(target, cost, 0.0, wanted):
            return False
    serves = serve_row(0, room, wide_kit, wanted) if steps > 0 else 0
    if serves == 0 or look_at_row(0, room, wide_kit, wanted) == 0:
        return True
    return bool(note_served(0, room, wide_kit, kit, wanted))
