"""A small target to cut out and lay into a sketchbook: four marks, white and grays, its number.

The origin is its upper left corner; millimetres run right and down, over the page around it too.
"""

from collections.abc import Mapping, Sequence

from laydown.sheet.identity import BASE, DATA, DIGITS, digits_of, number_from_four
from laydown.sheet.markers import CORNERS, id_of
from laydown.sheet.page import CellBox

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

    Examples
    --------
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

    Examples
    --------
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


def in_rows(boxes: Sequence[CellBox]) -> tuple[tuple[CellBox, ...], ...]:
    """Return boxes row by row from the top, each row from the left.

    Examples
    --------
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
