"""Lightfastness as a CSV file: stated classes and window readings, a line each, in and out.

A line with a ``class`` states one for its colorant, and ``source`` says who does. A line with a
``dose`` is a window reading: light so far [million lux-hours, a number or a range], ``ultraviolet``
(yes, or no where it was kept out), the colors ``before`` and ``after`` as three numbers L a b with
blanks between, the ``noise`` of their difference, ``paper``, ``remark`` and when it was ``noted``.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime

import numpy as np

from laydown import allowed_sizes
from laydown.color.arrays import FloatArray
from laydown.color.lab import xyz_from_lab
from laydown.color.reconstruction import inside_object_solid
from laydown.documents.files.csv import read_csv, write_csv
from laydown.documents.files.table import Line, Table
from laydown.errors import BadFileError, LightfastnessError
from laydown.media.light.exposure import parse_span, span_text
from laydown.media.light.fading import Lightfastness, parse_class
from laydown.media.light.window_test import WindowReading

COLUMNS = (
    "range",
    "color",
    "class",
    "source",
    "paper",
    "dose",
    "ultraviolet",
    "before",
    "after",
    "noise",
    "remark",
    "noted",
)
NEEDED = ("range", "color")
MOST_ROWS = 10_000


@dataclass(frozen=True, slots=True, eq=False)
class FastnessRow:
    """A line: a stated class, or a reading."""

    line: int
    """Where it stands."""
    range: str
    color: str
    """Which colorant."""
    fastness: Lightfastness | None = None
    source: str = ""
    """Its class and who states it; None on the line of a reading."""
    paper: str = ""
    reading: WindowReading | None = None
    remark: str = ""
    noted: datetime | None = None
    """A reading; None on the line of a class."""


def read_lightfastness(data: bytes, *, source: str) -> tuple[FastnessRow, ...]:
    r"""Read classes and window readings.

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
    >>> rows = read_lightfastness(b"range,color,class\nShoal,Kelp,3\n", source="mine.csv")
    >>> rows[0].fastness
    '3'
    """
    table = read_csv(data, source, COLUMNS, needed=NEEDED, most=allowed_sizes.LIST)
    if not {"class", "dose"} & set(table.columns):
        raise BadFileError(
            f"{source}, line {table.heading}: it has neither a column “class” nor “dose”.",
            hint="A class of lightfastness is stated, or a dose of light and what it did.",
        )
    rows = tuple(_row(table, line) for line in table.lines)
    if not rows or len(rows) > MOST_ROWS:
        raise BadFileError(
            f"{source} has {len(rows):,} lines below its columns: allowed are 1 to {MOST_ROWS:,}.",
            hint="Give one line for each class or reading.",
        )
    return rows


def _row(table: Table, line: Line) -> FastnessRow:
    for column in NEEDED:
        if not line[column]:
            raise table.bad_cell(line, column, "it is empty.", "Name the colorant and its range.")
    if bool(line["class"]) == bool(line["dose"]):
        raise table.bad_cell(
            line, "class", "a line has either a class or a dose.", "Take two lines for both."
        )
    try:
        if line["class"]:
            fastness = parse_class(line["class"])
            return FastnessRow(line.number, line["range"], line["color"], fastness, line["source"])
        return _reading_row(table, line)
    except LightfastnessError as error:
        column = "class" if line["class"] else "dose"
        raise table.bad_cell(line, column, error.message, error.hint) from error


def _reading_row(table: Table, line: Line) -> FastnessRow:
    if line["ultraviolet"].casefold() not in {"yes", "no"}:
        raise table.bad_cell(
            line,
            "ultraviolet",
            f"“{line['ultraviolet']}”.",
            "Write yes, or no where it was kept out.",
        )
    reading = WindowReading(
        dose=parse_span(line["dose"], "dose in million lux-hours"),
        before=_lab(table, line, "before"),
        after=_lab(table, line, "after"),
        noise=_noise(table, line),
        filtered=line["ultraviolet"].casefold() == "no",
    )
    return FastnessRow(
        line.number,
        line["range"],
        line["color"],
        paper=line["paper"],
        reading=reading,
        remark=line["remark"],
        noted=_moment(table, line),
    )


def _lab(table: Table, line: Line, column: str) -> FloatArray:
    try:
        lab = np.array([float(part) for part in line[column].split()])
    except ValueError:
        lab = np.empty(0)
    if (
        lab.shape != (3,)
        or not np.isfinite(lab).all()
        or not inside_object_solid(xyz_from_lab(lab))
    ):
        raise table.bad_cell(
            line,
            column,
            f"“{line[column]}” is no color of a surface.",
            "Write L a b with blanks between: 71 8 46.",
        )
    return lab


def _noise(table: Table, line: Line) -> float:
    try:
        noise = float(line["noise"] or 0.0)
    except ValueError:
        noise = -1.0
    if not 0.0 <= noise <= 20.0:
        raise table.bad_cell(
            line, "noise", f"“{line['noise']}”.", "Write a number from 0 to 20, or nothing."
        )
    return noise


def _moment(table: Table, line: Line) -> datetime | None:
    if not line["noted"]:
        return None
    try:
        found = datetime.fromisoformat(line["noted"])
    except ValueError:
        raise table.bad_cell(
            line, "noted", f"“{line['noted']}”.", "Write it like 2026-03-04."
        ) from None
    return found if found.tzinfo else found.replace(tzinfo=UTC)


def write_lightfastness(rows: Iterable[FastnessRow]) -> str:
    """Write classes and readings so that `read_lightfastness` brings the same back.

    Examples
    --------
    >>> print(write_lightfastness([FastnessRow(2, "Shoal", "Kelp", parse_class("3"))]).split()[1])
    Shoal,Kelp,3,,,,,,,,,
    """
    return write_csv(COLUMNS, map(_cells, rows))


def _cells(row: FastnessRow) -> list[str]:
    if row.fastness is not None:
        stated = [row.range, row.color, row.fastness, row.source]
        return stated + [""] * (len(COLUMNS) - len(stated))
    if row.reading is None:
        raise ValueError("a line is a class or a reading")
    read = row.reading
    return [
        row.range,
        row.color,
        "",
        "",
        row.paper,
        span_text(read.dose),
        "no" if read.filtered else "yes",
        *(" ".join(f"{float(v):.10g}" for v in lab) for lab in (read.before, read.after)),
        f"{read.noise:g}",
        row.remark,
        row.noted.isoformat() if row.noted else "",
    ]
