"""Read colored-in sheets from photographs and scans; store what is sound, flag the rest."""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from typing import NoReturn

import numpy as np

from laydown.app.given_file import GivenFile
from laydown.app.sheets.bare_paper import judge_bare
from laydown.app.sheets.pages import (
    AUTO,
    KnownColors,
    NoSheetError,
    PageRead,
    is_rough,
    read_picture,
)
from laydown.color.arrays import FloatArray
from laydown.color.lab import lab_from_xyz
from laydown.color.reconstruction import reflectance_from_xyz
from laydown.color.tristimulus import xyz_from_reflectance
from laydown.errors import BadColorError, BadRecipeError
from laydown.imaging.files import Photograph, open_photographs
from laydown.media.recipe import Recipe, parse_recipe
from laydown.media.swatch import Basis, Swatch
from laydown.sheet.combining import combine, comparable, compared
from laydown.sheet.identity import MOST_SHEETS, page_number
from laydown.sheet.reading import CellReading, Flag
from laydown.sheet.sheet import Sheet
from laydown.store.library import Library, Work

DRY = "dry"
WET = "wet"
AFTER = "after "
"""A stage such as "after solvent by swab" reads the cell as treated."""
WORST = (Flag.OUTSIDE, Flag.IMPOSSIBLE)
"""Flags that nothing can accept."""


@dataclass(frozen=True, slots=True)
class ReadSheet:
    """The pictures, and what to do with what they show.

    Parameters
    ----------
    files
        Read together: several pictures of one page are weighed against each other.
    way
        How to convert: auto, profile, chart, known or paper.
    stage
        Dry, wet, or "after" with a treatment. Only what is dry becomes a swatch.
    accept
        Cells to take over although they are flagged.
    accept_rough
        Whether readings by paper white alone may be taken over.
    redo
        Cells to leave out, because they will be colored again.
    sheet, page
        Which page it is, where marks are too damaged to tell; page from 1.
    keep
        False only shows what would be read.
    """

    files: tuple[GivenFile, ...]
    way: str = AUTO
    stage: str = DRY
    accept: frozenset[int] = frozenset()
    accept_rough: bool = False
    redo: frozenset[int] = frozenset()
    sheet: int | None = None
    page: int = 1
    keep: bool = True


@dataclass(frozen=True, slots=True, eq=False)
class CellRead:
    """One cell.

    Parameters
    ----------
    sheet, number
        Which.
    recipe
        What was laid.
    lab
        Shape (3,), CIELAB D50.
    reading
        As read.
    taken
        Whether it became a swatch.
    why_not
        Why it didn't; empty where it did.
    """

    sheet: int
    number: int
    recipe: Recipe
    lab: FloatArray
    reading: CellReading
    taken: bool
    why_not: str


@dataclass(frozen=True, slots=True, eq=False)
class SheetRead:
    """What the pictures gave: page by page, cell by cell, and what was passed over."""

    pages: tuple[PageRead, ...]
    cells: tuple[CellRead, ...]
    taken: int
    doubtful: int
    notes: tuple[str, ...] = ()


def read_sheet(
    library: Library, request: ReadSheet, *, watch: Callable[[int, int], None] | None = None
) -> SheetRead:
    """Read sheets.

    Raises
    ------
    BadFileError
        For a file that is no picture, or one that shows no sheet.
    UnknownNameError
        For a sheet that this library never printed.
    """
    read, notes = _read_all(library, request, watch)
    pages = tuple(read)
    with library.look() as work:
        cells, told = _judge(work, request, pages)
    if request.keep:
        with library.work(f"read sheet {', '.join(sorted({str(p.sheet) for p in pages}))}") as work:
            _store(work, request, pages, cells)
    taken = sum(cell.taken for cell in cells)
    doubtful = sum(bool(cell.reading.flags) for cell in cells)
    return SheetRead(pages, cells, taken, doubtful, (*notes, *told))


def _read_all(
    library: Library, request: ReadSheet, watch: Callable[[int, int], None] | None
) -> tuple[list[PageRead], list[str]]:
    """Read each picture; of a file with several, those without a sheet are passed over.

    The library is only looked into for a moment at a time: an open look would keep others waiting.
    """
    pages: list[PageRead] = []
    passed: list[NoSheetError] = []
    for done, file in enumerate(request.files):
        for photograph in open_photographs(file.content, source=file.source):
            try:
                pages.append(_read_one(library, request, photograph))
            except NoSheetError as error:
                if photograph.source == file.source:
                    raise
                passed.append(error)
        if watch is not None:
            watch(done + 1, len(request.files))
    if passed and not pages:
        raise passed[0]
    return pages, [f"{error.message} It was passed over." for error in passed]


def _read_one(library: Library, request: ReadSheet, photograph: Photograph) -> PageRead:
    number = None
    if request.sheet is not None:
        sheet = min(max(request.sheet, 1), MOST_SHEETS - 1)
        number = page_number(sheet, request.page - 1)
    return read_picture(
        photograph,
        find=lambda number: _sheet(library, number),
        known=lambda sheet: _known(library, sheet),
        way=request.way,
        number=number,
    )


def _sheet(library: Library, number: int) -> Sheet:
    with library.look() as work:
        return work.sheets.get(number)


def _known(library: Library, sheet: Sheet) -> KnownColors:
    """Return the paper's color, and cells that an instrument measured before."""
    with library.look() as work:
        paper, swatches = work.paper(sheet.paper), work.swatches(paper=sheet.paper)
    found: dict[Recipe, list[FloatArray]] = {}
    for stored in swatches:
        if stored.swatch.basis is Basis.SPECTRUM:
            xyz = xyz_from_reflectance(stored.swatch.reflectance)
            found.setdefault(stored.swatch.recipe, []).append(xyz)
    cells = {c.number: np.mean(found[c.recipe], axis=0) for c in sheet.cells if c.recipe in found}
    return KnownColors(xyz_from_reflectance(paper.reflectance), paper.measured, cells)


def _judge(
    work: Work, request: ReadSheet, pages: tuple[PageRead, ...]
) -> tuple[tuple[CellRead, ...], list[str]]:
    """Return the cells, and what is to be said of their papers."""
    cells: list[CellRead] = []
    told: list[str] = []
    for number in dict.fromkeys(page.sheet for page in pages):
        sheet = work.sheets.get(number)
        recipes = {cell.number: cell.recipe for cell in sheet.cells}
        own = [page for page in pages if page.sheet == number]
        read = _combined(own)
        bare_cells = {cell.number for cell in sheet.cells if cell.bare}
        before = comparable(_before(work, own, request.stage), read, bare=bare_cells)
        rough = any(is_rough(page.accuracy) for page in own)
        judged: list[CellRead] = []
        for cell, reading in sorted(read.items()):
            checked = _possible(compared(reading, before[cell]) if cell in before else reading)
            why_not = _why_not(checked, request, rough=rough)
            lab = lab_from_xyz(checked.xyz)
            recipe = _as_treated(recipes[cell], request.stage)
            judged.append(CellRead(number, cell, recipe, lab, checked, not why_not, why_not))
        bare = judge_bare(work.paper(sheet.paper), _bare_readings(judged), rough=rough)
        told += [bare.note] if bare.note else []
        cells += [_unless_bare(c, bare.why_not) for c in judged] if bare.why_not else judged
    return tuple(cells), told


def _bare_readings(cells: Iterable[CellRead]) -> list[CellReading]:
    """Return the readings of bare cells that can be taken over."""
    return [cell.reading for cell in cells if cell.taken and not cell.recipe.steps]


def _unless_bare(cell: CellRead, why_not: str) -> CellRead:
    """Return a cell, not taken for that reason where it is a bare one that else would be."""
    if not cell.taken or cell.recipe.steps:
        return cell
    return replace(cell, taken=False, why_not=why_not)


def _combined(pages: Iterable[PageRead]) -> Mapping[int, CellReading]:
    found: dict[int, list[CellReading]] = {}
    for page in pages:
        for reading in page.readings:
            found.setdefault(reading.number, []).append(reading)
    return {number: combine(readings) for number, readings in found.items()}


def _before(work: Work, pages: list[PageRead], stage: str) -> Mapping[int, CellReading]:
    """Return each cell's last sound reading at this stage, converted in the same way."""
    ways = {str(page.accuracy.conversion) for page in pages}
    return {
        stored.reading.number: stored.reading
        for stored in work.sheets.readings(pages[0].sheet)
        if stored.stage == stage
        and {stored.conversion} == ways
        and stored.reading.flags <= {Flag.STILL_WET}
    }


def _possible(reading: CellReading) -> CellReading:
    if Flag.OUTSIDE in reading.flags:
        return reading
    try:
        reflectance_from_xyz(reading.xyz, tolerance=1.0)
    except BadColorError:
        return replace(reading, flags=reading.flags | {Flag.IMPOSSIBLE})
    return reading


def _why_not(reading: CellReading, request: ReadSheet, *, rough: bool) -> str:
    """Return why a reading is not taken over; empty where it is."""
    if reading.number in request.redo:
        return "to be done again"
    if request.stage == WET:
        return "kept as a wet reading"
    impossible = [str(flag) for flag in WORST if flag in reading.flags]
    if impossible:
        return impossible[0]
    if reading.flags and reading.number not in request.accept:
        return ", ".join(sorted(str(flag) for flag in reading.flags))
    return "rough: by paper white alone" if rough and not request.accept_rough else ""


def _as_treated(recipe: Recipe, stage: str) -> Recipe:
    """Return the recipe with what the stage says was done to it since."""
    if not stage.startswith(AFTER) or not recipe.steps:
        return recipe
    return recipe.then(parse_recipe(stage.removeprefix(AFTER), _no_colorant))


def _no_colorant(name: str) -> NoReturn:
    raise BadRecipeError(f"“after {name}” is no treatment.", hint="Write: after solvent by swab.")


def _store(
    work: Work, request: ReadSheet, pages: tuple[PageRead, ...], cells: tuple[CellRead, ...]
) -> None:
    for number in dict.fromkeys(page.sheet for page in pages):
        sheet = work.sheets.get(number)
        own = [cell for cell in cells if cell.sheet == number]
        accuracies = [page.accuracy for page in pages if page.sheet == number]
        work.sheets.add_readings(
            number,
            [cell.reading for cell in own],
            stage=request.stage,
            conversion=str(accuracies[0].conversion),
            accepted=frozenset(cell.number for cell in own if cell.taken),
        )
        taken = [cell for cell in own if cell.taken]
        colored = [_swatch(sheet, cell) for cell in taken if cell.recipe.steps]
        rough = any(map(is_rough, accuracies))
        work.add_swatches([*_bare(work, sheet, taken, rough=rough), *colored])


def _swatch(sheet: Sheet, cell: CellRead) -> Swatch:
    return Swatch(
        sheet.paper,
        cell.recipe,
        reflectance_from_xyz(cell.reading.xyz, tolerance=1.0),
        Basis.XYZ,
        cell.reading.spread,
        frozenset(str(flag) for flag in cell.reading.flags),
    )


def _bare(work: Work, sheet: Sheet, taken: list[CellRead], *, rough: bool) -> list[Swatch]:
    """Return the bare paper as one swatch, where it tells the paper's own color."""
    bare = _bare_readings(taken)
    if not judge_bare(work.paper(sheet.paper), bare, rough=rough).keeps:
        return []
    xyz = np.mean([reading.xyz for reading in bare], axis=0)
    spread = float(np.mean([reading.spread for reading in bare]))
    reflectance = reflectance_from_xyz(xyz, tolerance=1.0)
    return [Swatch(sheet.paper, Recipe(), reflectance, Basis.XYZ, spread)]
