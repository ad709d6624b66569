"""Lightfastness of colorants: stated, listed, brought in and handed out."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import PurePath

from laydown.app.supplies.kits import in_ranges, said
from laydown.documents.files.lightfastness import (
    FastnessRow,
    read_lightfastness,
    write_lightfastness,
)
from laydown.errors import LaydownError, NotMeasuredError
from laydown.media.colorant import Colorant
from laydown.media.light.exposure import Span
from laydown.media.light.fading import Fading, class_fading
from laydown.media.light.lightfastness import parse_class
from laydown.media.light.window_test import shows_change, window_fading
from laydown.plan.light.life import dose_words
from laydown.store.library import Library, Work
from laydown.store.lightfastness import Rating, WindowTest

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
    ranges
        Ranges meant as a whole.
    source
        Who states it, such as the label.

    Raises
    ------
    LightfastnessError
        For what is no class.
    UnknownNameError, AmbiguousNameError
        For a colorant that isn't there, or isn't clear.
    """
    taken_back = grade.strip().casefold() == UNKNOWN
    fastness = None if taken_back else parse_class(grade)
    with library.work(f"rate {said(names, ranges)} as {grade}") as work:
        found = [work.find_colorant(name) for name in names]
        named = tuple(dict.fromkeys([*in_ranges(work, ranges), *found]))
        new = [work.lightfastness.rate(c, fastness, source) for c in named]
    pairs = list(zip(named, new, strict=True))
    return LightfastnessRated(
        fastness.words if fastness else UNKNOWN,
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
    UnknownNameError
        For a colorant that isn't in the library; nothing is taken in.
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


def export_lightfastness(
    library: Library,
    range: str = "",  # noqa: A002  the trade's word
) -> LightfastnessExported:
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
    """Which."""
    stated: str
    source: str
    """Its class in words, and who states it; empty where none does."""
    readings: tuple[ReadingShown, ...]
    """From the window."""
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


def list_lightfastness(
    library: Library,
    kit: str = "",
    range: str = "",  # noqa: A002  the trade's word
) -> LightfastnessListed:
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
        stated=found.rating.fastness.words if found.rating else "",
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
