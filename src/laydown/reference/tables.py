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

    name: str
    """File name without ``.csv``."""
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
    return PublishedTable(name, tuple(header), tuple(tuple(row) for row in rows))


@cache
def thresholds() -> dict[str, float]:
    """Return the thresholds by name, as ``thresholds.csv`` gives them with unit and source.

    >>> thresholds()["tolerance class"]
    2.25
    """
    text = (files("laydown.reference") / "thresholds.csv").read_text(encoding="utf-8")
    return {row["name"]: float(row["value"]) for row in csv.DictReader(text.splitlines())}


WAYS = {"class": "a class", "sketch": "a sketch", "close": "close"}
"""How each of the trade's three tolerances is said."""


def close_enough(tolerance: str) -> str:
    """Say in plain words what counts as close enough.

    >>> close_enough("class"), close_enough("close")
    ('close enough for a class', 'close even side by side')
    """
    if tolerance == "close":
        return "close even side by side"
    return f"close enough for {WAYS[tolerance]}"


def step_words() -> str:
    """Say how much nearer a step more must bring a recipe, for each of the trade's three ways.

    >>> step_words()
    '0.7 for a class, 1 for a sketch, 0.2 for close'
    """
    return ", ".join(f"{thresholds()[f'step {way}']:g} for {told}" for way, told in WAYS.items())
