"""A page's number survives lost markers and never turns into another."""

import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st

from laydown.sheet.markers import (
    BASE,
    DIGITS,
    MOST_SHEETS,
    digits_of,
    number_from_digits,
    page_number,
    sheet_and_page,
)

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
