"""Numbers of a sheet's cells as people write them."""

import re

import click


def cell_numbers(text: str) -> frozenset[int]:
    """Read cell numbers.

    Examples
    --------
    >>> sorted(cell_numbers("3,7-9"))
    [3, 7, 8, 9]
    """
    found: set[int] = set()
    for part in filter(None, re.split(r"[,\s]+", text)):
        match = re.fullmatch(r"(\d{1,4})(?:-(\d{1,4}))?", part)
        if match is None:
            raise click.UsageError(f"“{part}” is no cell number; write them like 3,7-9.")
        first, last = int(match[1]), int(match[2] or match[1])
        found |= set(range(first, last + 1))
    return frozenset(found)
