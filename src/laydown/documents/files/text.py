"""Bytes into text or JSON, bounded, with one clear sentence where they are neither."""

import json
import re
from collections.abc import Iterator
from typing import Any

from laydown.errors import BadFileError
from laydown.media.legible import legible

# How long lines and cells may be is counted while a file is read, so that the worst one is
# refused before it has cost much.

MOST_LINES = 2**20
"""As many as a spreadsheet has, blank ones included."""
LONGEST_LINE = 100_000
"""Characters of a line, or of lines that quotation marks make one; 801 bands take 17,000."""
LONGEST_CELL = 10_000
"""Characters of a cell or a note, which are some pages."""
_LINE = re.compile(r"[^\r\n]*(?:\r\n?|\n)|[^\r\n]+")
_MARKS = (
    (
        b"PK\x03\x04",
        "a spreadsheet or an archive",
        "Save the sheet as CSV (UTF-8); a picture's plan is first made into a lesson.",
    ),
    (b"%PDF", "a PDF", "Give the file of numbers it was made from."),
    (b"SQLite format 3", "a database", "Restore it, if it is a backup of a library."),
    (b"\x89PNG", "an image", "Give a file of measured swatches."),
    (b"\xff\xd8\xff", "an image", "Give a file of measured swatches."),
)
_AS_UTF8 = "Save it again as UTF-8 text."


def text_of(data: bytes, source: str, *, most: int) -> str:
    """Read a file's bytes as text, without signs that nobody sees.

    They are UTF-8, with a byte order mark or without. Raises `BadFileError` for a file that is
    empty, larger than `most` bytes, binary, or in another encoding.

    >>> text_of(bytes([0xEF, 0xBB, 0xBF]) + b"range,color", "mine.csv", most=100)
    'range,color'
    """
    _check_size(data, source, most)
    _refuse_other_kinds(data, source)
    try:
        return legible(data.decode("utf-8-sig"))
    except UnicodeDecodeError as error:
        raise not_utf8(data[: error.start].count(b"\n") + 1, source) from error


def lenient_text_of(data: bytes, source: str, *, most: int) -> str:
    """Read a file's bytes as text, putting U+FFFD for bytes that are not UTF-8.

    For formats whose headings carry remarks nobody reads; whoever calls refuses U+FFFD where it
    stands in data, by `not_utf8`.
    """
    _check_size(data, source, most)
    _refuse_other_kinds(data, source)
    return legible(data.decode("utf-8-sig", errors="replace"))


def lines_of(text: str, source: str) -> Iterator[str]:
    r"""Yield the lines of a text one by one, each with its line end.

    Raises `BadFileError` for a line of more than `LONGEST_LINE`, and for more than `MOST_LINES`.

    >>> list(lines_of("a\r\n\nb", "mine.txt"))
    ['a\r\n', '\n', 'b']
    """
    for number, found in enumerate(_LINE.finditer(text), 1):
        if found.end() - found.start() > LONGEST_LINE:
            raise too_long(source, number)
        if number > MOST_LINES:
            raise BadFileError(
                f"{source} has more than {MOST_LINES:,} lines.",
                hint="Remove the blank ones, or split it into smaller files.",
            )
        yield found.group()


def too_long(source: str, line: int) -> BadFileError:
    """Return the error for a line that is longer than is read."""
    return BadFileError(
        f"{source}, line {line}: it is longer than {LONGEST_LINE:,} characters.",
        hint="Look for a quotation mark that is not closed, or for line breaks that were lost.",
    )


def not_utf8(line: int, source: str) -> BadFileError:
    """Return the error for a line in another encoding."""
    return BadFileError(
        f"{source}, line {line}: this is not UTF-8; the file looks as if saved in Latin-1 or "
        f"Windows-1252.",
        hint=_AS_UTF8,
    )


def _check_size(data: bytes, source: str, most: int) -> None:
    if len(data) > most:
        raise BadFileError(
            f"{source} has {len(data) / 1e6:.0f} million bytes: allowed are {most / 1e6:.0f} "
            f"million.",
            hint="Split it into smaller files.",
        )
    if not data.strip():
        raise BadFileError(f"{source} is empty.", hint="Give a file with at least one row.")


def _refuse_other_kinds(data: bytes, source: str) -> None:
    for mark, kind, hint in _MARKS:
        if data.startswith(mark):
            raise BadFileError(f"{source} is {kind}, not text.", hint=hint)
    if data.startswith((b"\xff\xfe", b"\xfe\xff")) or _every_other_byte_is_zero(data):
        raise BadFileError(f"{source} is text in UTF-16.", hint=_AS_UTF8)
    odd = re.search(rb"[\x00-\x08\x0e-\x1f\x7f]", data)
    if odd:
        line = data[: odd.start()].count(b"\n") + 1
        raise BadFileError(
            f"{source} is not text: line {line} holds the byte 0x{odd.group()[0]:02X}.",
            hint="Give a text file: CSV in UTF-8, CGATS or CxF.",
        )


def _every_other_byte_is_zero(data: bytes) -> bool:
    head = data[:200]
    zeros = [head[start::2].count(0) * 2 for start in (0, 1)]
    return max(zeros) > 0.8 * len(head) and min(zeros) < 0.2 * len(head)


MOST_VALUES = 4_000_000
"""In one file: a notebook of fifty thousand trials. Each takes up to a hundred bytes of memory."""
LONGEST_NUMBER = 15
"""Signs of a whole number; what the library keeps has room for so many."""


def parse_json(data: bytes) -> Any:
    """Read JSON (RFC 8259) in UTF-8.

    Raises ValueError for any other text, and for one that holds too many values, goes too deep, or
    has a longer number than any here.

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
