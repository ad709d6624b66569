"""Tables as CSV (RFC 4180), in and out, bounded while they are read."""

import csv
import io
import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from difflib import get_close_matches

from laydown.documents.files.table import Line, Table, bounded
from laydown.documents.files.text import LONGEST_CELL, LONGEST_LINE, lines_of, text_of, too_long
from laydown.errors import BadFileError
from laydown.media.legible import legible


def csv_lines(text: str, source: str, *, delimiter: str = ",") -> Iterator[tuple[int, list[str]]]:
    r"""Yield the cells of each line that says anything, and the number of the line it begins in.

    Parameters
    ----------
    text
        The whole file.
    source
        Its name, for messages.
    delimiter
        What stands between cells.

    Raises
    ------
    BadFileError
        For quotation marks that don't close, and for what is longer than is read.

    Examples
    --------
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
    """The lines that `csv.reader` is fed: those that quotation marks make one are counted as one.

    Parameters
    ----------
    start
        The line that what is being read began in.
    length
        How many characters it has up to here.
    """

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

    Parameters
    ----------
    columns
        Their names, in order.
    rows
        The cells of each line, in that order.
    line_end
        As RFC 4180 has it, or as the tools of a shell like it.

    Examples
    --------
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

    Parameters
    ----------
    data, source
        The file, and its name for messages.
    known
        The names that a column may have.
    most
        How many bytes the file may have, see `laydown.allowed_sizes`.
    needed
        Those that must be there.
    column
        From a name as it is written to our own, empty for none; None where it is in `known`,
        whatever its capitals.
    short_lines
        Whether cells at the end of a line may be left out.

    Returns
    -------
    Table
        Lines with nothing in them are passed over; cells have no blanks around them.

    Raises
    ------
    BadFileError
        Names line and column, and what to do; nothing is read then.

    Examples
    --------
    >>> table = read_csv(b"Color;note\n'=1;\n", "a list", ["color", "note"], most=100)
    >>> table.lines[0].number, table.lines[0]["color"]
    (2, '=1')
    """
    text = text_of(data, source, most=most)
    delimiter = _delimiter(text, source)
    lines = csv_lines(text, source, delimiter=delimiter)
    heading, named = next(lines, (0, []))
    if not named:
        raise BadFileError(f"{source} is empty.", hint="Give a file with at least one row.")
    names = _without_blank_ends(named)
    columns = _columns(names, f"{source}, line {heading}", known, column)
    _check_needed(columns, needed, f"{source}, line {heading}", known)
    rows = (_line(n, cells, columns, source, short=short_lines) for n, cells in lines)
    return Table(
        source,
        columns,
        bounded(rows, source, columns=len(columns)),
        heading,
        dict(zip(columns, names, strict=True)),
        decimal_comma=delimiter != ",",
    )


def _delimiter(text: str, source: str) -> str:
    heading = next((line for line in lines_of(text, source) if line.strip()), "")
    return max(DELIMITERS, key=heading.count)


def _without_blank_ends(names: Sequence[str]) -> list[str]:
    told = [name.strip() for name in names]
    while told and not told[-1]:
        told.pop()
    return told


def _columns(
    names: Sequence[str], where: str, known: Sequence[str], column: Callable[[str], str] | None
) -> tuple[str, ...]:
    columns: list[str] = []
    for place, name in enumerate(names, 1):
        ours = name.casefold() if column is None else column(name)
        here = f"{where}, column {place}"
        if not ours or (column is None and ours not in known):
            raise BadFileError(f"{here}: there is no column “{name}”.", hint=_near(name, known))
        if ours in columns:
            raise BadFileError(
                f"{here}: “{name}” stands in column {columns.index(ours) + 1} already.",
                hint="Keep one of the two.",
            )
        columns.append(ours)
    return tuple(columns)


def _near(name: str, known: Sequence[str]) -> str:
    close = get_close_matches(name.casefold(), known, n=1, cutoff=0.6)
    return f"Did you mean {close[0]}?" if close else f"Known are {', '.join(known)}."


def _check_needed(
    columns: Sequence[str], needed: Sequence[str], where: str, known: Sequence[str]
) -> None:
    missing = [name for name in needed if name not in columns]
    if missing:
        raise BadFileError(
            f"{where}: the column “{missing[0]}” is missing.",
            hint=f"Needed are {', '.join(needed)}; known are {', '.join(known)}.",
        )


def _line(
    number: int, cells: Sequence[str], columns: Sequence[str], source: str, *, short: bool
) -> Line:
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
    return Line(number, dict(zip(columns, map(_read, cells), strict=False)))
