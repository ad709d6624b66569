"""The typed loader of the tables in this folder; ``SOURCES.md`` says where each comes from."""

import csv
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

import numpy as np
from numpy.typing import NDArray


@dataclass(frozen=True, slots=True, eq=False)
class PublishedTable:
    """A table as published: named columns, each read as words or as numbers."""

    header: tuple[str, ...]
    """Names of the columns."""
    rows: tuple[tuple[str, ...], ...]
    """The cells, as written."""

    def words(self, column: str) -> tuple[str, ...]:
        """Return a column as it is written."""
        place = self.header.index(column)
        return tuple(row[place] for row in self.rows)

    def numbers(self, *columns: str) -> NDArray[np.float64]:
        """Return the named columns as an array of shape (rows, columns)."""
        places = [self.header.index(column) for column in columns]
        return np.array([[float(row[p]) for p in places] for row in self.rows], dtype=np.float64)


@cache
def load_table(name: str) -> PublishedTable:
    """Read a table of this folder once and keep it.

    `name`: file name without ``.csv``.

    >>> load_table("weights_d50").header
    ('wavelength', 'X', 'Y', 'Z')
    """
    text = (files("laydown.reference") / f"{name}.csv").read_text(encoding="utf-8")
    header, *rows = csv.reader(text.splitlines())
    return PublishedTable(tuple(header), tuple(tuple(row) for row in rows))
