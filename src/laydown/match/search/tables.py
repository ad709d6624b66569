"""A table of all recipes: their colors once, sorted by lightness, for kits that are asked often.

A table is a plain value that its owner keeps: sixteen bytes a recipe. A search starts at the wanted
lightness and goes outward on both sides, nearest first, in blocks; it ends where the window that
the best so far leave open ends. What lies in the window is scored in full, so the answer is that of
a pass over all recipes.
"""

from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from functools import partial

import numpy as np
from numpy.typing import NDArray

from laydown.color.arrays import FloatArray
from laydown.match.search.bound import bound_row
from laydown.match.search.compiling import compiled
from laydown.match.search.exact import Worker, threads_at_hand
from laydown.match.search.found import Found, Watch, ranked
from laydown.match.search.loops import (
    BANDS,
    CHOICE,
    EFFORT,
    LEFT,
    NUMBER,
    KitNumbers,
    lab_of_pile,
    put_on,
    squared_difference,
)
from laydown.match.search.prepared import Prepared
from laydown.match.search.rows import FEW, PassTargets, Room, aim, mark_inside, note, reach
from laydown.match.search.wide import Single, WideKit, color_row, lay_row
from laydown.match.search.window import cubed

MOST_STEPS = 3
BLOCK = 256
"""Recipes of a table that are looked at side by side: enough for the processor's lanes, few enough
that the window is drawn anew often."""
CHOICES_AT_ONCE = 8
"""Bottom choices in a chunk of a thread: some hundredths of a second for a kit of 120."""
Numbers = NDArray[np.uint32]


@dataclass(frozen=True, slots=True, eq=False)
class RecipeTable:
    """The colors of all recipes of a kit on a paper, within limits.

    Parameters
    ----------
    xyz
        Shape (3, n), X/Xn, Y/Yn and Z/Zn in rising order of Y.
    numbers
        Shape (n,), the recipes' numbers, see `laydown.match.space.number_of`.
    """

    xyz: Single
    numbers: Numbers

    @property
    def size(self) -> int:
        """How many bytes it takes."""
        return int(self.xyz.nbytes + self.numbers.nbytes)


def can_be_tabled(prepared: Prepared, *, most_bytes: int = 256_000_000) -> bool:
    """Whether a kit's recipes are short enough and few enough for a table."""
    kit = prepared.kit
    choices = len(kit.colorants) * kit.limits.coats
    return (
        kit.limits.steps <= MOST_STEPS
        and (choices + 1) ** kit.limits.steps < 2**32
        and 16 * kit.considered <= most_bytes
    )


def make_table(prepared: Prepared, *, watch: Watch | None = None) -> RecipeTable:
    """Compute the colors of all recipes and sort them.

    Parameters
    ----------
    prepared
        From `laydown.match.search.prepared.prepare`; what it ranks by matters not for the table.
    watch
        Told how far it has come; may raise to cancel.

    Raises
    ------
    ValueError
        If the kit is too large for a table, see `can_be_tabled`.
    """
    if not can_be_tabled(prepared):
        raise ValueError("too many recipes for a table: search without one")
    recipes = prepared.kit.considered
    xyz, numbers = np.empty((3, recipes), dtype=np.float32), np.empty(recipes, dtype=np.uint32)
    _fill(prepared, xyz, numbers, watch)
    order = np.argsort(xyz[1], kind="stable")
    for row in xyz:
        row[:] = row[order]
    return RecipeTable(xyz, numbers[order])


def _fill(prepared: Prepared, xyz: Single, numbers: Numbers, watch: Watch | None) -> None:
    """Fill in the colors from two threads, one from each end."""
    kit = prepared.kit
    crew = [Worker(prepared, np.zeros((1, 3)), 1, 0.0) for _ in range(2)]
    parts = [(w.room, prepared.wide, kit.numbers, xyz, numbers) for w in crew]
    at = [fill_ground(kit.limits.steps, *parts[0]), len(numbers)]
    choices = len(kit.colorants) * kit.limits.coats
    turns = -(-choices // CHOICES_AT_ONCE) if kit.limits.steps > 1 else 0
    with ThreadPoolExecutor(2) as pool:
        for turn in range(0, turns, 2):
            jobs = []
            for i, way in enumerate((1, -1)):
                first = min((turn + i) * CHOICES_AT_ONCE, choices)
                last = min(first + CHOICES_AT_ONCE, choices)
                work = partial(fill_rows, first, last, kit.limits.steps, kit.limits.coats)
                jobs.append(pool.submit(work, at[i], way, *parts[i]))
            at = [job.result() for job in jobs]
            if watch:
                watch(min(turn + 2, turns), turns)


@compiled
def fill_row(  # noqa: PLR0917  a compiled loop, called in two places
    depth: int,
    at: int,
    way: int,
    room: Room,
    wide_kit: WideKit,
    n: int,
    xyz: Single,
    numbers: Numbers,
) -> int:
    """Write the colors of all that lay one more step on a pile; return where the next may stand."""
    pile, coats = room.piles[depth], len(wide_kit.ends) - 1
    left = min(coats, int(pile[LEFT]))
    if left <= 0:
        return at
    for b in range(BANDS):
        room.below[b] = pile[b]
    lanes = wide_kit.ends[left]
    lay_row(left, pile, room.state, room.wide, wide_kit)
    color_row(lanes, room.below, room.wide, room.xyz, wide_kit)
    last = int(pile[CHOICE]) // coats if depth > 0 else -1
    below, place, coat = int(pile[NUMBER]), (n * coats + 1) ** depth, 1
    for lane in range(lanes):
        while lane == wide_kit.ends[coat]:
            coat += 1
        c = wide_kit.places[lane]
        if c != last and c >= 0:
            at -= 1 if way < 0 else 0
            numbers[at] = below + place * (c * coats + coat)
            for j in range(3):
                xyz[j, at] = room.xyz[j, lane]
            at += 1 if way > 0 else 0
    return at


@compiled
def fill_ground(  # noqa: PLR0917  a compiled loop, called in one place
    steps: int, room: Room, wide_kit: WideKit, kit: KitNumbers, xyz: Single, numbers: Numbers
) -> int:
    """Write the colors of the recipe that adds nothing and of all of one step; return how many."""
    lab_of_pile(room.piles[0], kit.paper, kit.curve, kit.weights, room.lab)
    f_y = (room.lab[0] + 16.0) / 116.0
    xyz[0, 0] = cubed(f_y + room.lab[1] / 500.0)
    xyz[1, 0] = cubed(f_y)
    xyz[2, 0] = cubed(f_y - room.lab[2] / 200.0)
    numbers[0] = 0
    if steps < 1:
        return 1
    return fill_row(0, 1, 1, room, wide_kit, len(kit.strength), xyz, numbers)


@compiled
def fill_rows(  # noqa: PLR0917  a compiled loop, called in one place
    first: int,
    last: int,
    steps: int,
    coats: int,
    at: int,
    way: int,
    room: Room,
    wide_kit: WideKit,
    kit: KitNumbers,
    xyz: Single,
    numbers: Numbers,
) -> int:
    """Write all recipes of two and three steps on the bottom choices `first` to `last` − 1."""
    n, piles = len(kit.strength), room.piles
    base = n * coats + 1
    for one in range(first, last):
        left = int(piles[0, LEFT]) - (one % coats + 1)
        if left <= 0:
            continue
        put_on(piles[1], piles[0], one // coats, one % coats + 1, kit)
        piles[1, CHOICE], piles[1, NUMBER], piles[1, LEFT] = one, one + 1, left
        at = fill_row(1, at, way, room, wide_kit, n, xyz, numbers)
        if steps < 3:
            continue
        for two in range(n * coats):
            rest = left - (two % coats + 1)
            if rest <= 0 or two // coats == one // coats:
                continue
            put_on(piles[2], piles[1], two // coats, two % coats + 1, kit)
            number = one + 1 + base * (two + 1)
            piles[2, CHOICE], piles[2, NUMBER], piles[2, LEFT] = two, number, rest
            at = fill_row(2, at, way, room, wide_kit, n, xyz, numbers)
    return at


def search_table(
    table: RecipeTable,
    prepared: Prepared,
    labs: FloatArray,
    *,
    top: int = 10,
    within: float = 0.0,
    watch: Watch | None = None,
) -> tuple[Found, ...]:
    """Find the best recipes for each of several colors with a prepared table.

    Parameters
    ----------
    table
        Made for the same kit, paper, start and limits.
    prepared
        That kit, with what to rank by.
    labs
        Shape (m, 3).
    top, within
        As in `laydown.match.search.exact.search_many`.
    watch
        Told (done, total) of the colors between chunks; may raise to cancel.
    """
    wanted = np.ascontiguousarray(labs, dtype=np.float64).reshape(-1, 3)
    found: list[Found] = []
    with ThreadPoolExecutor(threads_at_hand()) as pool:
        looks = [pool.submit(_look, table, prepared, lab, top, within) for lab in wanted]
        try:
            for done, look in enumerate(looks, start=1):
                found.append(look.result())
                if watch:
                    watch(done, len(looks))
        finally:
            for look in looks:
                look.cancel()
    return tuple(found)


def _look(
    table: RecipeTable, prepared: Prepared, lab: FloatArray, top: int, within: float
) -> Found:
    """Find the best recipes for one color."""
    worker = Worker(prepared, lab[None], top, within, lanes=BLOCK)
    coats, numbers = prepared.kit.limits.coats, prepared.kit.numbers
    worker.do(
        lambda: bool(scan(table.xyz, table.numbers, coats, worker.room, numbers, worker.wanted))
    )
    return ranked(
        prepared.kit, lab, worker.numbers(0), ranking=prepared.ranking, top=top, within=within
    )


@compiled
def scan(  # noqa: PLR0917  a compiled loop, called in one place
    xyz: Single, numbers: Numbers, coats: int, room: Room, kit: KitNumbers, wanted: PassTargets
) -> bool:
    """Go through a table from the wanted lightness outward; False where the shortlist ran over.

    The window is drawn anew whenever one of the best is found, so its ends come nearer on the way.
    """
    aim(0, wanted)
    box, count = wanted.boxes[0], xyz.shape[1]
    middle = cubed((wanted.labs[0, 0] + 16.0) / 116.0)
    low = int(np.searchsorted(xyz[1], np.float32(middle)))
    high = low
    while True:
        down = low > 0 and xyz[1, low - 1] >= np.float32(box[2])
        up = high < count and xyz[1, high] <= np.float32(box[3])
        if up and not (down and middle - xyz[1, low - 1] < xyz[1, high] - middle):
            first, past = high, min(count, high + BLOCK)
            high = past
        elif down:
            first, past = max(0, low - BLOCK), low
            low = first
        else:
            return True
        if not look_through(first, past - first, xyz, numbers, coats, room, kit, wanted):
            return False


@compiled
def look_through(  # noqa: PLR0917  a compiled loop, called in one place
    first: int,
    lanes: int,
    xyz: Single,
    numbers: Numbers,
    coats: int,
    room: Room,
    kit: KitNumbers,
    wanted: PassTargets,
) -> bool:
    """Score what of a block lies in the window; False where the shortlist ran over."""
    for j in range(3):
        for lane in range(lanes):
            room.xyz[j, lane] = xyz[j, first + lane]
    inside = mark_inside(lanes, room.xyz, wanted.boxes[0], room.least)
    if inside > FEW:
        bound_row(lanes, room.xyz, wanted.labs[0], wanted.ks, wanted.error[0], room.least)
    base = len(kit.strength) * coats + 1
    for lane in range(lanes if inside > 0 else 0):
        if room.least[lane] > reach(0, wanted):
            continue
        number, depth = int(numbers[first + lane]), 0
        while number > 0:
            step = number % base - 1
            put_on(room.piles[depth + 1], room.piles[depth], step // coats, step % coats + 1, kit)
            number //= base
            depth += 1
        lab_of_pile(room.piles[depth], kit.paper, kit.curve, kit.weights, room.lab)
        cost = np.sqrt(squared_difference(wanted.labs[0], room.lab, wanted.ks))
        cost += room.piles[depth, EFFORT]
        laid = float(numbers[first + lane])
        if cost <= reach(0, wanted) and not note(0, cost, laid, wanted):
            return False
    return True
