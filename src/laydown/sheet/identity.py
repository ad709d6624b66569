"""A page's number as eight digits that edge markers carry, so that lost markers do not lose it.

A page's number is four digits in base 29. They are the values at 0, 1, 2, 3 of a polynomial of
degree 3 over the field of 29 elements; its values at 4 to 7 are four more digits (a Reed–Solomon
code, Reed & Solomon 1960). Any four digits give the number, so a fifth one checks it.
"""

from collections.abc import Mapping
from itertools import combinations

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

    Examples
    --------
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

    Examples
    --------
    A number of one digit is a polynomial whose value is 5 at 0, and 0 at 1, 2 and 3.

    >>> digits_of(5)[:4]
    (5, 0, 0, 0)
    """
    data = {place: number // BASE**place % BASE for place in range(DATA)}
    return tuple(_value(data, place) for place in range(DIGITS))


def number_from_digits(seen: Mapping[int, int]) -> int | None:
    """Return the page's number from the digits that were seen, or None.

    Parameters
    ----------
    seen
        Digit by place (0 to 7).

    Returns
    -------
    int or None
        None where fewer than five digits agree, or where more than one disagrees.

    Examples
    --------
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

    Examples
    --------
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
                term = term * (at - other) * _inverse(place - other) % BASE
        total += term
    return total % BASE


def _inverse(number: int) -> int:
    return int(pow(number, BASE - 2, BASE))
