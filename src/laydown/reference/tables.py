"""The typed loader of the tables in this folder; ``SOURCES.md`` says where each comes from."""

import csv
from collections.abc import Mapping
from functools import cache
from importlib.resources import files
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray


@cache
def load_table(name: str) -> Mapping[str, tuple[str, ...]]:
    """Read a table of this folder once and keep it: the cells of each column, as published.

    `name`: file name without ``.csv``.

    >>> list(load_table("weights_d50"))
    ['wavelength', 'X', 'Y', 'Z']
    """
    text = (files("laydown.reference") / f"{name}.csv").read_text(encoding="utf-8")
    header, *rows = csv.reader(text.splitlines())
    return MappingProxyType(dict(zip(header, zip(*rows, strict=True), strict=True)))


def numbers_of(table: Mapping[str, tuple[str, ...]], *columns: str) -> NDArray[np.float64]:
    """Return columns of a table as numbers, shape (rows, columns)."""
    return np.column_stack([np.array(table[column], dtype=np.float64) for column in columns])
