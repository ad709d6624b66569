"""Lightfastness of colorants: stated, seen in a window, listed, brought in and handed out."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import PurePath

import numpy as np

from laydown.app.fits import paper_named
from laydown.app.sheets.reading import DRY, ReadSheet, SheetRead, read_sheet
from laydown.app.supplies.kits import in_ranges, said
from laydown.app.swatches import swatches_in
from laydown.app.tasks import GivenFile
from laydown.color.arrays import FloatArray
from laydown.color.lab import lab_from_reflectance, lab_from_xyz
from laydown.color.typed import measured_color
from laydown.documents.files.lightfastness import (
    FastnessRow,
    read_lightfastness,
    write_lightfastness,
)
from laydown.errors import LaydownError, LightfastnessError, NotMeasuredError
from laydown.media.laydown import ONE_COAT
from laydown.media.light.exposure import Span
from laydown.media.light.fading import Fading, class_fading, class_words, parse_class
from laydown.media.light.window_test import WindowReading, shows_change, window_fading
from laydown.media.recipe import Colorant, Recipe, Step
from laydown.plan.light.life import dose_words
from laydown.store.library import Library, Work
from laydown.store.lightfastness import Rating, WindowTest

__all__ = ["WindowTest"]

UNKNOWN = "unknown"
"""Takes a class back."""


@dataclass(frozen=True, slots=True)
class LightfastnessRated:
    """The class in words, the colorants it was new for, and those that had it."""

    fastness: str
    changed: tuple[Colorant, ...]
    unchanged: tuple[Colorant, ...]


def rate_lightfastness(
    library: Library,
    grade: str,
    names: tuple[str, ...] = (),
    ranges: tuple[str, ...] = (),
    source: str = "",
) -> LightfastnessRated:
    """State a class for colorants, all of them or, if one name is unknown, none.

    Parameters
    ----------
    grade
        1 to 8 of blue wool, I to V of ASTM D4303, or ``unknown``.
    names
        Names, ``Range/Name`` or owner's codes.
    source
        Who states it, such as the label.

    Raises
    ------
    LightfastnessError
        For what is no class.
    """
    taken_back = grade.strip().casefold() == UNKNOWN
    fastness = None if taken_back else parse_class(grade)
    with library.work(f"rate {said(names, ranges)} as {grade}") as work:
        found = [work.find_colorant(name) for name in names]
        named = tuple(dict.fromkeys([*in_ranges(work, ranges), *found]))
        new = [work.lightfastness.rate(c, fastness, source) for c in named]
    pairs = list(zip(named, new, strict=True))
    return LightfastnessRated(
        class_words(fastness) if fastness else UNKNOWN,
        tuple(c for c, changed in pairs if changed),
        tuple(c for c, changed in pairs if not changed),
    )


@dataclass(frozen=True, slots=True)
class LightfastnessImported:
    """How many classes and readings the file holds, and how many of each were new."""

    classes: int
    new_classes: int
    readings: int
    new_readings: int


def import_lightfastness(library: Library, content: bytes, source: str) -> LightfastnessImported:
    """Take in a file, by its content and its name.

    Raises
    ------
    BadFileError
        For the first line that can't be read.
    """
    rows = read_lightfastness(content, source=source)
    with library.work(f"import lightfastness from {PurePath(source).name}") as work:
        named = _named(work, rows, source)
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


@dataclass(frozen=True, slots=True)
class LightfastnessExported:
    """The file's text, and how many classes and readings it holds."""

    classes: int
    readings: int
    text: str


def export_lightfastness(library: Library, range: str = "") -> LightfastnessExported:
    """Write all classes and readings, or those of a range, as CSV.

    Raises
    ------
    NotMeasuredError
        Where there are none.
    """
    with library.look() as work:
        wanted = work.find_range(range).name if range else ""
        rated, tests = work.lightfastness.all(), work.lightfastness.tests()
    classes = [
        FastnessRow(0, r.colorant.range, r.colorant.name, r.fastness, r.source) for r in rated
    ]
    readings = [
        FastnessRow(
            0,
            t.colorant.range,
            t.colorant.name,
            paper=t.paper,
            reading=t.reading,
            remark=t.remark,
            noted=t.noted,
        )
        for t in tests
    ]
    chosen = [row for row in (*classes, *readings) if wanted in {"", row.range}]
    if not chosen:
        raise NotMeasuredError(
            "Nothing is known here of lightfastness.",
            hint="State the class of a colorant first.",
            command="laydown light rate 3 COLORANT",
        )
    held = sum(row.reading is not None for row in chosen)
    return LightfastnessExported(len(chosen) - held, held, write_lightfastness(chosen))


@dataclass(frozen=True, slots=True, eq=False)
class KnownFading:
    """What is known of one colorant's lightfastness."""

    rating: Rating | None
    """Its stated class, or None."""
    tests: tuple[WindowTest, ...]
    """Its window readings, in the order noted."""
    fading: Fading | None
    """What follows, in the light it was stated or tested for; None where nothing does."""


def known_lightfastness(work: Work) -> Mapping[str, KnownFading]:
    """Return what is known, by the label of each colorant of which anything is."""
    rated = {rating.colorant.label: rating for rating in work.lightfastness.all()}
    tests: dict[str, tuple[WindowTest, ...]] = {}
    for test in work.lightfastness.tests():
        tests[test.colorant.label] = (*tests.get(test.colorant.label, ()), test)
    by_class = {
        fastness: class_fading(fastness) for fastness in {one.fastness for one in rated.values()}
    }

    def known(label: str) -> KnownFading:
        rating = rated.get(label)
        stated = by_class[rating.fastness] if rating else None
        return _known(rating, tests.get(label, ()), stated)

    return {label: known(label) for label in sorted({*rated, *tests})}


def _known(
    rating: Rating | None, tests: tuple[WindowTest, ...], by_class: Fading | None
) -> KnownFading:
    """Let a test count once it shows a change; until then a class tells more."""
    readings = [test.reading for test in tests]
    if readings and (by_class is None or shows_change(readings)):
        return KnownFading(rating, tests, window_fading(readings))
    return KnownFading(rating, tests, by_class)


NO_TABLE = "no forecast: no table of that class was read"


@dataclass(frozen=True, slots=True, eq=False)
class ReadingShown:
    """A window reading: its number, dose, how far the color moved, and how it was taken."""

    number: int
    paper: str
    dose: Span
    filtered: bool
    difference: float
    noise: float
    remark: str


@dataclass(frozen=True, slots=True, eq=False)
class ColorantRated:
    """One colorant."""

    colorant: Colorant
    stated: str
    source: str
    """Its class in words, and who states it; empty where none does."""
    readings: tuple[ReadingShown, ...]
    basis: str
    """What its forecast rests on; empty for none."""
    noticeable: Span | None
    said: str
    """Dose to a just noticeable change of a plain coat, and the same in words."""
    filtered: bool
    """Whether that holds for light without ultraviolet."""


@dataclass(frozen=True, slots=True, eq=False)
class LightfastnessListed:
    """The colorants, and those of the kit or range of which nothing is known."""

    colorants: tuple[ColorantRated, ...]
    unknown: tuple[Colorant, ...]


def list_lightfastness(library: Library, kit: str = "", range: str = "") -> LightfastnessListed:
    """List classes, window readings and what follows, of a kit, a range, or all that is known."""
    with library.look() as work:
        known = known_lightfastness(work)
        asked = work.kit(kit) if kit else work.colorants(range or None)
    listed = tuple(_rated(c, known[c.label]) for c in asked if c.label in known)
    scoped = bool(kit or range)
    unknown = tuple(c for c in asked if scoped and c.label not in known and not c.blender)
    return LightfastnessListed(listed, unknown)


def _rated(colorant: Colorant, found: KnownFading) -> ColorantRated:
    fading = found.fading
    return ColorantRated(
        colorant=colorant,
        stated=class_words(found.rating.fastness) if found.rating else "",
        source=found.rating.source if found.rating else "",
        readings=tuple(_shown(test) for test in found.tests),
        basis=fading.words if fading else "",
        noticeable=fading.noticeable if fading else None,
        said=dose_words(fading.noticeable) if fading else NO_TABLE,
        filtered=fading.filtered if fading else False,
    )


def _shown(test: WindowTest) -> ReadingShown:
    read = test.reading
    return ReadingShown(
        test.number, test.paper, read.dose, read.filtered, read.difference, read.noise, test.remark
    )


# What light in a window did to plain coats: typed, from a file of swatches, or from a sheet.
#
# A sheet that was colored, read and then hung in a window is its own record: each cell that holds
# one plain coat of one colorant is compared with its first reading that was taken over.


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
    found = []
    for swatch in swatches_in(work, request.file, request.source, paper=request.paper):
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
    """Remove a reading, by its number, and return it."""
    with library.work(f"forget window reading {number}") as work:
        return work.lightfastness.forget(number)
