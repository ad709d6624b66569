"""What light in a window did to plain coats."""

from dataclasses import dataclass

import numpy as np

from laydown.app.fits.at_hand import paper_named
from laydown.app.given_file import GivenFile
from laydown.app.sheets.reading import DRY, ReadSheet, SheetRead, read_sheet
from laydown.app.swatches import READERS, form_of_content
from laydown.color.arrays import FloatArray
from laydown.color.lab import lab_from_reflectance, lab_from_xyz
from laydown.color.typed import measured_color
from laydown.documents.files.swatches import Usual, swatches_from_rows
from laydown.errors import LightfastnessError, NotMeasuredError
from laydown.media.colorant import Colorant
from laydown.media.laydown import ONE_COAT
from laydown.media.light.exposure import Span
from laydown.media.light.window_test import WindowReading
from laydown.media.recipe import Recipe, Step
from laydown.store.library import Library, Work
from laydown.store.lightfastness import WindowTest

# Note what light in a window did to plain coats: typed, from a file of swatches, or from a sheet.
#
# A sheet that was colored, read and then hung in a window is its own record: each cell that holds
# one plain coat of one colorant is compared with its first reading that was taken over.

__all__ = ["AddWindowTest", "WindowTest", "WindowTestAdded", "add_window_test"]

IN_WINDOW = "window"
"""The stage a sheet is read at here; such readings become no swatches."""
ONE_PLACE = 0.3
"""Noise of a difference by one instrument held by hand, where none is stated (common practice)."""


@dataclass(frozen=True, slots=True)
class AddWindowTest:
    """A swatch, or several, before and after light."""

    dose: Span
    """In all since the beginning [million lux-hours]."""
    filtered: bool = False
    """Whether ultraviolet was kept out."""
    colorant: str = ""
    before: str = ""
    after: str = ""
    """Typed, colors in numbers (`laydown.color.typed`); an empty `before` is the color of its
    earlier readings, else of its one-coat swatches on the paper."""
    file: bytes | None = None
    source: str = ""
    """Content and name of a file of swatches measured after."""
    pictures: tuple[GivenFile, ...] = ()
    """Of sheets that hung there."""
    paper: str = ""
    """Empty for the only one of the library."""
    noise: float = 0.0
    """Of the difference (CIEDE2000); 0 for what is usual of how it was measured."""
    remark: str = ""
    """In one's own words."""


@dataclass(frozen=True, slots=True, eq=False)
class WindowTestAdded:
    """The readings kept, how many were there already, and what was passed over."""

    tests: tuple[WindowTest, ...]
    repeated: int
    notes: tuple[str, ...] = ()


def add_window_test(library: Library, request: AddWindowTest) -> WindowTestAdded:
    """Note readings: all of them or none.

    Raises
    ------
    LightfastnessError
        Where no plain coat was measured both before and after.
    BadColorError, BadFileError
        For what can't be read.
    UnknownNameError
        For a colorant, a paper or a sheet that isn't in the library.
    """
    read = None
    if request.pictures:
        asked = ReadSheet(request.pictures, stage=IN_WINDOW, accept_rough=True, keep=False)
        read = read_sheet(library, asked)
    with library.look() as work:
        found, notes = _on_sheets(work, request, read) if read else (_measured(work, request), ())
    if not found:
        raise LightfastnessError(
            "No plain coat was measured both before and after.",
            hint="One coat of one colorant counts: measure it before it hangs in the window.",
        )
    with library.work(f"note {len(found)} from the window") as work:
        kept = [work.lightfastness.add(test) for test in found]
    new = tuple(test for test in kept if test is not None)
    return WindowTestAdded(new, len(kept) - len(new), notes)


def _measured(work: Work, request: AddWindowTest) -> list[WindowTest]:
    if request.file is None:
        return [_typed(work, request)]
    form = form_of_content(request.file)
    rows = READERS[form](request.file, source=request.source, usual=Usual("", request.paper, ""))
    swatches = swatches_from_rows(rows, source=request.source, find=work.find_colorant)
    found = []
    for swatch in swatches:
        colorant = plain_coat(swatch.recipe)
        before = None if colorant is None else _swatched(work, colorant, swatch.paper)
        if colorant is not None and before is not None:
            after = lab_from_reflectance(swatch.reflectance)
            found.append(_test(request, colorant, swatch.paper, before, after))
    return found


def _typed(work: Work, request: AddWindowTest) -> WindowTest:
    colorant = work.find_colorant(request.colorant)
    paper = paper_named(work, request.paper)
    after = measured_color(request.after)
    typed = [after, measured_color(request.before)] if request.before else [after]
    before = typed[-1].lab if request.before else _earlier(work, colorant, paper)
    usual = max(ONE_PLACE, *(one.deviation for one in typed))
    return _test(request, colorant, paper, before, after.lab, usual=usual)


def _earlier(work: Work, colorant: Colorant, paper: str) -> FloatArray:
    """Return the color a colorant began with in this window, or as it was swatched."""
    for test in work.lightfastness.tests():
        if (test.colorant.label, test.paper) == (colorant.label, paper):
            return test.reading.before
    swatched = _swatched(work, colorant, paper)
    if swatched is None:
        raise NotMeasuredError(
            f"How {colorant.name} looked on {paper} before is not known.",
            hint="Say what its color was when it was hung.",
            command="--before lab:L,a,b",
        )
    return swatched


def _swatched(work: Work, colorant: Colorant, paper: str) -> FloatArray | None:
    """Return the mean color of a colorant's plain coats on a paper; None without any."""
    coats = [
        stored.swatch.reflectance
        for stored in work.swatches(paper=paper, colorant=colorant)
        if plain_coat(stored.swatch.recipe) is not None
    ]
    return lab_from_reflectance(np.mean(coats, axis=0)) if coats else None


def plain_coat(recipe: Recipe) -> Colorant | None:
    """Return the colorant of a recipe that is one plain coat of it; None for any other.

    Examples
    --------
    >>> plain_coat(Recipe((Step(Colorant("Kelp", "Shoal")),))).name
    'Kelp'
    """
    if len(recipe.steps) != 1 or not isinstance(recipe.steps[0], Step):
        return None
    step = recipe.steps[0]
    plain = step.laydown == ONE_COAT and not step.mixed and not step.colorant.blender
    return step.colorant if plain else None


def _test(
    request: AddWindowTest,
    colorant: Colorant,
    paper: str,
    before: FloatArray,
    after: FloatArray,
    *,
    usual: float = ONE_PLACE,
) -> WindowTest:
    noise = request.noise or usual
    reading = WindowReading(request.dose, before, after, noise, request.filtered)
    return WindowTest(colorant, paper, reading, request.remark)


def _on_sheets(
    work: Work, request: AddWindowTest, read: SheetRead
) -> tuple[list[WindowTest], tuple[str, ...]]:
    expected = {page.sheet: page.accuracy.mean for page in read.pages}
    found, passed = [], list(read.notes)
    for number in dict.fromkeys(cell.sheet for cell in read.cells):
        before = _first_readings(work, number)
        paper = work.sheets.get(number).paper
        for cell in (cell for cell in read.cells if cell.sheet == number):
            colorant = plain_coat(cell.recipe)
            if colorant is None:
                continue
            if not cell.taken or cell.number not in before:
                why = cell.why_not or "it wasn't taken over before it hung in the window"
                passed.append(f"Cell {cell.number} was passed over: {why}.")
                continue
            usual = max(ONE_PLACE, expected[number])
            pair = before[cell.number], cell.lab
            found.append(_test(request, colorant, paper, *pair, usual=usual))
    return found, tuple(passed)


def _first_readings(work: Work, sheet: int) -> dict[int, FloatArray]:
    """Return each cell's first dry reading that was taken over."""
    found: dict[int, FloatArray] = {}
    for stored in work.sheets.readings(sheet):
        if stored.accepted and stored.stage == DRY:
            found.setdefault(stored.reading.number, lab_from_xyz(stored.reading.xyz))
    return found


def forget_window_test(library: Library, number: int) -> WindowTest:
    """Remove a reading, by its number, and return it.

    Raises
    ------
    UnknownNameError
        For a number that no reading has.
    """
    with library.work(f"forget window reading {number}") as work:
        return work.lightfastness.forget(number)
