"""What all three kinds of swatch file come down to: named columns and lines of cells."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from laydown.errors import BadFileError

WORDS = (
    "range",
    "medium",
    "color",
    "paper",
    "coats",
    "stroke",
    "pressure",
    "dilution",
    "wait",
    "over",
    "code",
    "spread",
    "blender",
    "hours",
    "flags",
)
"""The columns that say what was laid, in the order they are written."""

LAB = ("L", "a", "b")
XYZ = ("X", "Y", "Z")


@dataclass(frozen=True, slots=True)
class Line:
    """One swatch's cells by column; a column that is missing is blank."""

    number: int
    cells: Mapping[str, str]

    def __getitem__(self, column: str) -> str:
        return self.cells.get(column, "")


@dataclass(frozen=True, slots=True)
class Table:
    """Columns and lines of one file.

    Parameters
    ----------
    source
        The file's name, for messages.
    columns
        `WORDS`, `LAB`, `XYZ` as they are, and bands as ``r380``; those that the file has.
    lines
        In the order of the file.
    heading
        The line number of the column names.
    shown
        How the file itself calls a column, where that differs.
    decimal_comma
        Whether 0,5 means a half.
    full_scale
        What the file writes for a reflectance of 1: 1, or 100 for percent.
    """

    source: str
    columns: tuple[str, ...]
    lines: tuple[Line, ...]
    heading: int
    shown: Mapping[str, str]
    decimal_comma: bool = False
    full_scale: float = 1.0

    def bad_cell(self, line: Line, column: str, problem: str, hint: str = "") -> BadFileError:
        """Return the error for a cell."""
        return self.bad(line.number, self.shown.get(column, column), problem, hint)

    def bad(self, line: int, column: str, problem: str, hint: str = "") -> BadFileError:
        """Return the error for a line, and a column where there is one at fault."""
        where = f"{self.source}, line {line}" + (f", column {column}" if column else "")
        return BadFileError(f"{where}: {problem}", hint=hint or "Nothing was taken in.")


def bands_of(columns: Sequence[str]) -> dict[str, float]:
    """Return the wavelengths [nm] of the columns that are bands, rising.

    Examples
    --------
    >>> bands_of(["color", "r390", "r380.5"])
    {'r380.5': 380.5, 'r390': 390.0}
    """
    found = {}
    for column in columns:
        if column[:1] == "r" and column[1:].replace(".", "", 1).isdigit():
            found[column] = float(column[1:])
    return dict(sorted(found.items(), key=lambda item: item[1]))
