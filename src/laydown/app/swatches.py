"""Swatches: brought in from files, handed out, listed and removed."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import PurePath
from types import MappingProxyType

from laydown.app.tasks import GivenFile, Watch
from laydown.documents.files import cgats, cxf
from laydown.documents.files import swatches as tables
from laydown.documents.files.swatches import SwatchRow
from laydown.errors import BadFileError, NotMeasuredError
from laydown.media.recipe import Colorant
from laydown.media.swatch import Swatch
from laydown.store import supplies
from laydown.store.library import Library, Work
from laydown.store.records import StoredSwatch
from laydown.store.swatches import WrittenSwatch, written

__all__ = ["StoredSwatch"]


def list_swatches(
    library: Library,
    *,
    range: str = "",
    paper: str = "",
    colorant: str = "",
    skip: int = 0,
    most: int | None = None,
) -> tuple[tuple[StoredSwatch, ...], int]:
    """List swatches of a range, on a paper, or with a colorant; empty names are for all.

    So many as `skip` are passed over first, and at most `most` listed; None is all. They stand in
    the order they were taken in, and how many there are in all stands behind.
    """
    with library.look() as work:
        wanted = (
            work.find_range(range).name if range else None,
            work.paper_name(paper) if paper else None,
            work.find_colorant(colorant) if colorant else None,
        )
        stored = work.swatches(*wanted, skip=skip, most=most)
        return stored, work.count_swatches(*wanted)


def remove_swatches(library: Library, ids: tuple[int, ...]) -> int:
    """Remove the swatches with these numbers, all of them or none; return how many went."""
    with library.work(f"remove {len(ids)} swatches") as work:
        return work.remove_swatches(ids)


Reader = Callable[..., tuple[SwatchRow, ...]]
Writer = Callable[[Sequence[SwatchRow]], bytes]

READERS: Mapping[str, Reader] = MappingProxyType(
    {"csv": tables.read_swatch_csv, "cgats": cgats.read_cgats, "cxf": cxf.read_cxf}
)
WRITERS: Mapping[str, Writer] = MappingProxyType(
    {"csv": tables.write_swatch_csv, "cgats": cgats.write_cgats, "cxf": cxf.write_cxf}
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


def swatches_in(work: Work, content: bytes, source: str, *, paper: str) -> tuple[Swatch, ...]:
    """Return the swatches of a file by its content and name, on this paper where it says none."""
    read = READERS[form_of_content(content)]
    rows = read(content, source=source, usual={"paper": paper})
    return tables.swatches_from_rows(rows, source=source, find=work.find_colorant)


def form_of_name(name: str) -> str:
    """Return the form that the ending of a file's name asks for; CSV for none.

    Raises `BadFileError` for an ending that no form has.
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
    """What came of one file."""

    source: str
    form: str
    """Its name, and what it was read as."""
    rows: int
    new: int
    """How many swatches it holds, and how many of those were new."""
    repeated: tuple[int, ...]
    """Lines whose swatch the library held already."""
    flagged: dict[str, tuple[int, ...]]
    """Flag to the lines that carry it: ``above-white``, ``extended-bands``."""


@dataclass(frozen=True, slots=True)
class SwatchesImported:
    """What came of all files together."""

    files: tuple[FileImported, ...]
    ranges: tuple[str, ...]
    papers: tuple[str, ...]
    colorants: tuple[Colorant, ...]


@dataclass(frozen=True, slots=True)
class ImportSwatches:
    """Which files are to be taken in."""

    files: tuple[GivenFile, ...]
    """Taken in together, in this order."""
    form: str = ""
    """csv, cgats or cxf; empty for what the content looks like."""
    range: str = ""
    paper: str = ""
    medium: str = ""
    """Of rows that don't say."""


_FileRead = tuple[FileImported, tuple[int, ...], tuple[WrittenSwatch, ...]]
"""What is told of a file, as if all of it were new; its lines; its swatches as they are kept."""


def import_swatches(
    library: Library, request: ImportSwatches, *, watch: Watch | None = None
) -> SwatchesImported:
    """Take in the swatches of files, all of every file or nothing.

    Whatever can be done before is done before others have to wait. Raises `BadFileError` for the
    first row that can't be read, with file, line and column; nothing is taken in.
    """
    files, watch = request.files, watch or _unwatched
    said = {"range": request.range, "paper": request.paper, "medium": request.medium}
    with library.look() as work:
        known = _Known(work.colorants())
    read = []
    for done, file in enumerate(files):
        watch(done, len(files) + 1)
        read.append(_read(file, said, request.form, known))
        known.learn(read[-1][-1])
    watch(len(files), len(files) + 1)
    label = ", ".join(PurePath(file.source).name for file in files)
    with library.work(f"import swatches from {label}") as work:
        made = _keep(work, read)
        watch(len(files) + 1, len(files) + 1)  # who stops it now still finds nothing kept
    return made


def _unwatched(_done: int, _total: int) -> None:
    """Tell nobody."""


def take_in(work: Work, file: GivenFile) -> FileImported:
    """Take in one file that says all as part of a larger change."""
    (told,) = _keep(work, [_read(file, tables.NOTHING_SAID, "", _Known(work.colorants()))]).files
    return told


class _Known:
    """The colorants of the library, and of the files before the one that is read."""

    def __init__(self, colorants: Iterable[Colorant]) -> None:
        self._by_key = {supplies.key_of(colorant): colorant for colorant in colorants}

    def learn(self, swatches: Iterable[WrittenSwatch]) -> None:
        """Add those that a file names; a code takes the place of an older one."""
        for one in swatches:
            for colorant, key in one.keys.items():
                before = self._by_key.setdefault(key, colorant)
                if colorant.code:
                    self._by_key[key] = replace(before, code=colorant.code)

    def find(self, text: str) -> Colorant:
        """Return the one that is meant, see `pick_colorant`."""
        return supplies.pick_colorant(text, tuple(self._by_key.values()))


def _read(file: GivenFile, usual: Mapping[str, str], form: str, known: _Known) -> _FileRead:
    form = form or form_of_content(file.content)
    rows = READERS[form](file.content, source=file.source, usual=usual)
    swatches = tables.swatches_from_rows(rows, source=file.source, find=known.find)
    lines = tuple(row.line for row in rows)
    flags = sorted({flag for row in rows for flag in row.flags})
    flagged = {flag: tuple(row.line for row in rows if flag in row.flags) for flag in flags}
    told = FileImported(file.source, form, len(lines), len(lines), (), flagged)
    return told, lines, tuple(map(written, swatches))


def _keep(work: Work, files: Sequence[_FileRead]) -> SwatchesImported:
    kept = [swatch for *_, swatches in files for swatch in swatches]
    repeated, ranges, papers, colorants = work.add_written(kept)
    begin, told = 0, []
    for file, lines, _ in files:
        end = begin + len(lines)
        again = tuple(lines[n - begin] for n in repeated if begin <= n < end)
        told.append(replace(file, new=len(lines) - len(again), repeated=again))
        begin = end
    return SwatchesImported(tuple(told), ranges, papers, colorants)


def export_swatches(
    library: Library, form: str = "csv", *, range: str = "", paper: str = ""
) -> tuple[int, bytes]:
    """Write swatches of a range, on a paper, empty for all, as a file: csv, cgats or cxf.

    How many they are comes first.
    """
    with library.look() as work:
        wanted = work.find_range(range).name if range else None
        stored = work.swatches(wanted, work.paper_name(paper) if paper else None)
    if not stored:
        raise NotMeasuredError(
            "There are no such swatches.",
            hint="See in the list of swatches which there are.",
            command="laydown swatches list",
        )
    return len(stored), WRITERS[form](tables.rows_from_swatches([s.swatch for s in stored]))
