"""The marks of a page, and its number, which survives lost markers."""

import itertools

import cv2
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from laydown.sheet.markers import (
    BASE,
    DIGITS,
    MARKER_COUNT,
    MOST_SHEETS,
    digits_of,
    marker_bits,
    number_from_digits,
    number_from_ids,
    page_markers,
    page_number,
    place_of,
    sheet_and_page,
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


NUMBERS = st.integers(8, MOST_SHEETS * 8 - 1)


@given(number=NUMBERS, places=st.sets(st.integers(0, DIGITS - 1), min_size=5))
def test_any_five_digits_tell_the_number(number: int, places: set[int]) -> None:
    """Three of the eight edge markers may be lost."""
    digits = digits_of(number)
    assert number_from_digits({place: digits[place] for place in places}) == number


@given(number=NUMBERS, place=st.integers(0, DIGITS - 1), wrong=st.integers(1, BASE - 1))
def test_one_wrong_digit_is_put_right(number: int, place: int, wrong: int) -> None:
    """A digit misread among eight does not change the number."""
    digits = dict(enumerate(digits_of(number)))
    digits[place] = (digits[place] + wrong) % BASE
    assert number_from_digits(digits) == number


@given(
    number=NUMBERS,
    places=st.sets(st.integers(0, DIGITS - 1), min_size=5, max_size=6),
    wrong=st.integers(1, BASE - 1),
)
def test_too_few_digits_with_a_wrong_one_tell_nothing_or_the_truth(
    number: int, places: set[int], wrong: int
) -> None:
    """A wrong digit among five or six never yields another number."""
    digits = {place: digits_of(number)[place] for place in places}
    worst = max(places)
    digits[worst] = (digits[worst] + wrong) % BASE
    assert number_from_digits(digits) in (None, number)


def test_numbers_differ_in_at_least_five_digits() -> None:
    """Neighboring sheets can't be taken for each other when some marks are dirty."""
    some = [digits_of(number) for number in range(8, 120)]
    for one, other in itertools.combinations(some, 2):
        assert sum(a != b for a, b in zip(one, other, strict=True)) >= 5


@pytest.mark.parametrize(("sheet", "page"), [(0, 0), (MOST_SHEETS, 0), (1, 8), (1, -1)])
def test_numbers_outside_the_range_are_refused(sheet: int, page: int) -> None:
    """A sheet's number starts at 1, and a sheet has at most eight pages."""
    with pytest.raises(ValueError, match="outside"):
        page_number(sheet, page)


@given(sheet=st.integers(1, MOST_SHEETS - 1), page=st.integers(0, 7))
def test_sheet_and_page_come_back(sheet: int, page: int) -> None:
    """A page's number holds its sheet and its place in it."""
    assert sheet_and_page(page_number(sheet, page)) == (sheet, page)
