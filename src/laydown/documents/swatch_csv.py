"""Swatches as CSV: one line each, the columns named in the first line.

Columns: ``range,medium,color,paper,coats,stroke,pressure,dilution,wait,over``, where wanted
``code,spread,blender,hours,flags``, and one measurement: ``L,a,b`` or ``X,Y,Z`` (D50/2°, white at
Y = 100) or bands ``r380`` … ``r730`` (0 to 1). A blank cell is as usual; a line without a color is
bare paper, or where ``over`` ends in solvent or burnishing, that. Columns may be parted by
semicolons or tabs instead, and numbers then written with a decimal comma.
"""

import csv
import io
import re
from collections.abc import Iterator, Sequence
from difflib import get_close_matches

from laydown.documents.swatch_rows import NOTHING_SAID, SwatchRow, Usual
from laydown.documents.swatch_table import cells_of, columns_of, rows_from_table
from laydown.documents.tables import LAB, WORDS, XYZ, Line, Table
from laydown.documents.text_files import text_of
from laydown.errors import BadFileError

DELIMITERS = ",;\t"
_KNOWN = {name.casefold(): name for name in (*WORDS, *LAB, *XYZ)} | {
    f"{name.casefold()}*": name for name in LAB
}
_BAND = re.compile(r"r(\d{3,4})(?:\.(\d+))?")


def read_swatch_csv(
    data: bytes, *, source: str, usual: Usual = NOTHING_SAID
) -> tuple[SwatchRow, ...]:
    """Read swatches from CSV.

    Parameters
    ----------
    data
        The whole file.
    source
        Its name, for messages.
    usual
        What to take where a line leaves range, paper or medium blank.

    Raises
    ------
    BadFileError
        Names line and column, and what to do; nothing is read then.

    Examples
    --------
    >>> text = "range,color,paper,X,Y,Z" + chr(10) + "Estuary,Kelp,Gannet smooth,20,30,10"
    >>> row, = read_swatch_csv(text.encode(), source="mine.csv")
    >>> row.line, row.colorant.label, row.laydown.coats
    (2, 'Estuary/Kelp', 1)
    """
    return rows_from_table(_table(text_of(data, source), source), usual)


def write_swatch_csv(rows: Sequence[SwatchRow]) -> bytes:
    """Write swatches as CSV in UTF-8; reading it gives the same rows."""
    cells = [cells_of(row) for row in rows]
    out = io.StringIO()
    columns = columns_of(cells)
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(columns)
    writer.writerows([row.get(column, "") for column in columns] for row in cells)
    return out.getvalue().encode()


def _table(text: str, source: str) -> Table:
    delimiter = _delimiter(text)
    lines = list(_lines(text, delimiter, source))
    if not lines:
        raise BadFileError(f"{source} is empty.", hint="Give a file with at least one row.")
    heading, names = lines[0]
    columns = _columns(names, heading, source)
    return Table(
        source,
        tuple(columns),
        tuple(_line(n, cells, columns, delimiter, source) for n, cells in lines[1:]),
        heading,
        dict(zip(columns, (name.strip() for name in names), strict=True)),
        decimal_comma=delimiter != ",",
    )


def _delimiter(text: str) -> str:
    heading = next((line for line in text.splitlines() if line.strip()), "")
    return max(DELIMITERS, key=heading.count)


def _lines(text: str, delimiter: str, source: str) -> Iterator[tuple[int, list[str]]]:
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    start = 1
    try:
        for cells in reader:
            if any(cell.strip() for cell in cells):
                yield start, cells
            start = reader.line_num + 1
    except csv.Error as error:
        raise BadFileError(
            f"{source}, line {start}: this is not CSV ({error}).",
            hint="Look for a quotation mark that is not closed.",
        ) from error


def _columns(names: Sequence[str], heading: int, source: str) -> list[str]:
    while names and not names[-1].strip():
        names = names[:-1]
    columns: list[str] = []
    for place, name in enumerate(names, 1):
        column = _column(name)
        where = f"{source}, line {heading}, column {place}"
        if not column:
            raise _unknown_column(name.strip(), where)
        if column in columns:
            raise BadFileError(
                f"{where}: “{name.strip()}” stands in column {columns.index(column) + 1} already.",
                hint="Keep one of the two.",
            )
        columns.append(column)
    return columns


def _column(name: str) -> str:
    """Return our name of a column, or nothing."""
    text = name.strip().casefold()
    band = _BAND.fullmatch(text)
    if band:
        decimals = (band[2] or "").rstrip("0")
        return f"r{band[1]}" + (f".{decimals}" if decimals else "")
    return _KNOWN.get(text, "")


def _unknown_column(name: str, where: str) -> BadFileError:
    close = get_close_matches(name.casefold(), WORDS, n=1, cutoff=0.6)
    hint = (
        f"Did you mean {close[0]}?"
        if close
        else f"Known are {', '.join((*WORDS, *LAB, *XYZ))} and bands such as r380."
    )
    return BadFileError(f"{where}: there is no column “{name}”.", hint=hint)


def _line(
    line: int, cells: Sequence[str], columns: Sequence[str], delimiter: str, source: str
) -> Line:
    spare = [cell for cell in cells[len(columns) :] if cell.strip()]
    if spare or len(cells) < len(columns):
        commas = delimiter == "," and len(cells) > len(columns)
        raise BadFileError(
            f"{source}, line {line}: {len(cells)} cells, where the first line names "
            f"{len(columns)} columns.",
            hint="If numbers have decimal commas, part the columns by semicolons."
            if commas
            else "Every column needs its cell, blank or not.",
        )
    return Line(line, dict(zip(columns, cells, strict=False)))
