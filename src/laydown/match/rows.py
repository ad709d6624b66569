"""The compiled pass over all recipes, a row of them at a time.

A row is all recipes that lay one more step on one pile. Its colors are computed in single
precision, sixteen colorants side by side, and only those that fall into the window of a target are
laid and scored one by one. What the pass may leave out is proven in docs/decisions.
"""

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.match.bound import bound_row
from laydown.match.brute import (
    CHOICE,
    EFFORT,
    LEFT,
    MARGIN,
    NUMBER,
    KitNumbers,
    put_on,
)
from laydown.match.compiling import compiled, compiled_in_place
from laydown.match.loops import BANDS, lab_of_pile, squared_difference
from laydown.match.shades import (
    Room,
    Wanted,
    color_in_part,
    lightest,
    mark_inside,
)
from laydown.match.wide import WideKit, color_row, lay_row
from laydown.match.window import window

FEW = 6
"""Up to so many colors of a row are scored at once; of more, a bound is computed first."""


ALONE = 2
"""For up to so many targets a row is colored in part, and on only where that may be wanted."""


@compiled_in_place
def reach(target: int, wanted: Wanted) -> float:
    """Return the cost up to which a recipe for a target is still of interest."""
    last = wanted.bound[target, wanted.bound.shape[1] - 1]
    return float(min(last, wanted.cap[target]) + wanted.within[0] + MARGIN)


@compiled
def aim(target: int, wanted: Wanted) -> None:
    """Draw the window of a target anew, after its reach has changed."""
    window(
        wanted.labs[target],
        wanted.ks,
        reach(target, wanted),
        wanted.error[0],
        wanted.boxes[target],
    )


@compiled
def note(target: int, cost: float, number: float, wanted: Wanted) -> bool:
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
    wanted: Wanted,
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
def serve(depth: int, left: int, room: Room, wide_kit: WideKit, wanted: Wanted) -> int:
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
def serve_row(depth: int, room: Room, wide_kit: WideKit, wanted: Wanted) -> int:
    """Return how many targets a row may serve; for most rows all that is done, so kept apart."""
    left = min(len(wide_kit.ends) - 1, int(room.piles[depth, LEFT]))
    return serve(depth, left, room, wide_kit, wanted) if left > 0 else 0


@compiled
def look_at_row(depth: int, serves: int, room: Room, wide_kit: WideKit, wanted: Wanted) -> int:
    """Color all that lay one more step on the pile at `depth`; count those inside a window."""
    left, inside = min(len(wide_kit.ends) - 1, int(room.piles[depth, LEFT])), 0
    for b in range(BANDS):
        room.below[b] = room.piles[depth, b]
    lanes = wide_kit.ends[left]
    lay_row(left, room.piles[depth], room.state, room.wide, wide_kit)
    if serves <= ALONE:
        color_in_part(lanes, room, wide_kit, wanted)
    else:
        color_row(lanes, room.below, room.wide, room.xyz, wide_kit)
    for target in range(len(wanted.labs)):
        if room.serves[target] > 0:
            inside += mark_inside(lanes, room.xyz, wanted.boxes[target], room.least)
    return inside


@compiled
def note_served(depth: int, room: Room, wide_kit: WideKit, kit: KitNumbers, wanted: Wanted) -> bool:
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
    wanted: Wanted,
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
        inside = look_at_row(depth, serves, room, wide_kit, wanted) if serves > 0 else 0
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
    wanted: Wanted,
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
        inside = look_at_row(depth, serves, room, wide_kit, wanted) if serves > 0 else 0
        if inside > 0 and not note_served(depth, room, wide_kit, kit, wanted):
            return False
    return True


@compiled
def run_ground(steps: int, room: Room, wide_kit: WideKit, kit: KitNumbers, wanted: Wanted) -> bool:
    """Offer the recipe that adds nothing and all of one step; False on running over."""
    for target in range(len(wanted.labs)):
        lab_of_pile(room.piles[0], kit.paper, kit.curve, kit.weights, room.lab)
        cost = np.sqrt(squared_difference(wanted.labs[target], room.lab, wanted.ks))
        aim(target, wanted)
        if cost <= reach(target, wanted) and not note(target, cost, 0.0, wanted):
            return False
    serves = serve_row(0, room, wide_kit, wanted) if steps > 0 else 0
    if serves == 0 or look_at_row(0, serves, room, wide_kit, wanted) == 0:
        return True
    return bool(note_served(0, room, wide_kit, kit, wanted))
