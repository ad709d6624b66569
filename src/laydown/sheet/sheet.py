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
    TARGET = "target"
    """One to lay into a sketchbook, with cells wherever they were colored beside it."""


@dataclass(frozen=True, slots=True)
class Cell:
    """One cell to color in, or to leave bare."""

    number: int
    """As printed, from 1, in reading order over all pages."""
    page: int
    """Counted from 0."""
    place: int
    """In the page's grid, row by row from 0."""
    recipe: Recipe
    """What is laid, bottom first; an empty one leaves the paper bare."""

    @property
    def bare(self) -> bool:
        """Whether the cell stays bare paper."""
        return not self.recipe.steps


@dataclass(frozen=True, slots=True)
class Sheet:
    """A printed sheet of cells, on one or several pages."""

    number: int
    """What the markers carry: unique in a library."""
    title: str
    """As printed."""
    kind: SheetKind
    """What it is for."""
    paper: str
    """Name of the paper it is colored on."""
    size: PageSize
    """Of its pages."""
    grids: tuple[Grid, ...]
    """One a page."""
    cells: tuple[Cell, ...]
    """In the order of their numbers."""
    framed: bool = False
    """Whether the cells are windows of a frame that is cut out and laid over another paper."""
    left_out: tuple[str, ...] = ()
    """Names of what was asked for and found no room."""
    boxes: tuple[CellBox, ...] = ()
    """Of a target: where its cells were found, in its own millimetres."""

    def on_page(self, page: int) -> tuple[Cell, ...]:
        """Return the cells of one page, counted from 0."""
        return tuple(cell for cell in self.cells if cell.page == page)

    def box(self, cell: Cell) -> CellBox:
        """Return where a cell stands on its page."""
        if self.boxes:
            return self.boxes[cell.number - 1]
        return self.grids[cell.page].box(cell.place)
