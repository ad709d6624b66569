"""Lightfastness as a CSV file: stated classes and window readings, a line each, in and out.

A line with a ``class`` states one for its colorant, and ``source`` says who does. A line with a
``dose`` is a window reading: light so far [million lux-hours, a number or a range], ``ultraviolet``
(yes, or no where it was kept out), the colors ``before`` and ``after`` as three numbers L a b with
blanks between, the ``noise`` of their difference, ``paper``, ``remark`` and when it was ``noted``.
"""

import csv
import io
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.color.lab import xyz_from_lab
from laydown.color.solid import inside_object_solid
from laydown.documents.chart_csv import FORMULA
from laydown.documents.text_files import text_of
from laydown.errors import BadFileError, LightfastnessError
from laydown.media.exposure import parse_span, span_text
from laydown.media.lightfastness import Lightfastness, parse_class
from laydown.media.window_test import WindowReading

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
NEEDED = {"range", "color"}
MOST_ROWS = 20_000


@dataclass(frozen=True, slots=True, eq=False)
class FastnessRow:
    """A line: a stated class, or a reading.

    Parameters
    ----------
    line
        Where it stands.
    range, color
        Which colorant.
    fastness, source
        Its class and who states it; None on the line of a reading.
    paper, reading, remark, noted
        A reading; None on the line of a class.
    """

    line: int
    range: str
    color: str
    fastness: Lightfastness | None = None
    source: str = ""
    paper: str = ""
    reading: WindowReading | None = None
    remark: str = ""
    noted: datetime | None = None


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
    >>> rows[0].fastness.words
    'blue wool 3'
    """
    lines = csv.reader(io.StringIO(text_of(data, source), newline=""))
    header = [cell.strip().casefold() for cell in next(lines, [])]
    _check_header(header, source)
    rows = []
    for cells in lines:
        if any(cell.strip() for cell in cells):
            told = dict(zip(header, map(_plain, cells), strict=False))
            rows.append(_row(_Line(told, lines.line_num, source)))
    if not rows or len(rows) > MOST_ROWS:
        raise BadFileError(
            f"{source} has {len(rows)} lines below its columns: allowed are 1 to {MOST_ROWS}.",
            hint="Give one line for each class or reading.",
        )
    return tuple(rows)


def _plain(cell: str) -> str:
    """Return a cell without the apostrophe that keeps a spreadsheet from running it."""
    text = cell.strip()
    return text[1:] if text.startswith("'") and text[1:].startswith(FORMULA) else text


def _check_header(header: Sequence[str], source: str) -> None:
    unknown = [name for name in header if name not in COLUMNS]
    if unknown or not set(header) >= NEEDED or not {"class", "dose"} & set(header):
        raise BadFileError(
            f"{source}, line 1: the columns are {', '.join(header)}.",
            hint=f"range and color must be there, and class or dose; allowed are"
            f" {', '.join(COLUMNS)}.",
        )


@dataclass(frozen=True, slots=True)
class _Line:
    cells: dict[str, str]
    number: int
    source: str

    def __getitem__(self, column: str) -> str:
        return self.cells.get(column, "")

    def bad(self, column: str, problem: str, hint: str) -> BadFileError:
        where = f"{self.source}, line {self.number}, column {column}"
        return BadFileError(f"{where}: {problem}", hint=hint)


def _row(line: _Line) -> FastnessRow:
    for column in sorted(NEEDED):
        if not line[column]:
            raise line.bad(column, "it is empty.", "Name the colorant and its range.")
    if bool(line["class"]) == bool(line["dose"]):
        raise line.bad("class", "a line has either a class or a dose.", "Take two lines for both.")
    try:
        if line["class"]:
            fastness = parse_class(line["class"])
            return FastnessRow(line.number, line["range"], line["color"], fastness, line["source"])
        return _reading_row(line)
    except LightfastnessError as error:
        column = "class" if line["class"] else "dose"
        raise line.bad(column, error.message, error.hint) from error


def _reading_row(line: _Line) -> FastnessRow:
    if line["ultraviolet"].casefold() not in {"yes", "no"}:
        raise line.bad(
            "ultraviolet", f"“{line['ultraviolet']}”.", "Write yes, or no where it was kept out."
        )
    reading = WindowReading(
        dose=parse_span(line["dose"], "dose in million lux-hours"),
        before=_lab(line, "before"),
        after=_lab(line, "after"),
        noise=_noise(line),
        filtered=line["ultraviolet"].casefold() == "no",
    )
    return FastnessRow(
        line.number,
        line["range"],
        line["color"],
        paper=line["paper"],
        reading=reading,
        remark=line["remark"],
        noted=_moment(line),
    )


def _lab(line: _Line, column: str) -> FloatArray:
    try:
        lab = np.array([float(part) for part in line[column].split()])
    except ValueError:
        lab = np.empty(0)
    if (
        lab.shape != (3,)
        or not np.isfinite(lab).all()
        or not inside_object_solid(xyz_from_lab(lab))
    ):
        raise line.bad(
            column,
            f"“{line[column]}” is no color of a surface.",
            "Write L a b with blanks between: 71 8 46.",
        )
    return lab


def _noise(line: _Line) -> float:
    try:
        noise = float(line["noise"] or 0.0)
    except ValueError:
        noise = -1.0
    if not 0.0 <= noise <= 20.0:
        raise line.bad("noise", f"“{line['noise']}”.", "Write a number from 0 to 20, or nothing.")
    return noise


def _moment(line: _Line) -> datetime | None:
    if not line["noted"]:
        return None
    try:
        found = datetime.fromisoformat(line["noted"])
    except ValueError:
        raise line.bad("noted", f"“{line['noted']}”.", "Write it like 2026-03-04.") from None
    return found if found.tzinfo else found.replace(tzinfo=UTC)


def write_lightfastness(rows: Iterable[FastnessRow]) -> str:
    """Write classes and readings so that `read_lightfastness` brings the same back.

    Examples
    --------
    >>> print(write_lightfastness([FastnessRow(2, "Shoal", "Kelp", parse_class("3"))]).split()[1])
    Shoal,Kelp,3,,,,,,,,,
    """
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(COLUMNS)
    for row in rows:
        writer.writerow([f"'{c}" if c.startswith(FORMULA) else c for c in _cells(row)])
    return out.getvalue()


def _cells(row: FastnessRow) -> list[str]:
    if row.fastness is not None:
        stated = [row.range, row.color, row.fastness.grade, row.source]
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
