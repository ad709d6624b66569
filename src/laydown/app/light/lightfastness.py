"""Lightfastness of colorants: stated, seen in a window, listed, brought in and handed out."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import PurePath

import numpy as np

from laydown.app.fits import paper_named
from laydown.app.sheets.reading import DRY, ReadSheet, SheetRead, read_sheet
from laydown.app.supplies.kits import in_ranges, said
from laydown.app.swatches import swatches_in
from laydown.app.tasks import GivenFile
from laydown.color import lab
from laydown.color.arrays import FloatArray
from laydown.color.typed import DEVIATION, measured_color
from laydown.documents.files import lists
from laydown.errors import LaydownError, LightfastnessError, NotMeasuredError
from laydown.media.laydown import ONE_COAT
from laydown.media.light import exposure, window_test
from laydown.media.light.fading import Fading, Lightfastness, class_fading, class_words, parse_class
from laydown.media.recipe import Colorant, Recipe, Step
from laydown.plan.light.life import dose_words
from laydown.store.library import Library, Work
from laydown.store.lightfastness import WindowTest

__all__ = ["WindowTest"]

UNKNOWN = "unknown"
"""Takes a class back."""


def rate_lightfastness(
    library: Library,
    grade: str,
    names: tuple[str, ...] = (),
    ranges: tuple[str, ...] = (),
    source: str = "",
) -> tuple[str, tuple[Colorant, ...], tuple[Colorant, ...]]:
    """State a class for colorants, all of them or, if one name is unknown, none.

    Returned are the class in words, the colorants it was new for, and those that had it. `grade`: 1
    to 8 of blue wool, I to V of ASTM D4303, or ``unknown``. `names`: names, ``Range/Name`` or
    owner's codes. `source` is who states it, such as the label. Raises `LightfastnessError` for
    what is no class.
    """
    taken_back = grade.strip().casefold() == UNKNOWN
    fastness = None if taken_back else parse_class(grade)
    with library.work(f"rate {said(names, ranges)} as {grade}") as work:
        found = [work.find_colorant(name) for name in names]
        named = tuple(dict.fromkeys([*in_ranges(work, ranges), *found]))
        new = [work.lightfastness.rate(c, fastness, source) for c in named]
    changed, unchanged = (
        tuple(c for c, is_new in zip(named, new, strict=True) if is_new is wanted)
        for wanted in (True, False)
    )
    return class_words(fastness) if fastness else UNKNOWN, changed, unchanged


def import_lightfastness(
    library: Library, content: bytes, source: str
) -> tuple[int, int, int, int]:
    """Take in a file, by its content and its name.

    Returned is how many classes it holds, and how many of these were new; then the same of window
    readings. Raises `BadFileError` for the first line that can't be read.
    """
    rows = lists.read_lightfastness(content, source=source)
    with library.work(f"import lightfastness from {PurePath(source).name}") as work:
        named = _named(work, rows, source)
        new = [_take_in(work, row, colorant) for row, colorant in zip(rows, named, strict=True)]
    classes = [n for n, row in zip(new, rows, strict=True) if row.fastness]
    readings = [n for n, row in zip(new, rows, strict=True) if row.reading]
    return len(classes), sum(classes), len(readings), sum(readings)


def _named(work: Work, rows: Sequence[lists.FastnessRow], source: str) -> list[Colorant]:
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


def _take_in(work: Work, row: lists.FastnessRow, colorant: Colorant) -> bool:
    if row.reading is None:
        return work.lightfastness.rate(colorant, row.fastness, row.source)
    test = WindowTest(colorant, row.paper, row.reading, row.remark, noted=row.noted)
    return work.lightfastness.add(test) is not None


def export_lightfastness(library: Library, range: str = "") -> str:
    """Write all classes and readings, or those of a range, as CSV.

    Raises `NotMeasuredError` where there are none.
    """
    with library.look() as work:
        wanted = work.find_range(range).name if range else ""
        rated, tests = work.lightfastness.all(), work.lightfastness.tests()
    classes = [lists.FastnessRow(0, c.range, c.name, fastness, told) for c, fastness, told in rated]
    readings = [
        lists.FastnessRow(
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
    return lists.write_lightfastness(chosen)


NO_TABLE = "no forecast: no table of that class was read"


@dataclass(frozen=True, slots=True, eq=False)
class KnownFading:
    """What is known of one colorant's lightfastness."""

    colorant: Colorant
    fastness: Lightfastness | None = None
    source: str = ""
    """Its stated class, and who states it; None and empty where none does."""
    tests: tuple[WindowTest, ...] = ()
    """Its window readings, in the order noted."""
    fading: Fading | None = None
    """What follows, in the light it was stated or tested for; None where nothing does."""

    @property
    def anything(self) -> bool:
        """Whether anything is known of it."""
        return bool(self.fastness or self.tests)

    @property
    def stated(self) -> str:
        """Its class in words; empty for none."""
        return class_words(self.fastness) if self.fastness else ""

    @property
    def basis(self) -> str:
        """What its forecast rests on; empty for none."""
        return self.fading.words if self.fading else ""

    @property
    def said(self) -> str:
        """When a plain coat of it is seen to change, in words."""
        return dose_words(self.fading.noticeable) if self.fading else NO_TABLE


def known_lightfastness(work: Work) -> Mapping[str, KnownFading]:
    """Return what is known, by the label of each colorant of which anything is.

    A test counts once it shows a change; until then a class tells more.
    """
    known = {c.label: KnownFading(c, f, told) for c, f, told in work.lightfastness.all()}
    for test in work.lightfastness.tests():
        one = known.get(test.colorant.label) or KnownFading(test.colorant)
        known[test.colorant.label] = replace(one, tests=(*one.tests, test))
    by_class = {f: class_fading(f) for f in {one.fastness for one in known.values()} if f}
    return {
        label: replace(
            one, fading=_fading(one.tests, by_class[one.fastness] if one.fastness else None)
        )
        for label, one in sorted(known.items())
    }


def _fading(tests: Sequence[WindowTest], by_class: Fading | None) -> Fading | None:
    readings = [test.reading for test in tests]
    if readings and (by_class is None or window_test.shows_change(readings)):
        return window_test.window_fading(readings)
    return by_class


def list_lightfastness(library: Library, kit: str = "", range: str = "") -> tuple[KnownFading, ...]:
    """List classes, window readings and what follows, of a kit, a range, or all that is known.

    Of a kit or a range also those are listed of which nothing is known, but for blenders.
    """
    with library.look() as work:
        known = known_lightfastness(work)
        asked = work.kit(kit) if kit else work.colorants(range or None)
    found = [known.get(c.label) or KnownFading(c) for c in asked]
    scoped = bool(kit or range)
    return tuple(o for o in found if o.anything or (scoped and not o.colorant.blender))


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

    dose: exposure.Span
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


WindowTestAdded = tuple[tuple[WindowTest, ...], int, tuple[str, ...]]
"""The readings kept, how many were there already, and what was passed over."""


def add_window_test(library: Library, request: AddWindowTest) -> WindowTestAdded:
    """Note readings: all of them or none.

    Raises `LightfastnessError` where no plain coat was measured both before and after. Raises
    `BadColorError` and `BadFileError` for what can't be read.
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
    return new, len(kept) - len(new), notes


def _measured(work: Work, request: AddWindowTest) -> list[WindowTest]:
    if request.file is None:
        return [_typed(work, request)]
    found = []
    for swatch in swatches_in(work, request.file, request.source, paper=request.paper):
        colorant = plain_coat(swatch.recipe)
        before = None if colorant is None else _swatched(work, colorant, swatch.paper)
        if colorant is not None and before is not None:
            after = lab.lab_from_reflectance(swatch.reflectance)
            found.append(_test(request, colorant, swatch.paper, before, after))
    return found


def _typed(work: Work, request: AddWindowTest) -> WindowTest:
    colorant = work.find_colorant(request.colorant)
    paper = paper_named(work, request.paper)
    after, form = measured_color(request.after)
    usual = max(ONE_PLACE, DEVIATION[form])
    if request.before:
        before, form = measured_color(request.before)
        usual = max(usual, DEVIATION[form])
    else:
        before = _earlier(work, colorant, paper)
    return _test(request, colorant, paper, before, after, usual=usual)


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
    return lab.lab_from_reflectance(np.mean(coats, axis=0)) if coats else None


def plain_coat(recipe: Recipe) -> Colorant | None:
    """Return the colorant of a recipe that is one plain coat of it; None for any other.

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
    reading = window_test.WindowReading(request.dose, before, after, noise, request.filtered)
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
    for reading in work.sheets.readings(sheet, stage=DRY, accepted=True):
        found.setdefault(reading.number, lab.lab_from_xyz(reading.xyz))
    return found


def forget_window_test(library: Library, number: int) -> WindowTest:
    """Remove a reading, by its number, and return it."""
    with library.work(f"forget window reading {number}") as work:
        return work.lightfastness.forget(number)
