"""Bring swatches into the library from files: all of every file, or nothing."""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import PurePath

from laydown.app.swatch_forms import READERS, form_of_content
from laydown.documents.swatch_rows import SwatchRow, Usual, swatches_from_rows
from laydown.media.colorant import Colorant
from laydown.store.library import Library
from laydown.store.records import Added
from laydown.store.work import Work


@dataclass(frozen=True, slots=True)
class SwatchFile:
    """A file's content and its name, for messages."""

    content: bytes
    source: str


@dataclass(frozen=True, slots=True)
class ImportSwatches:
    """The files, and what to take for what they leave blank.

    Parameters
    ----------
    files
        Taken in together, in this order.
    form
        csv, cgats or cxf; empty for what the content looks like.
    range, paper, medium
        Of rows that don't say.
    """

    files: tuple[SwatchFile, ...]
    form: str = ""
    range: str = ""
    paper: str = ""
    medium: str = ""


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


def import_swatches(library: Library, request: ImportSwatches) -> SwatchesImported:
    """Take in the swatches of files.

    Raises
    ------
    BadFileError
        For the first row that can't be read, with file, line and column; nothing is taken in.
    """
    label = ", ".join(PurePath(file.source).name for file in request.files)
    taken = []
    with library.work(f"import swatches from {label}") as work:
        for file in request.files:
            taken.append(take_in(work, file, request))
    added = [new for _, new in taken]
    return SwatchesImported(
        files=tuple(told for told, _ in taken),
        ranges=tuple(name for new in added for name in new.ranges),
        papers=tuple(name for new in added for name in new.papers),
        colorants=tuple(colorant for new in added for colorant in new.colorants),
    )


def take_in(work: Work, file: SwatchFile, request: ImportSwatches) -> tuple[FileImported, Added]:
    """Take in one file as part of a larger change."""
    form = request.form or form_of_content(file.content)
    usual = Usual(request.range, request.paper, request.medium)
    rows = READERS[form](file.content, source=file.source, usual=usual)
    swatches = swatches_from_rows(rows, source=file.source, find=work.find_colorant)
    added = work.add_swatches(swatches)
    repeated = tuple(rows[place].line for place in added.repeated)
    told = FileImported(file.source, form, len(rows), added.swatches, repeated, _flagged(rows))
    return told, added


def _flagged(rows: Sequence[SwatchRow]) -> dict[str, tuple[int, ...]]:
    flags = sorted({flag for row in rows for flag in row.flags})
    return {flag: tuple(row.line for row in rows if flag in row.flags) for flag in flags}
