"""CSV line by line, bounded while it is read, for every list and table that comes as CSV."""

import csv
from collections.abc import Iterator

from laydown.documents.text_files import LONGEST_CELL, LONGEST_LINE, lines_of, too_long
from laydown.errors import BadFileError


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
