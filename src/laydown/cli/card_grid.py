"""The grid of a card, as it is typed."""

import re

import click


def grid_of(text: str) -> tuple[int, int]:
    """Return the rows and columns of a card, typed as ``4x6``."""
    match = re.fullmatch(r"(\d{1,2})\s*[x×]\s*(\d{1,2})", text.strip())
    if match is None or not int(match[1]) or not int(match[2]):
        raise click.UsageError(f"“{text}” is no grid; write rows x columns, for example 4x6.")
    return int(match[1]), int(match[2])


def corners_of(text: str) -> tuple[tuple[float, float], ...]:
    """Return the four outer corners of a grid, typed as ``x,y;…`` in pixels; none for no text."""
    if not text.strip():
        return ()
    numbers = re.findall(r"-?\d+(?:\.\d+)?", text)
    if len(numbers) != 8:
        raise click.UsageError("Four corners are x,y;x,y;x,y;x,y in the picture's pixels.")
    values = [float(number) for number in numbers]
    return tuple(zip(values[::2], values[1::2], strict=True))
