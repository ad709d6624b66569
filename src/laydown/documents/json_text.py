"""JSON that somebody sent: bounded before it is read, for a small text can ask for much memory."""

import json
from typing import Any

MOST_VALUES = 4_000_000
"""In one file: a notebook of fifty thousand trials. Each takes up to a hundred bytes of memory."""
LONGEST_NUMBER = 15
"""Signs of a whole number; what the library keeps has room for so many."""


def parse_json(data: bytes) -> Any:
    """Read JSON (RFC 8259).

    Parameters
    ----------
    data
        The whole text, in UTF-8.

    Raises
    ------
    ValueError
        For any other text, and for one that holds too many values, goes too deep, or has a longer
        number than any here.

    Examples
    --------
    >>> parse_json(b'{"coats": [1, 2]}')
    {'coats': [1, 2]}
    """
    if sum(map(data.count, (b",", b"[", b"{"))) > MOST_VALUES:
        raise ValueError(f"more than {MOST_VALUES} values")
    try:
        return json.loads(data.decode("utf-8-sig"), parse_int=_whole)
    except RecursionError as error:
        raise ValueError("it goes too deep") from error


def _whole(digits: str) -> int:
    if len(digits) > LONGEST_NUMBER:
        raise ValueError(f"a number of {len(digits)} digits")
    return int(digits)
