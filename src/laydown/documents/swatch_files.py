"""Swatch files of any kind: which of the three formats a file is in shows in its first words."""

from collections.abc import Sequence

from laydown.documents.cgats import read_cgats, write_cgats
from laydown.documents.cxf import read_cxf, write_cxf
from laydown.documents.swatch_csv import read_swatch_csv, write_swatch_csv
from laydown.documents.swatch_rows import NOTHING_SAID, SwatchRow, Usual
from laydown.errors import BadFileError

SUFFIXES = {".csv": "csv", ".txt": "cgats", ".ti3": "cgats", ".cie": "cgats", ".cxf": "cxf"}
"""Which format a file name asks for on export."""

WRITERS = {"csv": write_swatch_csv, "cgats": write_cgats, "cxf": write_cxf}


def swatch_format(data: bytes) -> str:
    """Return ``csv``, ``cgats`` or ``cxf``, whatever the file is called.

    Examples
    --------
    >>> swatch_format(b"CGATS.17 ..."), swatch_format(b"<?xml ?>"), swatch_format(b"range,color")
    ('cgats', 'cxf', 'csv')
    """
    head = data[:3].replace(b"\xef\xbb\xbf", b"") + data[3:200]
    if head.lstrip().startswith(b"<"):
        return "cxf"
    marks = (b"BEGIN_DATA_FORMAT", b"NUMBER_OF_FIELDS", b"\nKEYWORD", b"\nORIGINATOR")
    first = head.lstrip().split(b"\n", 1)[0].strip()
    if first.startswith((b"CGATS", b"IT8", b"CTI", b"ISO28178")) or any(
        mark in data for mark in marks
    ):
        return "cgats"
    return "csv"


def read_swatches(
    data: bytes, *, source: str, usual: Usual = NOTHING_SAID
) -> tuple[SwatchRow, ...]:
    """Read a swatch file of any of the three formats.

    Raises
    ------
    BadFileError
        Names line and column, and what to do; nothing is read then.
    """
    kind = swatch_format(data)
    if kind == "cxf":
        return read_cxf(data, source=source, usual=usual)
    if kind == "cgats":
        return read_cgats(data, source=source, usual=usual)
    return read_swatch_csv(data, source=source, usual=usual)


def write_swatches(rows: Sequence[SwatchRow], kind: str) -> bytes:
    """Write swatches in a format: ``csv``, ``cgats`` or ``cxf``.

    Raises
    ------
    BadFileError
        For another format.
    """
    if kind not in WRITERS:
        raise BadFileError(
            f"“{kind}” is no format for swatches.", hint=f"Choose one of {', '.join(WRITERS)}."
        )
    writer = WRITERS[kind]
    return writer(rows)
