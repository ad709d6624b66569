"""The marks of a page, and a small target to cut out: their numbers, their bits, their places.

A page's number is four digits in base 29. They are the values at 0, 1, 2, 3 of a polynomial of
degree 3 over the field of 29 elements; its values at 4 to 7 are four more digits (a Reed–Solomon
code, Reed & Solomon 1960). Any four digits give the number, so a fifth one checks it.

Four corner markers say which way up the page lies; eight edge markers say that too and carry one
digit each. The bits are those of a published set of square markers. A target for a sketchbook has
four marks, white and grays. The origin is its upper left corner; millimetres run right and down,
over the page around it too.
"""

from collections.abc import Mapping
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from laydown.reference.tables import load_table
from laydown.sheet.page import EDGE, MARKER, CellBox, PageSize

BASE = 29
DIGITS = 8
DATA = 4
MOST_PAGES = 8
"""Pages of one sheet."""
MOST_SHEETS = BASE**DATA // MOST_PAGES
"""Sheet numbers run from 1 up to, not including, this."""
CHECKED = DATA + 1
"""Digits that must be seen, so that a wrong one shows."""


def page_number(sheet: int, page: int) -> int:
    """Return the number of a sheet's page, counted from 0.

    >>> page_number(12, 1), sheet_and_page(97)
    (97, (12, 1))
    """
    if not (1 <= sheet < MOST_SHEETS and 0 <= page < MOST_PAGES):
        raise ValueError(f"sheet {sheet}, page {page}: outside 1…{MOST_SHEETS - 1}, 0…7")
    return sheet * MOST_PAGES + page


def sheet_and_page(number: int) -> tuple[int, int]:
    """Return the sheet and the page, counted from 0, that a page's number stands for."""
    return divmod(number, MOST_PAGES)


def digits_of(number: int) -> tuple[int, ...]:
    """Return the eight digits of a page's number, each 0 to 28.

    A number of one digit is a polynomial whose value is 5 at 0, and 0 at 1, 2 and 3.

    >>> digits_of(5)[:4]
    (5, 0, 0, 0)
    """
    data = {place: number // BASE**place % BASE for place in range(DATA)}
    return tuple(_value(data, place) for place in range(DIGITS))


def number_from_digits(seen: Mapping[int, int]) -> int | None:
    """Return the page's number from the digits that were seen, by place (0 to 7).

    None where fewer than five digits agree, or where more than one disagrees.

    >>> digits = dict(enumerate(digits_of(97)))
    >>> number_from_digits({place: digits[place] for place in (1, 3, 4, 6, 7)})
    97
    >>> number_from_digits({**digits, 2: (digits[2] + 1) % 29})
    97
    >>> number_from_digits({0: 1, 1: 1, 2: 1, 3: 1}) is None
    True
    """
    for dropped in range(2):
        if len(seen) - dropped < CHECKED + dropped:
            return None
        for places in combinations(sorted(seen), len(seen) - dropped):
            number = _if_consistent({place: seen[place] for place in places})
            if number is not None:
                return number
    return None


def number_from_four(seen: Mapping[int, int]) -> int:
    """Return the number that four digits tell, by place; nothing checks them but its size.

    >>> number_from_four({place: digits_of(97)[place] for place in (4, 5, 6, 7)})
    97
    """
    return sum(_value(seen, place) * int(BASE**place) for place in range(DATA))


def _if_consistent(seen: Mapping[int, int]) -> int | None:
    known = dict(list(seen.items())[:DATA])
    if any(_value(known, place) != digit for place, digit in seen.items()):
        return None
    return number_from_four(known)


def _value(known: Mapping[int, int], at: int) -> int:
    """Evaluate Lagrange's polynomial through the known points, in the field of 29 elements."""
    total = 0
    for place, digit in known.items():
        term = digit
        for other in known:
            if other != place:
                term = term * (at - other) * pow(place - other, -1, BASE) % BASE
        total += term
    return total % BASE


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

    >>> bool(marker_bits(0)[0].all()), marker_bits(0)[1].tolist()
    (True, [True, False, True, False, False, True])
    """
    black = np.ones((MODULES, MODULES), dtype=bool)
    white = [character == "1" for character in load_table("marker_bits")["white"][marker_id]]
    black[1:-1, 1:-1] = ~np.array(white).reshape(MODULES - 2, MODULES - 2)
    return black


def id_of(place: int, digit: int) -> int:
    """Return the id of the edge marker, from 0, that carries a digit."""
    return CORNERS + BASE * place + digit


OUTLINE = CellBox(0.0, 0.0, 64.0, 44.0)
"""Where it is cut out."""
MOST_TARGETS = BASE ** (DATA - 1)
"""A target's number is below this: three digits, so that its four marks check each other."""
PLACES = tuple(range(CORNERS + DATA, CORNERS + DIGITS))
"""Places of its marks, as those of a page that carry the last four digits; no page has them so."""
MARK, IN = 12.0, 2.5
GRAYS = (255, 200, 150, 105, 65)
"""Printed in these levels, white first [of 255]."""
GRAY_SIDE, GRAY_PITCH, GRAY_TOP = 9.0, 11.0, 17.5


def target_marks() -> Mapping[int, CellBox]:
    """Return where its marks stand, clockwise from the upper left one, by place.

    >>> target_marks()[8]
    CellBox(left=2.5, top=2.5, width=12.0, height=12.0)
    """
    right, low = OUTLINE.right - IN - MARK, OUTLINE.bottom - IN - MARK
    corners = ((IN, IN), (right, IN), (right, low), (IN, low))
    return {place: CellBox(x, y, MARK, MARK) for place, (x, y) in zip(PLACES, corners, strict=True)}


def target_grays() -> tuple[CellBox, ...]:
    """Return where its white and its grays stand, as `GRAYS`."""
    left = (OUTLINE.width - GRAY_PITCH * (len(GRAYS) - 1) - GRAY_SIDE) / 2
    return tuple(
        CellBox(left + place * GRAY_PITCH, GRAY_TOP, GRAY_SIDE, GRAY_SIDE)
        for place in range(len(GRAYS))
    )


def target_ids(number: int) -> tuple[int, ...]:
    """Return which marks a target of this number has, in the order of `PLACES`."""
    digits = digits_of(number)
    return tuple(id_of(place - CORNERS, digits[place - CORNERS]) for place in PLACES)


def target_number(ids: Mapping[int, int]) -> int | None:
    """Return the number that four marks tell, by place; None where they contradict each other.

    >>> target_number(dict(zip(PLACES, target_ids(97), strict=True)))
    97
    >>> target_number({place: id_of(place - CORNERS, 3) for place in PLACES[:3]}) is None
    True
    """
    if set(ids) != set(PLACES):
        return None
    digits = {place - CORNERS: marker - id_of(place - CORNERS, 0) for place, marker in ids.items()}
    number = number_from_four(digits)
    return number if 0 < number < MOST_TARGETS else None
