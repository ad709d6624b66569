"""List the sheets that were printed, and how much of each has become swatches."""

from dataclasses import dataclass
from datetime import datetime

from laydown.sheet.sheet import SheetKind
from laydown.store.library import Library


@dataclass(frozen=True, slots=True)
class SheetListed:
    """A sheet.

    Parameters
    ----------
    number, title, kind, paper
        As printed.
    pages, cells
        How many pages, and cells to color.
    taken
        How many of those have been read and taken over.
    printed
        When, in UTC.
    """

    number: int
    title: str
    kind: SheetKind
    paper: str
    pages: int
    cells: int
    taken: int
    printed: datetime


@dataclass(frozen=True, slots=True)
class SheetList:
    """All sheets, the last printed first."""

    sheets: tuple[SheetListed, ...]


def list_sheets(library: Library) -> SheetList:
    """List all sheets."""
    with library.look() as work:
        kept, taken = work.sheets.all(), work.sheets.taken()
    return SheetList(
        tuple(
            SheetListed(
                sheet.number,
                sheet.title,
                sheet.kind,
                sheet.paper,
                len(sheet.grids),
                sum(not cell.bare for cell in sheet.cells),
                sum(not c.bare and c.number in taken.get(sheet.number, ()) for c in sheet.cells),
                printed,
            )
            for sheet, printed in kept
        )
    )
