"""What to do in a cell, in the few words that fit under it and in the full ones of the list."""

from collections.abc import Collection

from laydown.media.laydown import Medium, Pressure, Wait
from laydown.media.recipe import AnyStep, Step
from laydown.media.recipe_words import WHILE_WET, coats_words, treatment_words, unusual_words
from laydown.sheet.sheet import Cell, Sheet, SheetKind

BARE = "leave bare"
MEANT = {
    Medium.PENCIL: "Pencils: medium pressure, where no other is said.",
    Medium.WASH: "Washes: no water added, where none is said; each on what is dry.",
}


def step_words(step: AnyStep) -> str:
    """Return what to do in one step.

    Examples
    --------
    >>> from laydown.media.colorant import Colorant
    >>> from laydown.media.laydown import Laydown
    >>> step_words(Step(Colorant("Kelp", "Estuary"), Laydown(coats=2)))
    '2 coats, dry between'
    """
    if not isinstance(step, Step):
        return treatment_words(step)
    usual = {Medium.PENCIL: "medium pressure", Medium.WASH: "no water added"}
    words = _few_words(step)
    told = usual.get(step.colorant.medium, "")
    return f"{words}, {told}" if told and _is_as_usual(step) else words


def _few_words(step: Step) -> str:
    """Return what to do, without what is meant where nothing is said (`MEANT`)."""
    laid, medium = step.laydown, step.colorant.medium
    several = laid.coats > 1 and medium is not Medium.PENCIL
    between = {Wait.DRY: "dry between", Wait.WET: "wet on wet"}[laid.wait]
    unusual = [word for word in unusual_words(step) if not (several and word == WHILE_WET)]
    return ", ".join([coats_words(step), *([between] if several else []), *unusual])


def _is_as_usual(step: Step) -> bool:
    return step.laydown.pressure is Pressure.MEDIUM and not step.laydown.dilution


def cell_lines(cell: Cell) -> tuple[str, ...]:
    """Return the lines under a cell: for each step its colorant and what to do, bottom first.

    Examples
    --------
    >>> from laydown.media.recipe import Recipe
    >>> cell_lines(Cell(1, 0, 0, Recipe()))
    ('leave bare',)
    """
    if cell.bare:
        return (BARE,)
    return tuple(
        f"{'then ' if i else ''}{_in_a_cell(step)}" for i, step in enumerate(cell.recipe.steps)
    )


def _in_a_cell(step: AnyStep) -> str:
    if not isinstance(step, Step):
        return step_words(step)
    return f"{step.words}: {_few_words(step)}"


def meant(media: Collection[Medium]) -> tuple[str, ...]:
    """Return what the words under the cells leave out, for the media of a sheet.

    Examples
    --------
    >>> meant({Medium.MARKER, Medium.PENCIL})
    ('Pencils: medium pressure, where no other is said.',)
    """
    return tuple(MEANT[medium] for medium in Medium if medium in media and medium in MEANT)


WHY_TWO_COATS = (
    "Color each one once, and once more with a second coat: that shows how your colors build up, "
    "and makes your first answers about twice as sure. The rest of your box can wait for the next "
    "sheet."
)


def why(sheet: Sheet) -> str:
    """Return why a first sheet asks for two coats of few colors; empty for any other sheet."""
    deep = any(cell.recipe.coats == 2 and len(cell.recipe.steps) == 1 for cell in sheet.cells)
    return WHY_TWO_COATS if deep and sheet.kind is SheetKind.FIRST else ""
