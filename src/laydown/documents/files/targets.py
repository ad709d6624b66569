"""A list of wanted colors as a CSV file: a lesson, or whatever someone wants converted.

Columns are found by their names, in any order: ``color`` says what is wanted, in any form that a
single target takes; ``name``, ``passage``, ``role`` and ``note`` may be there. Lines with nothing
in them are passed over.
"""

from dataclasses import dataclass

from laydown import allowed_sizes
from laydown.documents.files.csv import read_csv
from laydown.documents.files.table import Line, Table
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
    table = read_csv(data, source, COLUMNS, needed=["color"], most=allowed_sizes.LIST)
    rows = tuple(_row(table, line) for line in table.lines)
    if not rows:
        raise BadFileError(f"{source} names no color.", hint="Write one wanted color a line.")
    if len(rows) > MOST_TARGETS:
        raise BadFileError(
            f"{source} names {len(rows):,} colors: allowed are {MOST_TARGETS:,}.",
            hint="Split it into several lists.",
        )
    return rows


def _row(table: Table, line: Line) -> TargetRow:
    if not line["color"]:
        raise table.bad_cell(
            line,
            "color",
            "it is empty.",
            "Write a colorant's name, a recipe, lab:L,a,b or #rrggbb.",
        )
    return TargetRow(line.number, **line.cells)
