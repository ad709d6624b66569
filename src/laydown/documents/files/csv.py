"""Tables of named columns, and CSV (RFC 4180), in and out, bounded while it is read.

Every list and every kind of swatch file comes down to such a table.
"""

import csv
import io
import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from difflib import get_close_matches

from laydown.documents.files.text import LONGEST_CELL, LONGEST_LINE, lines_of, text_of, too_long
from laydown.errors import BadFileError
from laydown.media.legible import legible

WORDS = (
    *("range", "medium", "color", "paper", "coats", "stroke", "pressure", "dilution", "wait"),
    *("over", "code", "spread", "blender", "hours", "flags"),
)
"""The columns that say what was laid, in the order they are written."""
MOST_SWATCHES = 10_000
"""In one file: two thousand colorants, each in five ways."""
MOST_COLUMNS = 1_000
"""A spectrum from 300 to 1100 nm by 1 nm has 801."""
MOST_CELLS = 1_000_000
"""Of one file: ten thousand swatches by 10 nm, or two thousand by 1 nm."""
LAB = ("L", "a", "b")
XYZ = ("X", "Y", "Z")
Cells = tuple[int, Mapping[str, str]]
"""The number of a line, and its cells by column."""


class Table:
    """Columns and lines of one file.

    `source`: the file's name, for messages. `columns`: those that the file has; of swatches
    `WORDS`, `LAB`, `XYZ` as they are, bands as ``r380``. `heading`: the line number of the column
    names. `shown`: how the file itself calls a column, where that differs. `decimal_comma`: whether
    0,5 means a half. `full_scale`: what the file writes for a reflectance of 1: 1, or 100 for
    percent.
    """

    def __init__(
        self,
        source: str,
        columns: Sequence[str],
        lines: Iterable[Cells],
        heading: int,
        shown: Mapping[str, str],
        *,
        decimal_comma: bool = False,
        full_scale: float = 1.0,
    ) -> None:
        self.source, self.columns, self.heading, self.shown = source, columns, heading, shown
        self.decimal_comma, self.full_scale = decimal_comma, full_scale
        self.lines = tuple(Line(self, *line) for line in lines)

    def bad(self, problem: str, hint: str = "", *, line: int = 0, column: str = "") -> BadFileError:
        """Return the error for a line, else its heading, and a column where one is at fault."""
        where = f"{self.source}, line {line or self.heading}"
        where += f", column {self.shown.get(column, column)}" if column else ""
        return BadFileError(f"{where}: {problem}", hint=hint or "Nothing was taken in.")


@dataclass(frozen=True, slots=True, eq=False)
class Line:
    """A line's cells by column; a column that is missing is blank."""

    table: Table
    number: int
    cells: Mapping[str, str]

    def __getitem__(self, column: str) -> str:
        return self.cells.get(column, "")

    def bad(self, column: str, problem: str, hint: str = "") -> BadFileError:
        """Return the error for a cell, or without a column for the line."""
        return self.table.bad(problem, hint, line=self.number, column=column)


def bounded(lines: Iterable[Cells], source: str, *, columns: int) -> tuple[Cells, ...]:
    """Gather the lines of a file of so many columns, as long as they are no more than are read.

    Raises `BadFileError` for more than `MOST_COLUMNS`, `MOST_SWATCHES` or `MOST_CELLS`.
    """
    if columns > MOST_COLUMNS:
        raise BadFileError(
            f"{source} has {columns:,} columns: allowed are {MOST_COLUMNS:,}.",
            hint="Leave out bands: one every 10 nm is enough.",
        )
    most = min(MOST_SWATCHES, MOST_CELLS // max(columns, 1))
    gathered: list[Cells] = []
    for number, cells in lines:
        if len(gathered) == most:
            raise BadFileError(
                f"{source}, line {number}: it has more than {most:,} swatches, the most that "
                f"are read of a file with {columns} columns.",
                hint="Split it into smaller files.",
            )
        gathered.append((number, cells))
    return tuple(gathered)


def bands_of(columns: Sequence[str]) -> dict[str, float]:
    """Return the wavelengths [nm] of the columns that are bands, rising.

    >>> bands_of(["color", "r390", "r380.5"])
    {'r380.5': 380.5, 'r390': 390.0}
    """
    found = {}
    for column in columns:
        if column[:1] == "r" and column[1:].replace(".", "", 1).isdigit():
            found[column] = float(column[1:])
    return dict(sorted(found.items(), key=lambda item: item[1]))


def csv_lines(text: str, source: str, *, delimiter: str = ",") -> Iterator[tuple[int, list[str]]]:
    r"""Yield the cells of each line that says anything, and the number of the line it begins in.

    Raises `BadFileError` for quotation marks that don't close, and for what is longer than is read.

    >>> list(csv_lines("a,b" + chr(10) + ",," + chr(10) + '"1', "mine.csv"))
    Traceback (most recent call last):
    laydown.errors.BadFileError: mine.csv, line 3: this is not CSV (unexpected end of data).
    """
    fed = _Fed(text, source)
    reader = csv.reader(fed, delimiter=delimiter, strict=True)
    try:
        for cells in reader:
            if any(map(str.strip, cells)):
                if fed.length > LONGEST_CELL:
                    _check_cells(cells, source, fed.start)
                yield fed.start, cells
            fed.begin(reader.line_num + 1)
    except csv.Error as error:
        raise BadFileError(
            f"{source}, line {fed.start}: this is not CSV ({error}).",
            hint="Look for a quotation mark that is not closed.",
        ) from error


class _Fed:
    """The lines that `csv.reader` is fed: those that quotation marks join are counted as one."""

    def __init__(self, text: str, source: str) -> None:
        self._lines = lines_of(text, source)
        self._source = source
        self.begin(1)

    def begin(self, line: int) -> None:
        self.start, self.length = line, 0

    def __iter__(self) -> Iterator[str]:
        for line in self._lines:
            self.length += len(line)
            if self.length > LONGEST_LINE:
                raise too_long(self._source, self.start)
            yield line


def _check_cells(cells: list[str], source: str, line: int) -> None:
    longest = max(map(len, cells))
    if longest > LONGEST_CELL:
        raise BadFileError(
            f"{source}, line {line}: a cell has {longest:,} characters; at most {LONGEST_CELL:,} "
            f"are read.",
            hint="Look for a quotation mark that is not closed.",
        )


# Tables as CSV (RFC 4180), in and out: what is read is what was written.
#
# The first line names the columns. They may be parted by semicolons or tabs instead, and numbers
# then written with a decimal comma. A spreadsheet runs a cell that begins with ``=`` or its like
# as a formula: such a text is written behind an apostrophe, which is taken off when it is read.

DELIMITERS = ",;\t"
_SIGNS = "[=+\\-@\t\r\n＝＋－＠]"
_WOULD_RUN = re.compile(f"'*{_SIGNS}")
_KEPT_FROM_RUNNING = re.compile(f"'+{_SIGNS}")
_NUMBER = re.compile(r"[+-]?([0-9]+\.?[0-9]*|\.[0-9]+)(e[+-]?[0-9]+)?", re.IGNORECASE)


def write_csv(
    columns: Sequence[str], rows: Iterable[Iterable[str]], *, line_end: str = "\r\n"
) -> str:
    r"""Write a table; `read_csv` brings the same cells back, but for blanks around them.

    Lines end as RFC 4180 has it, or as the tools of a shell like it.

    >>> print(write_csv(["name", "a"], [["=1+1", "-3.5"], ["'=1", ""]], line_end="\n"), end="")
    name,a
    '=1+1,-3.5
    ''=1,
    """
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator=line_end)  # noqa: TID251  the one place for it
    writer.writerow(columns)
    writer.writerows([_written(cell) for cell in row] for row in rows)
    return out.getvalue()


def _written(cell: str) -> str:
    text = legible(cell)
    return f"'{text}" if _WOULD_RUN.match(text) and not _NUMBER.fullmatch(text) else text


def _read(cell: str) -> str:
    text = cell.strip()
    return text[1:] if _KEPT_FROM_RUNNING.match(text) else text


def read_csv(
    data: bytes,
    source: str,
    known: Sequence[str],
    *,
    most: int,
    needed: Sequence[str] = (),
    column: Callable[[str], str] | None = None,
    short_lines: bool = True,
) -> Table:
    r"""Read a table whose columns are named in its first line, in any order.

    The file has at most so many bytes (`laydown.allowed_sizes`), the `needed` columns, and others
    that are `known`. `column` leads from a name as it is written to our own, empty for none;
    without it a known name counts, whatever its capitals. Cells at the end of a line may be left
    out where lines may be short. Lines with nothing in them are passed over; cells have no blanks
    around them.

    Raises `BadFileError`, which names line and column, and what to do; nothing is read then.

    >>> table = read_csv(b"Color;note\n'=1;\n", "a list", ["color", "note"], most=100)
    >>> table.lines[0].number, table.lines[0]["color"]
    (2, '=1')
    """
    text = text_of(data, source, most=most)
    first = next((line for line in lines_of(text, source) if line.strip()), "")
    delimiter = max(DELIMITERS, key=first.count)
    lines = csv_lines(text, source, delimiter=delimiter)
    heading, named = next(lines, (0, []))
    if not named:
        raise BadFileError(f"{source} is empty.", hint="Give a file with at least one row.")
    names = [name.strip() for name in named]
    while names and not names[-1]:
        names.pop()
    columns = _columns(names, f"{source}, line {heading}", known, column)
    missing = [name for name in needed if name not in columns]
    if missing:
        raise BadFileError(
            f"{source}, line {heading}: the column “{missing[0]}” is missing.",
            hint=f"Needed are {', '.join(needed)}; known are {', '.join(known)}.",
        )
    rows = (_line(n, cells, columns, source, short=short_lines) for n, cells in lines)
    return Table(
        source,
        columns,
        bounded(rows, source, columns=len(columns)),
        heading,
        dict(zip(columns, names, strict=True)),
        decimal_comma=delimiter != ",",
    )


def _columns(
    names: Sequence[str], where: str, known: Sequence[str], column: Callable[[str], str] | None
) -> tuple[str, ...]:
    columns: list[str] = []
    for place, name in enumerate(names, 1):
        ours = name.casefold() if column is None else column(name)
        here = f"{where}, column {place}"
        if not ours or (column is None and ours not in known):
            close = get_close_matches(name.casefold(), known, n=1, cutoff=0.6)
            hint = f"Did you mean {close[0]}?" if close else f"Known are {', '.join(known)}."
            raise BadFileError(f"{here}: there is no column “{name}”.", hint=hint)
        if ours in columns:
            raise BadFileError(
                f"{here}: “{name}” stands in column {columns.index(ours) + 1} already.",
                hint="Keep one of the two.",
            )
        columns.append(ours)
    return tuple(columns)


def _line(
    number: int, cells: Sequence[str], columns: Sequence[str], source: str, *, short: bool
) -> Cells:
    spare = any(cell.strip() for cell in cells[len(columns) :])
    if spare or (len(cells) < len(columns) and not short):
        raise BadFileError(
            f"{source}, line {number}: {len(cells)} cells, where the first line names "
            f"{len(columns)} columns.",
            hint="Put a cell that has a comma in it between double quotes; where numbers have"
            " decimal commas, part the columns by semicolons."
            if spare
            else "Every column needs its cell, blank or not.",
        )
    return number, dict(zip(columns, map(_read, cells), strict=False))
