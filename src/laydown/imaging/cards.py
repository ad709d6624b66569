"""Read a swatch card that somebody else drew: a grid of colored patches and some bare paper."""

from collections.abc import Sequence

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.imaging.arrays import Pixels
from laydown.imaging.chart import FoundChart, lattice_map
from laydown.imaging.light import fit_light
from laydown.imaging.patches import Decode, bare_signal, read_patch
from laydown.imaging.reading import PageCell, PageReading
from laydown.imaging.rectify import PageMap, flatten
from laydown.opencv import cv2
from laydown.sheet.page import CellBox

PITCH = 20.0
"""A card's true size is not known; one place of its grid is drawn as if it measured this [mm]."""
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
    seen = [cell for cell in cells if flat.contains(cell.box)]
    bare = [cell for cell in seen if cell.bare]
    light = fit_light(
        np.array([cell.box.center for cell in bare]),
        np.array([bare_signal(flat, cell.box, decode) for cell in bare]),
        weight=np.ones(len(bare)),
        width=page_map.width,
        height=page_map.height,
        most=2,
    )
    patches = {
        cell.number: read_patch(flat, cell.box, light, decode, smooth=cell.smooth) for cell in seen
    }
    paper = light(np.array([cell.box.center for cell in bare])).mean(axis=0)
    middle = np.array([[page_map.width / 2, page_map.height / 2]])
    scale = float(page_map.scale(middle)[0])
    warnings = ("Only bare places tell the light on a card: mark several, far apart.",)
    told = warnings if len(bare) < 4 else ()
    return PageReading(flat, patches, light, light, paper, scale, told)
