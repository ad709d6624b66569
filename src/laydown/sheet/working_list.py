"""The order to work in: each colorant picked up once, pale to dark."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import partial

from laydown.media.colorant import Colorant
from laydown.media.laydown import Medium
from laydown.media.recipe import AnyStep, Step, Treatment
from laydown.media.recipe_words import treatment_words
from laydown.sheet.sheet import Sheet
from laydown.sheet.words import step_words

UNKNOWN_LIGHTNESS = 50.0
"""Taken for a colorant whose lightness nobody knows yet: after the pale half (chosen)."""


@dataclass(frozen=True, slots=True)
class WorkItem:
    """What to do with the colorant in hand, and in which cells."""

    words: str
    cells: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Pickup:
    """One time that a colorant, or a treatment's tool, is taken up.

    Parameters
    ----------
    round
        1 for all that starts on bare paper; a layered cell whose upper colorant is the paler one
        waits for round 2, after all of round 1 has dried, and so does whatever lies over a wash or
        solvent.
    name
        Colorant, mixture or treatment.
    jobs
        What to do.
    """

    round: int
    name: str
    jobs: tuple[WorkItem, ...]


def working_list(sheet: Sheet, *, lightness: Mapping[Colorant, float]) -> tuple[Pickup, ...]:
    """Return the pickups in order.

    Parameters
    ----------
    sheet
        The sheet.
    lightness
        L* of one coat by colorant, measured or guessed; one not in it counts as 50.

    Returns
    -------
    tuple
        In round 1 each colorant is picked up once, from pale to dark. Only a cell that asks for a
        paler colorant over a darker one, or for anything over a wash or solvent, which must dry
        first, needs a second round.

    Examples
    --------
    >>> from laydown.media.recipe import Recipe
    >>> from laydown.sheet.page import PageSize, grid_for
    >>> from laydown.sheet.sheet import Cell, SheetKind
    >>> pale, dark = Colorant("Foam", "Estuary"), Colorant("Kelp", "Estuary")
    >>> over, under = Recipe((Step(dark), Step(pale))), Recipe((Step(pale), Step(dark)))
    >>> sheet = Sheet(
    ...     1, "", SheetKind.PAIRS, "", PageSize.A4, (grid_for(2, size=PageSize.A4),),
    ...     (Cell(1, 0, 0, over), Cell(2, 0, 1, under)),
    ... )
    >>> for pickup in working_list(sheet, lightness={pale: 90.0, dark: 40.0}):
    ...     print(pickup.round, pickup.name, [job.cells for job in pickup.jobs])
    1 Foam [(2,)]
    1 Kelp [(1, 2)]
    2 Foam [(1,)]
    """
    left = {cell.number: list(cell.recipe.steps) for cell in sheet.cells if not cell.bare}
    pickups: list[Pickup] = []
    round_number = 0
    while left:
        round_number += 1
        tools = sorted(
            {_tool(s) for steps in left.values() for s in steps}, key=partial(_darkness, lightness)
        )
        wet: set[int] = set()
        taken = [_pick_up(tool, left, round_number, wet) for tool in tools]
        pickups += [pickup for pickup in taken if pickup.jobs]
        left = {number: steps for number, steps in left.items() if steps}
    return tuple(pickups)


def _pick_up(
    tool: Colorant | str, left: dict[int, list[AnyStep]], round_number: int, wet: set[int]
) -> Pickup:
    """Take the tool's next steps out of what is left, and add the cells they leave wet."""
    done: dict[str, list[int]] = {}
    for number, steps in left.items():
        if steps and _tool(steps[0]) == tool and number not in wet:
            step = steps.pop(0)
            done.setdefault(step_words(step), []).append(number)
            if _stays_wet(step):
                wet.add(number)
    jobs = tuple(WorkItem(words, tuple(cells)) for words, cells in sorted(done.items()))
    return Pickup(round_number, tool if isinstance(tool, str) else tool.name, jobs)


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
