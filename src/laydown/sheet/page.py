"""A page in millimetres: its size, its bands of markers, and a grid of cells between them.

The origin is the page's upper left corner, x runs right and y runs down.
"""

from dataclasses import dataclass
from enum import StrEnum

EDGE = 6.5
"""What home printers leave white along an edge [mm] (common practice, no source)."""
MARKER = 13.0
"""Side of a marker, border included [mm]."""
QUIET = 2.5
"""White kept round a marker [mm]: more than one of its modules (13 / 6)."""
HEADER = 13.0
"""Height of the title and what to mind, above the cells [mm]."""
FOOTER = 6.0
"""Height of the page count, below the cells [mm]."""
GAP = 3.6
"""White between two cells side by side [mm], which also shows the light beside each cell."""
LABEL = 5.6
"""Least height of the words under a cell [mm]."""
WORDS = (15.0, 12.0, 9.5, 7.5, LABEL)
"""Heights for the words under a cell, the first at which cells are still roomy [mm] (chosen)."""
ROOMY = 12.0
"""Side of a cell that any nib fills with ease [mm] (chosen)."""
LARGEST = (24.0, 20.0)
"""Width and height beyond which a cell only costs ink [mm] (chosen)."""
SMALLEST = 8.5
"""A nib of 6 mm still fills a cell of this width and height [mm] (chosen)."""
MOST_COLUMNS = 12


class PageSize(StrEnum):
    """The two papers that home printers take."""

    A4 = "A4"
    LETTER = "Letter"

    @property
    def width(self) -> float:
        """Page width [mm]."""
        return 210.0 if self is PageSize.A4 else 215.9

    @property
    def height(self) -> float:
        """Page height [mm]."""
        return 297.0 if self is PageSize.A4 else 279.4


@dataclass(frozen=True, slots=True)
class CellBox:
    """An upright rectangle [mm]."""

    left: float
    top: float
    width: float
    height: float

    @property
    def right(self) -> float:
        """Its right side [mm]."""
        return self.left + self.width

    @property
    def bottom(self) -> float:
        """Its lower side [mm]."""
        return self.top + self.height

    @property
    def center(self) -> tuple[float, float]:
        """Its middle [mm]."""
        return self.left + self.width / 2, self.top + self.height / 2

    def inset(self, by: float) -> "CellBox":
        """Return the box with each side moved inwards [mm]; outwards where `by` is negative.

        Examples
        --------
        >>> CellBox(10, 10, 8, 6).inset(1)
        CellBox(left=11, top=11, width=6, height=4)
        """
        return CellBox(self.left + by, self.top + by, self.width - 2 * by, self.height - 2 * by)


def content_box(size: PageSize) -> CellBox:
    """Return where the cells and the words may stand: inside the bands of markers.

    Examples
    --------
    >>> content_box(PageSize.A4)
    CellBox(left=22.0, top=22.0, width=166.0, height=253.0)
    """
    return CellBox(0, 0, size.width, size.height).inset(EDGE + MARKER + QUIET)


@dataclass(frozen=True, slots=True)
class Grid:
    """Rows and columns of equal cells.

    Parameters
    ----------
    columns, rows
        How many.
    left, top
        Corner of the first cell [mm].
    cell_width, cell_height
        Inside the border [mm].
    pitch_x, pitch_y
        From one cell to the next [mm].
    """

    columns: int
    rows: int
    left: float
    top: float
    cell_width: float
    cell_height: float
    pitch_x: float
    pitch_y: float

    @property
    def places(self) -> int:
        """How many cells it has."""
        return self.columns * self.rows

    def box(self, place: int) -> CellBox:
        """Return the cell at a place, counted row by row from 0.

        Examples
        --------
        >>> Grid(3, 2, 10, 20, 8, 6, 12, 10).box(4)
        CellBox(left=22, top=30, width=8, height=6)
        """
        row, column = divmod(place, self.columns)
        return CellBox(
            self.left + column * self.pitch_x,
            self.top + row * self.pitch_y,
            self.cell_width,
            self.cell_height,
        )


def grid_for(count: int, *, size: PageSize) -> Grid:
    """Return the grid whose cells are largest for so many of them on one page.

    Cells give way to the words under them, as long as they stay roomy.

    Parameters
    ----------
    count
        Cells wanted, at least 1 and at most `most_cells`.
    size
        The page.

    Raises
    ------
    ValueError
        Where so many cells would be too small to fill.

    Examples
    --------
    >>> grid = grid_for(12, size=PageSize.A4)
    >>> grid.columns, grid.rows, grid.cell_width
    (3, 4, 24.0)
    """
    for words in WORDS:
        grids = [
            _grid(columns, -(-count // columns), size, words)
            for columns in range(3, MOST_COLUMNS + 1)
        ]
        best = max(grids, key=lambda g: (min(g.cell_width, 1.2 * g.cell_height), -g.places))
        if min(best.cell_width, best.cell_height) >= ROOMY:
            return best
    if min(best.cell_width, best.cell_height) >= ROOMY:
        return best
    if min(best.cell_width, best.cell_height) < SMALLEST:
        raise ValueError(f"{count} cells on one page: at most {most_cells(size)} can be filled")
    return best


def most_cells(size: PageSize) -> int:
    """Return how many cells a page can have.

    Examples
    --------
    >>> most_cells(PageSize.A4), most_cells(PageSize.LETTER)
    (192, 180)
    """
    area = _cells_box(size)
    columns = min(MOST_COLUMNS, int((area.width + GAP) / (SMALLEST + GAP)))
    return columns * int(area.height / (SMALLEST + LABEL))


def _cells_box(size: PageSize) -> CellBox:
    area = content_box(size)
    return CellBox(area.left, area.top + HEADER, area.width, area.height - HEADER - FOOTER)


def _grid(columns: int, rows: int, size: PageSize, words: float) -> Grid:
    area = _cells_box(size)
    width = min(LARGEST[0], (area.width + GAP) / columns - GAP)
    height = min(LARGEST[1], area.height / rows - words)
    pitch_x = (area.width - width) / (columns - 1)
    pitch_y = min(area.height / rows, 1.4 * (height + words))
    return Grid(columns, rows, area.left, area.top, width, height, pitch_x, pitch_y)
