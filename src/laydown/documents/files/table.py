"""What every list and every kind of swatch file comes down to: named columns, lines of cells."""

from collections.abc import Iterable, Mapping, Sequence
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

MOST_SWATCHES = 10_000
"""In one file: two thousand colorants, each in five ways."""
MOST_COLUMNS = 1_000
"""A spectrum from 300 to 1100 nm by 1 nm has 801."""
MOST_CELLS = 1_000_000
"""Of one file: ten thousand swatches by 10 nm, or two thousand by 1 nm."""

LAB = ("L", "a", "b")
XYZ = ("X", "Y", "Z")


@dataclass(frozen=True, slots=True)
class Line:
    """A line's cells by column; a column that is missing is blank."""

    number: int
    cells: Mapping[str, str]

    def __getitem__(self, column: str) -> str:
        return self.cells.get(column, "")


@dataclass(frozen=True, slots=True)
class Table:
    """Columns and lines of one file."""

    source: str
    """The file's name, for messages."""
    columns: tuple[str, ...]
    """Those that the file has; of swatches `WORDS`, `LAB`, `XYZ` as they are, bands as ``r380``."""
    lines: tuple[Line, ...]
    """In the order of the file."""
    heading: int
    """The line number of the column names."""
    shown: Mapping[str, str]
    """How the file itself calls a column, where that differs."""
    decimal_comma: bool = False
    """Whether 0,5 means a half."""
    full_scale: float = 1.0
    """What the file writes for a reflectance of 1: 1, or 100 for percent."""

    def bad_cell(self, line: Line, column: str, problem: str, hint: str = "") -> BadFileError:
        """Return the error for a cell."""
        return self.bad(line.number, self.shown.get(column, column), problem, hint)

    def bad(self, line: int, column: str, problem: str, hint: str = "") -> BadFileError:
        """Return the error for a line, and a column where there is one at fault."""
        where = f"{self.source}, line {line}" + (f", column {column}" if column else "")
        return BadFileError(f"{where}: {problem}", hint=hint or "Nothing was taken in.")


def bounded(lines: Iterable[Line], source: str, *, columns: int) -> tuple[Line, ...]:
    """Gather the lines of a file, as long as they are no more than are read.

    Parameters
    ----------
    lines
        In the order of the file.
    source
        Its name, for messages.
    columns
        How many each line has.

    Raises
    ------
    BadFileError
        For more than `MOST_COLUMNS`, `MOST_SWATCHES` or `MOST_CELLS`.
    """
    if columns > MOST_COLUMNS:
        raise BadFileError(
            f"{source} has {columns:,} columns: allowed are {MOST_COLUMNS:,}.",
            hint="Leave out bands: one every 10 nm is enough.",
        )
    most = min(MOST_SWATCHES, MOST_CELLS // max(columns, 1))
    gathered: list[Line] = []
    for line in lines:
        if len(gathered) == most:
            raise BadFileError(
                f"{source}, line {line.number}: it has more than {most:,} swatches, the most that "
                f"are read of a file with {columns} columns.",
                hint="Split it into smaller files.",
            )
        gathered.append(line)
    return tuple(gathered)


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
