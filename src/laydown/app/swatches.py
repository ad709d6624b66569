"""Swatches: brought in from files, handed out, listed and removed."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import PurePath
from types import MappingProxyType

from laydown.app.given_file import GivenFile
from laydown.app.words import ColorInWords, reflectance_in_words
from laydown.documents.files.cgats import read_cgats, write_cgats
from laydown.documents.files.cxf import read_cxf, write_cxf
from laydown.documents.files.swatches import (
    SwatchRow,
    Usual,
    read_swatch_csv,
    rows_from_swatches,
    swatches_from_rows,
    write_swatch_csv,
)
from laydown.errors import BadFileError, NotMeasuredError
from laydown.media.colorant import Colorant
from laydown.media.recipe import Recipe
from laydown.media.swatch import Basis
from laydown.store.library import Library, Work
from laydown.store.records import Added, StoredSwatch


@dataclass(frozen=True, slots=True)
class ListSwatches:
    """Which swatches.

    Parameters
    ----------
    range, paper, colorant
        Empty for all.
    skip, most
        How many of them to pass over first, and how many to list at most; None is all.
    """

    range: str = ""
    paper: str = ""
    colorant: str = ""
    skip: int = 0
    most: int | None = None


@dataclass(frozen=True, slots=True, eq=False)
class SwatchListed:
    """A swatch with its number, its color in words, and what was noticed on reading it."""

    id: int
    paper: str
    recipe: Recipe
    color: ColorInWords
    basis: Basis
    spread: float
    flags: frozenset[str]
    hours: float | None
    when: datetime


@dataclass(frozen=True, slots=True, eq=False)
class Swatches:
    """Swatches in the order they were taken in, and how many there are in all."""

    swatches: tuple[SwatchListed, ...]
    total: int


def list_swatches(library: Library, request: ListSwatches) -> Swatches:
    """List swatches of a range, on a paper, or with a colorant."""
    with library.look() as work:
        wanted = (
            work.find_range(request.range).name if request.range else None,
            work.paper_name(request.paper) if request.paper else None,
            work.find_colorant(request.colorant) if request.colorant else None,
        )
        stored = work.swatches(*wanted, skip=request.skip, most=request.most)
        total = work.count_swatches(*wanted)
    return Swatches(tuple(_listed(s) for s in stored), total)


def _listed(stored: StoredSwatch) -> SwatchListed:
    swatch = stored.swatch
    return SwatchListed(
        stored.id,
        swatch.paper,
        swatch.recipe,
        reflectance_in_words(swatch.reflectance),
        swatch.basis,
        swatch.spread,
        swatch.flags,
        swatch.hours,
        stored.when,
    )


def remove_swatches(library: Library, ids: tuple[int, ...]) -> int:
    """Remove the swatches with these numbers, all of them or none; return how many went."""
    with library.work(f"remove {len(ids)} swatches") as work:
        return work.remove_swatches(ids)


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


@dataclass(frozen=True, slots=True)
class FileImported:
    """What came of one file.

    Parameters
    ----------
    source, form
        Its name, and what it was read as.
    rows, new
        How many swatches it holds, and how many of those were new.
    repeated
        Lines whose swatch the library held already.
    flagged
        Flag to the lines that carry it: ``above-white``, ``extended-bands``.
    """

    source: str
    form: str
    rows: int
    new: int
    repeated: tuple[int, ...]
    flagged: dict[str, tuple[int, ...]]


@dataclass(frozen=True, slots=True)
class SwatchesImported:
    """What came of all files together."""

    files: tuple[FileImported, ...]
    ranges: tuple[str, ...]
    papers: tuple[str, ...]
    colorants: tuple[Colorant, ...]


def import_swatches(
    library: Library,
    files: Sequence[GivenFile],
    *,
    form: str = "",
    range: str = "",  # noqa: A002  the trade's word
    paper: str = "",
    medium: str = "",
) -> SwatchesImported:
    """Take in the swatches of files.

    Parameters
    ----------
    library
        Where they go.
    files
        Taken in together, in this order.
    form
        csv, cgats or cxf; empty for what the content looks like.
    range, paper, medium
        Of rows that don't say.

    Raises
    ------
    BadFileError
        For the first row that can't be read, with file, line and column; nothing is taken in.
    """
    label = ", ".join(PurePath(file.source).name for file in files)
    taken, usual = [], Usual(range, paper, medium)
    with library.work(f"import swatches from {label}") as work:
        for file in files:
            taken.append(take_in(work, file, usual, form=form))
    added = [new for _, new in taken]
    return SwatchesImported(
        files=tuple(told for told, _ in taken),
        ranges=tuple(name for new in added for name in new.ranges),
        papers=tuple(name for new in added for name in new.papers),
        colorants=tuple(colorant for new in added for colorant in new.colorants),
    )


def take_in(
    work: Work, file: GivenFile, usual: Usual, *, form: str = ""
) -> tuple[FileImported, Added]:
    """Take in one file as part of a larger change."""
    form = form or form_of_content(file.content)
    rows = READERS[form](file.content, source=file.source, usual=usual)
    swatches = swatches_from_rows(rows, source=file.source, find=work.find_colorant)
    added = work.add_swatches(swatches)
    repeated = tuple(rows[place].line for place in added.repeated)
    told = FileImported(file.source, form, len(rows), added.swatches, repeated, _flagged(rows))
    return told, added


def _flagged(rows: Sequence[SwatchRow]) -> dict[str, tuple[int, ...]]:
    flags = sorted({flag for row in rows for flag in row.flags})
    return {flag: tuple(row.line for row in rows if flag in row.flags) for flag in flags}


@dataclass(frozen=True, slots=True)
class SwatchesExported:
    """The file's text, its form, and how many swatches it holds."""

    form: str
    swatches: int
    text: str


def export_swatches(
    library: Library,
    form: str = "csv",
    *,
    range: str = "",  # noqa: A002  the trade's word
    paper: str = "",
) -> SwatchesExported:
    """Write swatches of a range, on a paper, empty for all, as a file: csv, cgats or cxf."""
    with library.look() as work:
        wanted = work.find_range(range).name if range else None
        stored = work.swatches(wanted, work.paper_name(paper) if paper else None)
    if not stored:
        raise NotMeasuredError(
            "There are no such swatches.",
            hint="See in the list of swatches which there are.",
            command="laydown swatches list",
        )
    content = WRITERS[form](rows_from_swatches([s.swatch for s in stored]))
    return SwatchesExported(form, len(stored), content.decode("utf-8"))
