"""The order to work in: each colorant picked up once, pale to dark."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import partial

from laydown.media.recipe import AnyStep, Colorant, Medium, Step, Treatment
from laydown.media.recipe_words import treatment_words
from laydown.sheet.sheet import Cell

UNKNOWN_LIGHTNESS = 50.0
"""Taken for a colorant whose lightness nobody knows yet: after the pale half (chosen)."""


@dataclass(frozen=True, slots=True)
class Pickup:
    """One time that a colorant, or a treatment's tool, is taken up."""

    round: int
    """1 for all that starts on bare paper; a layered cell whose upper colorant is the paler one
    waits for round 2, after all of round 1 has dried, and so does whatever lies over a wash or
    solvent."""
    name: str
    """Colorant, mixture or treatment."""
    cells: tuple[int, ...]
    """Numbers of those it goes into."""


def working_list(
    cells: Sequence[Cell], *, lightness: Mapping[Colorant, float]
) -> tuple[Pickup, ...]:
    """Return the order in which to pick colorants up.

    Parameters
    ----------
    cells
        What is colored in at one sitting: those of a page.
    lightness
        L* of one coat by colorant, as far as it is known; the rest follow by name.

    Returns
    -------
    tuple of Pickup
        Blenders first, then pale to dark: a nib that meets a paler color stays clean, and dark over
        pale is laid in one go, since the pale one is down before. Only a cell that asks for a
        paler colorant over a darker one, or for anything over a wash or solvent, which must dry
        first, needs a second round.

    Examples
    --------
    >>> from laydown.media.recipe import Recipe
    >>> pale, dark = Colorant("Foam", "Estuary"), Colorant("Kelp", "Estuary")
    >>> over, under = Recipe((Step(dark), Step(pale))), Recipe((Step(pale), Step(dark)))
    >>> cells = (Cell(1, 0, 0, over), Cell(2, 0, 1, under))
    >>> for pickup in working_list(cells, lightness={pale: 90.0, dark: 40.0}):
    ...     print(pickup.round, pickup.name, pickup.cells)
    1 Foam (2,)
    1 Kelp (1, 2)
    2 Foam (1,)
    """
    left = {cell.number: list(cell.recipe.steps) for cell in cells if not cell.bare}
    pickups: list[Pickup] = []
    round_number = 0
    while left:
        round_number += 1
        tools = sorted(
            {_tool(s) for steps in left.values() for s in steps}, key=partial(_darkness, lightness)
        )
        wet: set[int] = set()
        taken = [_pick_up(tool, left, round_number, wet) for tool in tools]
        pickups += [pickup for pickup in taken if pickup.cells]
        left = {number: steps for number, steps in left.items() if steps}
    return tuple(pickups)


def order_of_steps(pickups: Sequence[Pickup]) -> dict[int, tuple[int, ...]]:
    """Return for each cell the places of its steps in the order of work, counted from 1."""
    order: dict[int, tuple[int, ...]] = {}
    for place, pickup in enumerate(pickups, start=1):
        for number in pickup.cells:
            order[number] = (*order.get(number, ()), place)
    return order


def _pick_up(
    tool: Colorant | str, left: dict[int, list[AnyStep]], round_number: int, wet: set[int]
) -> Pickup:
    """Take the tool's next steps out of what is left, and add the cells they leave wet."""
    cells = []
    for number, steps in left.items():
        if steps and _tool(steps[0]) == tool and number not in wet:
            cells.append(number)
            if _stays_wet(steps.pop(0)):
                wet.add(number)
    return Pickup(round_number, tool if isinstance(tool, str) else tool.name, tuple(cells))


def _stays_wet(step: AnyStep) -> bool:
    """Whether what comes next must wait for a round of its own: over washes and solvent."""
    if isinstance(step, Step):
        return step.colorant.medium is Medium.WASH
    return step.treatment is Treatment.SOLVENT


def _tool(step: AnyStep) -> Colorant | str:
    if isinstance(step, Step):
        return step.words if step.mixed else step.colorant
    return treatment_words(step)


def _darkness(lightness: Mapping[Colorant, float], tool: Colorant | str) -> tuple[float, str]:
    """Sort key: blenders first, then pale to dark, then by name; mixtures, treatments last."""
    if isinstance(tool, str):
        return 1.0, tool
    if tool.blender:
        return -200.0, tool.label
    return -lightness.get(tool, UNKNOWN_LIGHTNESS), tool.label
