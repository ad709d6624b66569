"""The forms of swatch files: the one table from a form's name to its reader and its writer."""

from collections.abc import Callable, Mapping, Sequence
from pathlib import PurePath
from types import MappingProxyType

from laydown.documents.cgats import read_cgats, write_cgats
from laydown.documents.cxf import read_cxf, write_cxf
from laydown.documents.swatch_csv import read_swatch_csv, write_swatch_csv
from laydown.documents.swatch_rows import SwatchRow
from laydown.errors import BadFileError

Reader = Callable[..., tuple[SwatchRow, ...]]
Writer = Callable[[Sequence[SwatchRow]], bytes]

READERS: Mapping[str, Reader] = MappingProxyType(
    {"csv": read_swatch_csv, "cgats": read_cgats, "cxf": read_cxf}
)
WRITERS: Mapping[str, Writer] = MappingProxyType(
    {"csv": write_swatch_csv, "cgats": write_cgats, "cxf": write_cxf}
)
ENDINGS = MappingProxyType(
    {
        ".csv": "csv",
        ".cxf": "cxf",
        ".xml": "cxf",
        ".ti3": "cgats",
        ".cgats": "cgats",
        ".txt": "cgats",
    }
)


def form_of_content(content: bytes) -> str:
    """Return what a file's beginning shows it to be.

    Examples
    --------
    >>> form_of_content(b"<?xml version='1.0'?>"), form_of_content(b"range,color")
    ('cxf', 'csv')
    """
    begun = content.removeprefix(b"\xef\xbb\xbf").lstrip()[:4096]
    if begun.startswith(b"<"):
        return "cxf"
    words = begun.split(maxsplit=1)
    if words and (words[0].startswith((b"CGATS", b"CTI3", b"CTI1")) or b"BEGIN_DATA" in content):
        return "cgats"
    return "csv"


def form_of_name(name: str) -> str:
    """Return the form that the ending of a file's name asks for; CSV for none.

    Raises
    ------
    BadFileError
        For an ending that no form has.
    """
    ending = PurePath(name).suffix.lower()
    if ending and ending not in ENDINGS:
        raise BadFileError(
            f"{name}: swatches can't be written as {ending}.",
            hint=f"End the name in one of {', '.join(ENDINGS)}, or name the form.",
            command="--format",
        )
    return ENDINGS.get(ending, "csv")
