"""The marks of a page."""

import cv2
import numpy as np
import pytest

from laydown.sheet.markers import (
    MARKER_COUNT,
    marker_bits,
    number_from_ids,
    page_markers,
    place_of,
)
from laydown.sheet.page import EDGE, QUIET, PageSize, content_box


def test_bits_are_those_of_the_published_markers() -> None:
    """All 250 markers agree with the library that finds them."""
    known = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_250)
    for marker in range(250):
        drawn = np.asarray(cv2.aruco.generateImageMarker(known, marker, 6)) == 0
        assert (marker_bits(marker) == drawn).all()


@pytest.mark.parametrize("size", list(PageSize))
def test_markers_stand_apart_where_printers_print(size: PageSize) -> None:
    """Every marker lies inside the printable part and clear of words and cells."""
    area = content_box(size)
    for _, box in page_markers(size, number=97):
        assert box.left >= EDGE
        assert box.right <= size.width - EDGE + 1e-9
        clear = (
            box.right <= area.left - QUIET + 1e-9
            or box.left >= area.right + QUIET - 1e-9
            or box.bottom <= area.top - QUIET + 1e-9
            or box.top >= area.bottom + QUIET - 1e-9
        )
        assert clear


def test_each_id_tells_its_place() -> None:
    """The twelve markers of a page have twelve places, and say its number together."""
    ids = [marker for marker, _ in page_markers(PageSize.A4, number=4711)]
    assert [place_of(marker) for marker in ids] == list(range(MARKER_COUNT))
    assert number_from_ids(dict(enumerate(ids))) == 4711


@pytest.mark.parametrize("marker", [-1, 236, 249, 1000])
def test_other_ids_have_no_place(marker: int) -> None:
    """An id that no page uses is no mark of ours."""
    assert place_of(marker) is None
