"""Swatches as CSV: one line each, the columns named in the first line.

Columns: ``range,medium,color,paper,coats,stroke,pressure,dilution,wait,over``, where wanted
``code,spread,blender,hours,flags``, and one measurement: ``L,a,b`` or ``X,Y,Z`` (D50/2°, white at
Y = 100) or bands ``r380`` … ``r730`` (0 to 1). A blank cell is as usual; a line without a color is
bare paper, or where ``over`` ends in solvent or burnishing, that. Columns may be parted by
semicolons or tabs instead, and numbers then written with a decimal comma.
"""

import re
from collections.abc import Sequence

from laydown import allowed_sizes
from laydown.documents.csv_table import read_csv, write_csv
from laydown.documents.swatch_rows import NOTHING_SAID, SwatchRow, Usual
from laydown.documents.swatch_table import cells_of, columns_of, rows_from_table
from laydown.documents.tables import LAB, WORDS, XYZ

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
    known = (*WORDS, *LAB, *XYZ, "r380 … r730")
    table = read_csv(
        data, source, known, column=_column, short_lines=False, most=allowed_sizes.SWATCHES
    )
    return rows_from_table(table, usual)


def write_swatch_csv(rows: Sequence[SwatchRow]) -> bytes:
    """Write swatches as CSV in UTF-8; reading it gives the same rows."""
    cells = [cells_of(row) for row in rows]
    columns = columns_of(cells)
    lines = ([row.get(column, "") for column in columns] for row in cells)
    return write_csv(columns, lines, line_end="\n").encode()


def _column(name: str) -> str:
    """Return our name of a column, or nothing."""
    text = name.strip().casefold()
    band = _BAND.fullmatch(text)
    if band:
        decimals = (band[2] or "").rstrip("0")
        return f"r{band[1]}" + (f".{decimals}" if decimals else "")
    return _KNOWN.get(text, "")
