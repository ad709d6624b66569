"""A list of wanted colors as a CSV file: a lesson, or whatever someone wants converted.

Columns are found by their names, in any order: ``color`` says what is wanted, in any form that a
single target takes; ``name``, ``passage``, ``role`` and ``note`` may be there. Lines with nothing
in them are passed over.
"""

import csv
import difflib
import io
from dataclasses import dataclass

from laydown.documents.text_files import text_of
from laydown.errors import BadFileError

COLUMNS = ("passage", "role", "name", "color", "note")
MOST_TARGETS = 5000
"""A longer list is some other file, or work for a night."""


@dataclass(frozen=True, slots=True)
class TargetRow:
    """A wanted color as a file states it, and the line where it stands."""

    line: int
    color: str
    name: str = ""
    passage: str = ""
    role: str = ""
    note: str = ""


def read_targets(data: bytes, *, source: str) -> tuple[TargetRow, ...]:
    r"""Read a list of wanted colors.

    Parameters
    ----------
    data
        The file.
    source
        Its name, for messages.

    Raises
    ------
    BadFileError
        Names the line and the column, and what is allowed.

    Examples
    --------
    >>> read_targets(b"color,passage\nKelp,weeds\n", source="a list")[0].passage
    'weeds'
    """
    lines = csv.reader(io.StringIO(text_of(data, source), newline=""))
    header = [cell.strip().casefold() for cell in next(lines, [])]
    _check_header(header, source)
    rows = []
    for cells in lines:
        if any(cell.strip() for cell in cells):
            rows.append(_row(header, cells, line=lines.line_num, source=source))
    if not rows:
        raise BadFileError(f"{source} names no color.", hint="Write one wanted color a line.")
    if len(rows) > MOST_TARGETS:
        raise BadFileError(
            f"{source} names {len(rows):,} colors: allowed are {MOST_TARGETS:,}.",
            hint="Split it into several lists.",
        )
    return tuple(rows)


def _check_header(header: list[str], source: str) -> None:
    for name in header:
        if name not in COLUMNS:
            near = difflib.get_close_matches(name, COLUMNS, n=1)
            raise BadFileError(
                f"{source}, line 1: there is no column “{name}” in a list of colors.",
                hint=f"Did you mean {near[0]}?" if near else f"Columns are {', '.join(COLUMNS)}.",
            )
    if "color" not in header or len(set(header)) < len(header):
        raise BadFileError(
            f"{source}, line 1: the column “color” must be there, and every column only once.",
            hint=f"Columns are {', '.join(COLUMNS)}.",
        )


def _row(header: list[str], cells: list[str], *, line: int, source: str) -> TargetRow:
    if len(cells) > len(header):
        raise BadFileError(
            f"{source}, line {line}: {len(cells)} cells where the header names {len(header)}.",
            hint="Put a cell that has a comma in it between double quotes.",
        )
    told = {name: cell.strip() for name, cell in zip(header, cells, strict=False)}
    if not told.get("color"):
        raise BadFileError(
            f"{source}, line {line}: the column “color” is empty.",
            hint="Write a colorant's name, a recipe, lab:L,a,b or #rrggbb.",
        )
    return TargetRow(line, **told)
