"""Bring classes of lightfastness and window readings in from a file: all of it, or nothing."""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import PurePath

from laydown.documents.lightfastness_csv import FastnessRow, read_lightfastness
from laydown.errors import LaydownError
from laydown.media.colorant import Colorant
from laydown.store.library import Library
from laydown.store.lightfastness import WindowTest
from laydown.store.work import Work


@dataclass(frozen=True, slots=True)
class ImportLightfastness:
    """The file's content and its name."""

    content: bytes
    source: str


@dataclass(frozen=True, slots=True)
class LightfastnessImported:
    """How many classes and readings the file holds, and how many of each were new."""

    classes: int
    new_classes: int
    readings: int
    new_readings: int


def import_lightfastness(library: Library, request: ImportLightfastness) -> LightfastnessImported:
    """Take in a file.

    Raises
    ------
    BadFileError
        For the first line that can't be read.
    UnknownNameError
        For a colorant that isn't in the library; nothing is taken in.
    """
    rows = read_lightfastness(request.content, source=request.source)
    with library.work(f"import lightfastness from {PurePath(request.source).name}") as work:
        named = _named(work, rows, request.source)
        new = [_take_in(work, row, colorant) for row, colorant in zip(rows, named, strict=True)]
    classes = [n for n, row in zip(new, rows, strict=True) if row.fastness]
    readings = [n for n, row in zip(new, rows, strict=True) if row.reading]
    return LightfastnessImported(len(classes), sum(classes), len(readings), sum(readings))


def _named(work: Work, rows: Sequence[FastnessRow], source: str) -> list[Colorant]:
    """Return the colorant of each row; a range is looked up once."""
    ranges: dict[str, tuple[Colorant, ...]] = {}
    found = []
    for row in rows:
        try:
            if row.range not in ranges:
                ranges[row.range] = work.colorants(work.find_range(row.range).name)
            found.append(work.find_colorant(row.color, among=ranges[row.range]))
        except LaydownError as error:
            message = f"{source}, line {row.line}: {error.message}"
            raise error.told_as(message) from error
    return found


def _take_in(work: Work, row: FastnessRow, colorant: Colorant) -> bool:
    if row.reading is None:
        return work.lightfastness.rate(colorant, row.fastness, row.source)
    test = WindowTest(colorant, row.paper, row.reading, row.remark, noted=row.noted)
    return work.lightfastness.add(test) is not None
