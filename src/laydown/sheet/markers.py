"""The markers of a page: which ids they carry, where they stand, and their bits.

Four corner markers say which way up the page lies; eight edge markers say that too and carry one
digit each of the page's number. The bits are those of a published set of square markers.
"""

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from laydown.reference.tables import load_table
from laydown.sheet.identity import BASE, DIGITS, digits_of, number_from_digits
from laydown.sheet.page import EDGE, MARKER, CellBox, PageSize

CORNERS = 4
MARKER_COUNT = CORNERS + DIGITS
MODULES = 6
"""Modules along a marker's side: four of bits and a black border of one on each side."""
PLACE_NAMES = (
    "upper left corner",
    "upper right corner",
    "lower right corner",
    "lower left corner",
    "top edge, left",
    "top edge, right",
    "right edge, upper",
    "right edge, lower",
    "bottom edge, right",
    "bottom edge, left",
    "left edge, lower",
    "left edge, upper",
)
"""Where each marker stands, in the order of their places."""


def page_markers(size: PageSize, *, number: int) -> tuple[tuple[int, CellBox], ...]:
    """Return which twelve markers the page of this number has and where, in their places' order.

    Examples
    --------
    >>> markers = page_markers(PageSize.A4, number=97)
    >>> markers[0]
    (0, CellBox(left=6.5, top=6.5, width=13.0, height=13.0))
    """
    ids = [*range(CORNERS), *(id_of(p, d) for p, d in enumerate(digits_of(number)))]
    return tuple(zip(ids, marker_boxes(size), strict=True))


def marker_boxes(size: PageSize) -> tuple[CellBox, ...]:
    """Return where the twelve markers of a page stand, in the order of their places."""
    right, bottom = size.width - EDGE - MARKER, size.height - EDGE - MARKER
    corners = [(EDGE, EDGE), (right, EDGE), (right, bottom), (EDGE, bottom)]
    places = list(corners)
    for start, end in zip(corners, corners[1:] + corners[:1], strict=True):
        for share in (1 / 3, 2 / 3):
            places.append(
                (start[0] + share * (end[0] - start[0]), start[1] + share * (end[1] - start[1]))
            )
    return tuple(CellBox(x, y, MARKER, MARKER) for x, y in places)


def place_of(marker_id: int) -> int | None:
    """Return the place that a marker's id belongs to, or None where no page uses the id.

    Examples
    --------
    >>> place_of(3), place_of(4), place_of(4 + 29), place_of(249)
    (3, 4, 5, None)
    """
    if 0 <= marker_id < CORNERS:
        return marker_id
    place = (marker_id - CORNERS) // BASE
    return CORNERS + place if 0 <= place < DIGITS else None


def number_from_ids(ids: Mapping[int, int]) -> int | None:
    """Return the page's number from marker ids by place, or None where they don't tell it."""
    edges = {place - CORNERS: marker for place, marker in ids.items() if place >= CORNERS}
    return number_from_digits(
        {place: marker - CORNERS - BASE * place for place, marker in edges.items()}
    )


def marker_bits(marker_id: int) -> NDArray[np.bool_]:
    """Return a marker's modules, shape (6, 6), True where it is black.

    Examples
    --------
    >>> bool(marker_bits(0)[0].all()), marker_bits(0)[1].tolist()
    (True, [True, False, True, False, False, True])
    """
    black = np.ones((MODULES, MODULES), dtype=bool)
    white = [character == "1" for character in load_table("marker_bits").words("white")[marker_id]]
    black[1:-1, 1:-1] = ~np.array(white).reshape(MODULES - 2, MODULES - 2)
    return black


def id_of(place: int, digit: int) -> int:
    """Return the id of the edge marker, from 0, that carries a digit."""
    return CORNERS + BASE * place + digit
