"""What to do in a cell, in the few words that fit under it, and the order to work in."""

import re
from collections.abc import Collection, Mapping, Sequence
from functools import partial
from typing import TypeAlias

from laydown.media.laydown import Wait
from laydown.media.recipe import AnyStep, Colorant, Medium, Recipe, Step, Treatment
from laydown.media.recipe_words import WHILE_WET, coats_words, unusual_words
from laydown.sheet.sheet import Cell, Sheet, SheetKind

BARE = "leave bare"
COUNTED, TIGHT = re.compile(r"(?<=\d) "), "\u00a0"
"""The space behind a number, at which no line breaks."""
MOST_NAMES = 40
"""Names that a sentence holds."""
MEANT = {
    Medium.PENCIL: "Pencils: medium pressure, where no other is said.",
    Medium.WASH: "Washes: no water added, where none is said; each on what is dry.",
}


def cell_steps(recipe: Recipe) -> tuple[tuple[int, str, str], ...]:
    """Return what stands under a cell: for each step how often, what and how, bottom first.

    How is empty where it is one plain coat.

    >>> cell_steps(Recipe())
    ((0, 'leave bare', ''),)
    """
    told = [_in_a_cell(step) for step in recipe.steps]
    later = [(times, f"then {what}", how) for times, what, how in told[1:]]
    return tuple(told[:1] + later) or ((0, BARE, ""),)


def _in_a_cell(step: AnyStep) -> tuple[int, str, str]:
    if not isinstance(step, Step):
        return 1, step.words, ""
    # without what is meant where nothing is said (`MEANT`)
    wet = step.laydown.coats > 1 and step.laydown.wait is Wait.WET
    unusual = ["wet on wet" if wet and word == WHILE_WET else word for word in unusual_words(step)]
    told = ", ".join([coats_words(step), *unusual])
    plain = told == coats_words(Step(step.colorant))
    return step.laydown.coats, step.words, "" if plain else COUNTED.sub(TIGHT, told)


def meant(media: Collection[Medium]) -> tuple[str, ...]:
    """Return what the words under the cells leave out, for the media of a sheet.

    >>> meant({Medium.MARKER, Medium.PENCIL})
    ('Pencils: medium pressure, where no other is said.',)
    """
    return tuple(MEANT[medium] for medium in Medium if medium in media and medium in MEANT)


WHY_TWO_COATS = (
    "Some colors are here twice, the second time with a second coat: that shows how your colors "
    "build up, and makes your first answers surer."
)


PATCH_SECONDS = 15.0
"""For each coat: find the marker and open it (6), fill 12 × 10 mm with two strokes of a broad nib
or ten of a fine one (5), close it and find the next cell (4): estimated, never timed
with people [s]."""


def why(sheet: Sheet) -> str:
    """Say why a first sheet asks for what it does; empty for any other sheet."""
    if sheet.kind is not SheetKind.FIRST:
        return ""
    seconds = PATCH_SECONDS * sum(cell.recipe.coats for cell in sheet.cells)
    minutes = max(1, round(seconds / 60))
    time = f"It takes about {minutes} {'minute' if minutes == 1 else 'minutes'} to color in."
    deep = any(cell.recipe.coats == 2 and len(cell.recipe.steps) == 1 for cell in sheet.cells)
    return " ".join(
        filter(None, [time, WHY_TWO_COATS if deep else "", left_out_words(sheet.left_out)])
    )


def left_out_words(names: Sequence[str], *, most: int = MOST_NAMES) -> str:
    """Say what a full page leaves for another sheet, the first so many by name.

    >>> left_out_words(("Kelp", "Dune", "Reed"), most=1)
    'The page is full: Kelp and 2 more wait for your next sheet.'
    """
    if not names:
        return ""
    more = [f"{len(names) - most} more"] if len(names) > most else []
    told = [*names[:most], *more]
    listed = " and ".join(filter(None, [", ".join(told[:-1]), told[-1]]))
    waits = "waits" if len(names) == 1 else "wait"
    return f"The page is full: {listed} {waits} for your next sheet."


UNKNOWN_LIGHTNESS = 50.0
"""Taken for a colorant whose lightness nobody knows yet: after the pale half (chosen)."""


Pickup: TypeAlias = tuple[int, str, tuple[int, ...]]
"""One time that a colorant, mixture or treatment's tool is taken up: the round, its name, and the
numbers of the cells it goes into. Round 1 is for all that starts on bare paper; a layered cell
whose upper colorant is the paler one waits for round 2, after all of round 1 has dried, and so does
whatever lies over a wash or solvent."""


def working_list(
    cells: Sequence[Cell], *, lightness: Mapping[Colorant, float]
) -> tuple[Pickup, ...]:
    """Return the order in which to pick colorants up for cells that are colored in at one sitting.

    `lightness` is L* of one coat, as far as it is known; the rest follow by name. Blenders come
    first, then pale to dark: a nib that meets a paler color stays clean, and dark over pale is laid
    in one go, since the pale one is down before. Only a cell that asks for a paler colorant over a
    darker one, or for anything over a wash or solvent, which must dry first, needs a second round.

    >>> from laydown.media.recipe import Recipe
    >>> pale, dark = Colorant("Foam", "Estuary"), Colorant("Kelp", "Estuary")
    >>> over, under = Recipe((Step(dark), Step(pale))), Recipe((Step(pale), Step(dark)))
    >>> cells = (Cell(1, 0, 0, over), Cell(2, 0, 1, under))
    >>> for pickup in working_list(cells, lightness={pale: 90.0, dark: 40.0}):
    ...     print(*pickup)
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
        for tool in tools:
            if cells_now := _pick_up(tool, left, wet):
                name = tool if isinstance(tool, str) else tool.name
                pickups.append((round_number, name, cells_now))
        left = {number: steps for number, steps in left.items() if steps}
    return tuple(pickups)


def order_of_steps(pickups: Sequence[Pickup]) -> dict[int, tuple[int, ...]]:
    """Return for each cell the places of its steps in the order of work, counted from 1."""
    order: dict[int, tuple[int, ...]] = {}
    for place, (_, _, cells) in enumerate(pickups, start=1):
        for number in cells:
            order[number] = (*order.get(number, ()), place)
    return order


def _pick_up(
    tool: Colorant | str, left: dict[int, list[AnyStep]], wet: set[int]
) -> tuple[int, ...]:
    """Take the tool's next steps out of what is left, and add the cells they leave wet."""
    cells = []
    for number, steps in left.items():
        if steps and _tool(steps[0]) == tool and number not in wet:
            cells.append(number)
            if _stays_wet(steps.pop(0)):
                wet.add(number)
    return tuple(cells)


def _stays_wet(step: AnyStep) -> bool:
    """Whether what comes next must wait for a round of its own: over washes and solvent."""
    if isinstance(step, Step):
        return step.colorant.medium is Medium.WASH
    return step.treatment is Treatment.SOLVENT


def _tool(step: AnyStep) -> Colorant | str:
    if isinstance(step, Step):
        return step.words if step.mixed else step.colorant
    return step.words


def _darkness(lightness: Mapping[Colorant, float], tool: Colorant | str) -> tuple[float, str]:
    """Sort key: blenders first, then pale to dark, then by name; mixtures, treatments last."""
    if isinstance(tool, str):
        return 1.0, tool
    if tool.blender:
        return -200.0, tool.label
    return -lightness.get(tool, UNKNOWN_LIGHTNESS), tool.label
