"""Read a swatch card that somebody else drew: a grid of colored patches and some bare paper."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from laydown.color.arrays import FloatArray, Pixels
from laydown.imaging.chart import FoundChart, lattice_map
from laydown.imaging.patches import Decode, bare_signal
from laydown.imaging.reading import PageCell, PageReading, read_by_samples
from laydown.imaging.rectify import PageMap, flatten
from laydown.opencv import cv2
from laydown.sheet.page import CellBox

PITCH = 20.0
"""A card's true size is not known; one place of its grid is drawn as if it measured this [mm]."""
ENOUGH_BARE = 4
FEW_BARE = "Only bare places tell the light on a card: mark several, far apart."
MIDDLE = 0.5
"""Share of a place that is read, so that ragged edges and gaps don't matter."""


def card_boxes(*, rows: int, columns: int) -> tuple[CellBox, ...]:
    """Return the middles of a card's places, row by row.

    Examples
    --------
    >>> card_boxes(rows=1, columns=2)[1].center
    (30.0, 10.0)
    """
    edge = PITCH * (1 - MIDDLE) / 2
    side = PITCH * MIDDLE
    return tuple(
        CellBox(column * PITCH + edge, row * PITCH + edge, side, side)
        for row in range(rows)
        for column in range(columns)
    )


def map_card(corners: FloatArray, *, rows: int, columns: int) -> PageMap:
    """Return the map of a card from the outer corners of its grid.

    Parameters
    ----------
    corners
        Shape (4, 2), in the picture [pixels: x, y]: of the first patch, of the last in the first
        row, of the last of all, of the first in the last row.
    rows, columns
        Of the grid.
    """
    width, height = columns * PITCH, rows * PITCH
    page = np.array([[0.0, 0.0], [width, 0.0], [width, height], [0.0, height]])
    homography = np.asarray(cv2.findHomography(page, corners, 0)[0], dtype=np.float64)
    return PageMap(homography, np.zeros((1, 2)), 0, width, height)


def find_card(
    pixels: Pixels, *, rows: int, columns: int, chart: FoundChart | None = None
) -> PageMap | None:
    """Find a grid of so many rows and columns, the right way up; None where it isn't plain.

    Patches must stand apart; enough must differ from the paper that the whole grid is spanned. A
    reference chart beside the card is such a grid, too, so where it lies no card is looked for.
    """
    blank = [] if chart is None else [chart.outline]
    homography = lattice_map(pixels, rows=rows, columns=columns, blank=blank)
    if homography is None:
        return None
    from_page = np.array([[1 / PITCH, 0, -0.5], [0, 1 / PITCH, -0.5], [0, 0, 1.0]])
    return PageMap(homography @ from_page, np.zeros((1, 2)), 0, columns * PITCH, rows * PITCH)


def read_card_cells(
    pixels: Pixels, page_map: PageMap, cells: Sequence[PageCell], decode: Decode
) -> PageReading:
    """Read a card; its bare places alone tell the light.

    Parameters
    ----------
    pixels
        The picture.
    page_map
        From `map_card` or `find_card`.
    cells
        Places with a name, at least one of them bare.
    decode
        To linear.
    """
    flat = flatten(pixels, page_map)
    bare = [cell.box for cell in cells if cell.bare and flat.contains(cell.box)]
    points = np.array([box.center for box in bare])
    signal = np.array([bare_signal(flat, box, decode) for box in bare])
    reading = read_by_samples(flat, cells, points, signal, decode)
    return replace(reading, warnings=(FEW_BARE,)) if len(bare) < ENOUGH_BARE else reading
