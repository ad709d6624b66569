"""All short recipes of a kit of several media, laid side by side slot by slot."""

from bisect import bisect_right
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from laydown.color.arrays import FloatArray
from laydown.color.lab import lab_from_reflectance
from laydown.match.search.blocks import (
    Ints,
    RecipeBlock,
    UsableColorants,
    extend,
    ground_block,
    shelves,
)
from laydown.match.search.mixed_space import Slot, may_lie, slots
from laydown.match.space import Limits
from laydown.media.colorant import Colorant
from laydown.media.kit.fit import KitFit
from laydown.media.laydown import Medium
from laydown.media.recipe import Recipe


@dataclass(frozen=True, slots=True, eq=False)
class KitInBlocks:
    """The recipes of a kit of several media within limits, numbered one after the other.

    Parameters
    ----------
    shelves
        The usable colorants by medium.
    fillings
        By slot, shape (c, parts): what may fill it.
    rows
        The slots of each block, bottom first, and its choices, shape (n, slots).
    starts
        The number of each block's first recipe.
    """

    shelves: dict[Medium, UsableColorants]
    fillings: dict[Slot, Ints]
    rows: tuple[tuple[tuple[Slot, ...], Ints], ...]
    starts: tuple[int, ...]

    @property
    def colorants(self) -> tuple[Colorant, ...]:
        """Those that may be used, medium by medium."""
        return tuple(c for one in self.shelves.values() for c in one.colorants)

    def recipe(self, number: int) -> Recipe:
        """Return the recipe with this number."""
        block = bisect_right(self.starts, number) - 1
        filled, choices = self.rows[block]
        row = choices[number - self.starts[block]].tolist()
        return Recipe(
            tuple(
                self.shelves[slot.medium].step(slot, tuple(self.fillings[slot][chosen].tolist()))
                for slot, chosen in zip(filled, row, strict=True)
            )
        )


def kit_in_blocks(
    fit: KitFit, limits: Limits, over: Recipe
) -> tuple[KitInBlocks, FloatArray, NDArray[np.int64]]:
    """Lay every recipe within the limits, slots as in `laydown.match.search.mixed_space`.

    Parameters
    ----------
    fit
        The kit's colorants on the paper.
    limits
        Which recipes.
    over
        What lies on the paper already.

    Returns
    -------
    tuple
        The recipes; their colors, shape (m, 3); the places of their colorants, shape (m, steps),
        -1 where there are fewer. The one that adds nothing comes first.
    """
    held = shelves(fit, limits.without)
    fillings = {
        slot: np.array(slot.choices(len(one.colorants)), dtype=np.int64).reshape(-1, slot.steps)
        for m, one in held.items()
        for slot in slots(m, limits)
    }
    most = fit.paper.coats_limit if limits.total_coats is None else limits.total_coats
    start = ground_block(fit, over)
    blocks = list(_laid(start, held, fillings, limits.steps, max(0, most - over.coats)))
    sizes = [len(block.choices) for block in blocks]
    kit = KitInBlocks(
        held,
        fillings,
        tuple((block.slots, block.choices) for block in blocks),
        tuple(np.cumsum([0, *sizes[:-1]]).tolist()),
    )
    lab = np.concatenate([lab_from_reflectance(block.seen) for block in blocks])
    return kit, lab, np.concatenate([_members(kit, block, limits.steps) for block in blocks])


def _laid(
    block: RecipeBlock,
    shelves: dict[Medium, UsableColorants],
    fillings: dict[Slot, Ints],
    steps: int,
    budget: int,
) -> Iterator[RecipeBlock]:
    """Go through a block and all that may be laid on it."""
    yield block
    for slot, filled in fillings.items():
        left, coats = steps - slot.steps, budget - slot.laydown.coats
        if left < 0 or coats < 0 or not may_lie(block.media, slot) or not len(filled):
            continue
        allowed = np.ones((len(block.choices), len(filled)), dtype=np.bool_)
        below = block.slots[-1] if block.slots else None
        if below and (below.medium, below.parts) == (slot.medium, slot.parts):
            allowed[np.arange(len(allowed)), block.choices[:, -1]] = False
        if allowed.any():
            rows, tops = np.nonzero(allowed)
            above = extend(block, shelves[slot.medium], slot, (rows, tops), filled)
            yield from _laid(above, shelves, fillings, left, coats)


def _members(kit: KitInBlocks, block: RecipeBlock, steps: int) -> NDArray[np.int64]:
    """Return the places of a block's colorants among all of the kit's, shape (n, steps)."""
    found = np.full((len(block.choices), max(1, steps)), -1, dtype=np.int64)
    first, at = 0, {}
    for medium, one in kit.shelves.items():
        at[medium] = first
        first += len(one.colorants)
    column = 0
    for place, slot in enumerate(block.slots):
        parts = kit.fillings[slot][block.choices[:, place]]
        found[:, column : column + slot.steps] = at[slot.medium] + parts
        column += slot.steps
    return found
