"""What bad files of text are made of: one thing again and again, up to what is allowed."""

from collections.abc import Callable, Iterable

Make = Callable[[], bytes]
Read = Callable[[bytes], object]
MARKS = "a" + "\u0315\u0316" * 20_000
"""A letter under so many accents, out of order, that putting them in order takes squared time."""
DIGITS = "1" * 50_000


def filled(head: str, unit: str, tail: str = "", *, size: int) -> bytes:
    """Return a head, a unit as often as it fits, and a tail."""
    count = (size - len(head.encode()) - len(tail.encode())) // len(unit.encode())
    return (head + unit * count + tail).encode()


def counted(head: str, unit: str, tail: str = "", *, size: int) -> bytes:
    """Return the same with a running number in each unit, at %d."""
    room = size - len(head) - len(tail)
    many = room // len(unit % 10**6)  # as long as most of them are
    return "".join([head, *map(unit.__mod__, range(many)), tail]).encode()


def table(columns: str, rows: Iterable[str]) -> bytes:
    """Return a CSV of columns and rows."""
    return "\n".join([columns, *rows, ""]).encode()
