"""Show a printed sheet: what belongs in each cell, and what was read there last."""

from dataclasses import dataclass

from laydown.app.color_in_words import ColorInWords, in_words
from laydown.color.lab import lab_from_xyz
from laydown.media.recipe import Recipe
from laydown.sheet.sheet import SheetKind
from laydown.sheet.words import recipe_words
from laydown.store.library import Library
from laydown.store.sheets import StoredReading


@dataclass(frozen=True, slots=True, eq=False)
class CellShown:
    """A cell.

    Parameters
    ----------
    number, page
        As printed; pages from 1.
    recipe, words
        What belongs in it, also as a sentence.
    color
        As read last; None where it never was.
    taken
        Whether a reading of it became a swatch.
    flags
        What was doubtful about the last reading.
    """

    number: int
    page: int
    recipe: Recipe
    words: str
    color: ColorInWords | None
    taken: bool
    flags: tuple[str, ...]


@dataclass(frozen=True, slots=True, eq=False)
class SheetShown:
    """A sheet and its cells."""

    number: int
    title: str
    kind: SheetKind
    paper: str
    pages: int
    framed: bool
    cells: tuple[CellShown, ...]


def show_sheet(library: Library, number: int) -> SheetShown:
    """Show the sheet of this number."""
    with library.look() as work:
        sheet = work.sheets.get(number)
        readings = work.sheets.readings(number)
    last = {stored.reading.number: stored for stored in readings}
    taken = {stored.reading.number for stored in readings if stored.accepted}
    return SheetShown(
        sheet.number,
        sheet.title,
        sheet.kind,
        sheet.paper,
        len(sheet.grids),
        sheet.framed,
        tuple(
            CellShown(
                cell.number,
                cell.page + 1,
                cell.recipe,
                recipe_words(cell.recipe),
                _color(last.get(cell.number)),
                cell.number in taken,
                _flags(last.get(cell.number)),
            )
            for cell in sheet.cells
        ),
    )


def _color(stored: StoredReading | None) -> ColorInWords | None:
    return None if stored is None else in_words(lab_from_xyz(stored.reading.xyz))


def _flags(stored: StoredReading | None) -> tuple[str, ...]:
    return () if stored is None else tuple(sorted(str(flag) for flag in stored.reading.flags))
