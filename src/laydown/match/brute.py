"""The compiled run over all recipes, one by one, that begin with one colorant."""

from typing import NamedTuple

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.match.compiling import compiled, compiled_in_place
from laydown.match.loops import BANDS, lab_of_pile, lay, squared_difference

STRENGTH, AMOUNT, EFFORT = BANDS, BANDS + 1, BANDS + 2
CHOICE, NUMBER, LEFT = BANDS + 3, BANDS + 4, BANDS + 5
WIDTH = BANDS + 6
"""A pile is a row: its bands, strength, amount and effort; then what the search must remember: the
choice made last, the number of the recipe up to it, the coats left after it."""
MARGIN = 1e-4
"""How far above the k-th best [CIEDE2000] a recipe is still handed on to be rescored exactly."""


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
        From `laydown.match.curve`.
    weights
        Shape (3, 36): reflectance to X/Xn, Y/Yn, Z/Zn.
    effort
        Shape (n,), what a coat of each adds to the cost, 0 or above.
    lift
        Shape (n,), as `laydown.media.marker.MarkerFit.lifts`.
    later_coat
        As in `laydown.media.pile`.
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


class Task(NamedTuple):
    """What is searched for: a target's Lab (3,), (kL, kC, kH), and the limits of a recipe."""

    target: FloatArray
    ks: FloatArray
    steps: int
    coats: int


class Shortlist(NamedTuple):
    """What may be among the best.

    `bound` holds the lowest costs in rising order and one more place of unused room; `kept` has
    rows (cost, number of the recipe); `filled` (1,) says how many rows are in use.
    """

    bound: FloatArray
    kept: FloatArray
    filled: FloatArray

    def with_room(self, rows: int) -> "Shortlist":
        """Return a copy with room for so many rows."""
        kept = np.empty((rows, 2))
        kept[: len(self.kept)] = self.kept
        return Shortlist(self.bound.copy(), kept, self.filled.copy())

    def numbers(self) -> FloatArray:
        """Return the numbers of the recipes that may be among the best."""
        rows = self.kept[: int(self.filled[0])]
        return np.array(rows[rows[:, 0] <= self.bound[-2] + MARGIN, 1])


def empty_shortlist(top: int, room: int) -> Shortlist:
    """Return a shortlist for so many best, with room for so many rows."""
    return Shortlist(np.full(top + 1, np.inf), np.empty((room, 2)), np.zeros(1))


@compiled
def offer(cost: float, number: float, best: Shortlist) -> bool:
    """Keep a recipe if it may be among the best; False where the shortlist ran over.

    A full list is first cleared of what the bound has overtaken.
    """
    top = best.bound.shape[0] - 1
    if not cost <= best.bound[top - 1] + MARGIN:
        return True
    if cost < best.bound[top - 1]:
        place = top - 1
        while place > 0 and best.bound[place - 1] > cost:
            best.bound[place] = best.bound[place - 1]
            place -= 1
        best.bound[place] = cost
    count = int(best.filled[0])
    if count == best.kept.shape[0]:
        count = 0
        for row in range(best.kept.shape[0]):
            if best.kept[row, 0] <= best.bound[top - 1] + MARGIN:
                best.kept[count, 0], best.kept[count, 1] = best.kept[row, 0], best.kept[row, 1]
                count += 1
        if count == best.kept.shape[0]:
            return False
    best.kept[count, 0], best.kept[count, 1] = cost, number
    best.filled[0] = count + 1
    return True


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
def score(pile: FloatArray, kit: KitNumbers, task: Task, lab: FloatArray) -> float:
    """Return the cost of a pile, with its Lab left in `lab`."""
    lab_of_pile(pile, kit.paper, kit.curve, kit.weights, lab)
    return float(np.sqrt(squared_difference(task.target, lab, task.ks)) + pile[EFFORT])


@compiled
def run(  # noqa: PLR0917  a compiled loop, called in one place
    first: int,
    last: int,
    budget: int,
    piles: FloatArray,
    kit: KitNumbers,
    task: Task,
    best: Shortlist,
) -> bool:
    """Offer every recipe whose bottom colorant is `first` to `last` − 1; False on running over.

    `piles[0]` is what lies there already; the other rows, one for each step and one more, are
    room to work in.
    """
    choices, lab = kit.absorption.shape[0] * task.coats, piles[task.steps + 1]
    piles[0, NUMBER], piles[0, LEFT] = 0.0, budget
    depth = 1
    piles[1, CHOICE] = first * task.coats - 1
    while depth > 0:
        choice = int(piles[depth, CHOICE]) + 1
        piles[depth, CHOICE] = choice
        if choice >= (last * task.coats if depth == 1 else choices):
            depth -= 1
            continue
        colorant, coats = choice // task.coats, choice % task.coats + 1
        left = int(piles[depth - 1, LEFT]) - coats
        if left < 0 or (depth > 1 and int(piles[depth - 1, CHOICE]) // task.coats == colorant):
            continue
        put_on(piles[depth], piles[depth - 1], colorant, coats, kit)
        number = piles[depth - 1, NUMBER] + (choices + 1.0) ** (depth - 1) * (choice + 1)
        if not offer(score(piles[depth], kit, task, lab), number, best):
            return False
        if depth < task.steps and left > 0:
            piles[depth, NUMBER], piles[depth, LEFT] = number, left
            depth += 1
            piles[depth, CHOICE] = -1.0
    return True


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
