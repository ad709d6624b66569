"""A page in millimetres: its size, its bands of markers, and a grid of cells between them.

The origin is the page's upper left corner, x runs right and y runs down.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from enum import StrEnum
from math import isinf
from typing import TypeAlias

EDGE = 6.5
"""What home printers leave white along an edge [mm] (common practice, no source)."""
MARKER = 13.0
"""Side of a marker, border included [mm]."""
QUIET = 2.5
"""White kept round a marker [mm]: more than one of its modules (13 / 6)."""
HEADER = 28.0
"""Height of the title and of how to work, above the cells [mm]."""
FOOTER = 8.0
"""Height of what is left for another sheet, below the cells [mm]."""
GAP = 3.6
"""White between two cells side by side [mm], which also shows the light beside each cell."""
APART = 2.0
"""White between the words under two cells side by side [mm]."""
CELL = (12.0, 10.0)
"""Width and height of a cell [mm]: any nib fills it with ease, and one of 24 × 20 reads no better
(in pictures that were rendered, off by 1.89 for 1.85) for four times the ink."""
COLUMNS = range(3, 13)

Words: TypeAlias = Callable[[float], float]
"""How high the words under the cells stand, told how wide they may be; all in mm."""


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

        >>> CellBox(10, 10, 8, 6).inset(1)
        CellBox(left=11, top=11, width=6, height=4)
        """
        return CellBox(self.left + by, self.top + by, self.width - 2 * by, self.height - 2 * by)

    def moved(self, x: float, y: float) -> "CellBox":
        """Return the box moved so far to the right and down [mm]."""
        return CellBox(self.left + x, self.top + y, self.width, self.height)


def in_rows(boxes: Sequence[CellBox]) -> tuple[tuple[CellBox, ...], ...]:
    """Return boxes row by row from the top, each row from the left.

    >>> rows = in_rows([CellBox(20, 1, 9, 9), CellBox(0, 0, 9, 9), CellBox(3, 14, 9, 9)])
    >>> [[box.left for box in row] for row in rows]
    [[0, 20], [3]]
    """
    rows: list[list[CellBox]] = []
    for box in sorted(boxes, key=lambda box: box.center[1]):
        if rows and box.center[1] < max(other.center[1] + other.height / 2 for other in rows[-1]):
            rows[-1].append(box)
        else:
            rows.append([box])
    return tuple(tuple(sorted(row, key=lambda box: box.left)) for row in rows)


def content_box(size: PageSize) -> CellBox:
    """Return where the cells and the words may stand: inside the bands of markers.

    >>> content_box(PageSize.A4)
    CellBox(left=22.0, top=22.0, width=166.0, height=253.0)
    """
    return CellBox(0, 0, size.width, size.height).inset(EDGE + MARKER + QUIET)


@dataclass(frozen=True, slots=True)
class Grid:
    """Rows and columns of equal cells."""

    columns: int
    rows: int
    """How many."""
    left: float
    top: float
    """Corner of the first cell [mm]."""
    cell_width: float
    cell_height: float
    """Inside the border [mm]."""
    pitch_x: float
    pitch_y: float
    """From one cell to the next [mm]."""

    @property
    def places(self) -> int:
        """How many cells it has."""
        return self.columns * self.rows

    def box(self, place: int) -> CellBox:
        """Return the cell at a place, counted row by row from 0.

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


def two_lines(measure: float) -> float:
    """Stand for words that take two lines however wide they are [mm]."""
    return 8.0


def grid_for(count: int, *, size: PageSize, words: Words = two_lines) -> Grid:
    """Return the grid of so many cells on one page: of few places, and as square as can be.

    No cell stands so that the `words` under it would be cut. Raises ValueError where so many cells
    have no room, see `most_cells`.

    >>> grid = grid_for(12, size=PageSize.A4)
    >>> grid.columns, grid.rows, grid.cell_width, grid.cell_height
    (6, 2, 12.0, 10.0)
    """
    rows = {columns: -(-count // columns) for columns in COLUMNS}
    fit = [c for c in COLUMNS if rows[c] <= _most_rows(c, size, words)]
    if not fit:
        most = most_cells(size, words=words)
        raise ValueError(f"{count} cells on one page: at most {most} can be filled")
    grids = [_grid(columns, rows[columns], size, words) for columns in fit]
    return min(grids, key=lambda g: (g.places, abs(g.pitch_x - g.pitch_y)))


def most_cells(size: PageSize, *, words: Words = two_lines) -> int:
    """Return how many cells a page can have.

    >>> most_cells(PageSize.A4), most_cells(PageSize.LETTER)
    (120, 121)
    """
    return max(columns * _most_rows(columns, size, words) for columns in COLUMNS)


def _most_rows(columns: int, size: PageSize, words: Words) -> int:
    """Return how many rows have room; none where so many columns haven't."""
    area, pitch = _cells_box(size), _pitch(columns, size)
    if pitch < CELL[0] + GAP:
        return 0
    under = words(pitch - APART)
    return 0 if isinf(under) else int(area.height / (CELL[1] + under))


def _pitch(columns: int, size: PageSize) -> float:
    return (_cells_box(size).width + APART) / columns


def _cells_box(size: PageSize) -> CellBox:
    area = content_box(size)
    return CellBox(area.left, area.top + HEADER, area.width, area.height - HEADER - FOOTER)


def _grid(columns: int, rows: int, size: PageSize, words: Words) -> Grid:
    area, pitch_x = _cells_box(size), _pitch(columns, size)
    pitch_y = min(area.height / rows, 1.4 * (CELL[1] + words(pitch_x - APART)))
    return Grid(columns, rows, area.left, area.top, *CELL, pitch_x, pitch_y)
