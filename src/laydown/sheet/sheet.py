"""A sheet and its cells: what is to be laid where."""

from dataclasses import dataclass
from enum import StrEnum

from laydown.media.recipe import Recipe
from laydown.sheet.page import CellBox, Grid, PageSize


class SheetKind(StrEnum):
    """What a sheet is printed for."""

    FIRST = "first"
    KIT = "kit"
    NEXT = "next"
    PAIRS = "pairs"
    LIST = "list"
    ANCHORS = "anchors"


@dataclass(frozen=True, slots=True)
class Cell:
    """One cell to color in, or to leave bare.

    Parameters
    ----------
    number
        As printed, from 1, in reading order over all pages.
    page
        Counted from 0.
    place
        In the page's grid, row by row from 0.
    recipe
        What is laid, bottom first; an empty one leaves the paper bare.
    """

    number: int
    page: int
    place: int
    recipe: Recipe

    @property
    def bare(self) -> bool:
        """Whether the cell stays bare paper."""
        return not self.recipe.steps


@dataclass(frozen=True, slots=True)
class Sheet:
    """A printed sheet of cells, on one or several pages.

    Parameters
    ----------
    number
        What the markers carry: unique in a library.
    title
        As printed.
    kind
        What it is for.
    paper
        Name of the paper it is colored on.
    size
        Of its pages.
    grids
        One a page.
    cells
        In the order of their numbers.
    framed
        Whether the cells are windows of a frame that is cut out and laid over another paper.
    left_out
        Names of what was asked for and found no room.
    """

    number: int
    title: str
    kind: SheetKind
    paper: str
    size: PageSize
    grids: tuple[Grid, ...]
    cells: tuple[Cell, ...]
    framed: bool = False
    left_out: tuple[str, ...] = ()

    def on_page(self, page: int) -> tuple[Cell, ...]:
        """Return the cells of one page, counted from 0."""
        return tuple(cell for cell in self.cells if cell.page == page)

    def box(self, cell: Cell) -> CellBox:
        """Return where a cell stands on its page."""
        return self.grids[cell.page].box(cell.place)
