"""Class packs from a lesson, and what students made of it."""

import re
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from laydown.app.fits import SuppliesAtHand, look_up, set_up
from laydown.app.lessons.lessons import LessonAsked, match_each, read_lesson
from laydown.app.matches.colors import Asking, chart_of
from laydown.color.arrays import FloatArray
from laydown.color.lab import ciede2000
from laydown.color.screen import screen_color
from laydown.color.value import value_from_lab
from laydown.documents.files.csv import write_csv
from laydown.documents.print.entries import name_of, off_in_short
from laydown.documents.print.layout import CAUTIONS, SHOWN_COLORS
from laydown.documents.print.reports import Report, ReportRow, Section, report_html, report_pdf
from laydown.errors import DuplicateNameError
from laydown.match.outcome import Difference, Match
from laydown.match.ranking import Watch
from laydown.match.words import difference, is_neutral
from laydown.media.kit.fit import color_of
from laydown.media.legible import capital, legible
from laydown.media.recipe import Colorant, Medium, Recipe, Step, order_troubles
from laydown.media.recipe_words import recipe_words
from laydown.plan.chart import Chart
from laydown.plan.lesson.lesson import Lesson, LessonColor
from laydown.plan.run.runs import at_value, steps_between, tones_of
from laydown.store.library import Library

OFTEN = 2
"""A colorant in so many recipes or more is a must (chosen)."""
ALIKE_HUE, ALIKE_VALUE = 16.0, 1.5
"""Another supply is of the same color group within this difference of hue [IPT degrees] and this
many value steps: a green and a dark green are two groups (common practice, no source)."""
NEAR = 9.0
"""CIEDE2000 up to which one colorant may stand in for another at all: two sketch tolerances."""
ACROSS = 9
"""Patches side by side, with a box under each."""
STRIP = (9.5, 9.0, 8.0, 7.0, 6.0, 5.0, 4.0, 3.0, 2.0, 1.0)
"""Values of the value strip."""
BLENDING = (
    "From light to dark. Color each box as the patch above it: where it says “both”, let the"
    " neighbors overlap, the lighter first, and go over the join once more with the lighter."
)
SOLVENT_FREE = (
    "No step of this pack needs solvent. Where a recipe names a colorless blender, leave it out:"
    " lay the paler colorant once more over the join while it is still damp, or let hatching do the"
    " blending. Pencils blend by light layers and burnishing with the palest of them."
)


@dataclass(frozen=True, slots=True, eq=False)
class Needed:
    """A colorant that students need."""

    colorant: Colorant
    recipes: int
    must: bool
    """Whether it is a must, for it is in several recipes or no other must is of its color group, as
    the only dark green; or optional."""
    substitute: str
    """Name of the colorant of the same range that comes nearest to it in one coat, and how far."""
    difference: float
    """CIEDE2000 to the substitute."""
    lab: FloatArray
    """Of one coat."""

    @property
    def replaceable(self) -> bool:
        """Whether the substitute comes near enough to stand in at all."""
        return bool(self.substitute) and self.difference <= NEAR


@dataclass(frozen=True, slots=True, eq=False)
class Blend:
    """A passage from light to dark: recipes, their Lab, and the Lab where neighbors overlap."""

    passage: str
    recipes: tuple[Recipe, ...]
    labs: tuple[FloatArray, ...]
    met: tuple[FloatArray, ...]


@dataclass(frozen=True, slots=True, eq=False)
class PackPart:
    """The lesson from one range or kit: chart, supplies, and recipes without blender."""

    label: str
    chart: Chart
    needed: tuple[Needed, ...]
    blends: tuple[Blend, ...]


@dataclass(frozen=True, slots=True, eq=False)
class LessonPacked:
    """The pack as a report, with what it was made from, and what the teacher should check first."""

    title: str
    troubles: tuple[str, ...]
    parts: tuple[PackPart, ...]
    report: Report


def pack_lesson(
    library: Library, request: LessonAsked, *, watch: Watch | None = None
) -> LessonPacked:
    """Make a class pack."""
    lesson = read_lesson(request.file, source=request.source)
    asking = request.asking
    names = asking.supplies.ranges
    each = [replace(asking.supplies, ranges=(name,)) for name in names] or [asking.supplies]
    for supplies in each:
        look_up(library, supplies)
    parts = []
    for supplies in each:
        bench = set_up(library, supplies)
        blenders = {c.label for c in bench.whole.colorants if c.blender}
        dry = replace(bench, without=bench.without | blenders)
        matches = match_each(lesson, dry, asking, watch)
        parts.append(_part(lesson, matches, dry, asking))
    return LessonPacked(lesson.title, lesson.troubles, tuple(parts), _report(lesson, parts))


def write_pack(packed: LessonPacked, form: str, page: str = "A4") -> bytes:
    """Write a pack as one HTML page or as PDF."""
    if form == "html":
        return legible(report_html(packed.report)).encode()
    return report_pdf(packed.report, page=page)


def _part(
    lesson: Lesson, matches: Sequence[Match], bench: SuppliesAtHand, asking: Asking
) -> PackPart:
    chart = chart_of(lesson.title, matches, bench, asking, notes=lesson.notes)
    used = Counter(c for m in matches for c in m.best.prediction.recipe.colorants)
    order = sorted(used, key=lambda c: (-used[c], c))
    musts = _musts(order, used, bench)
    needed = tuple(_needed(c, used[c], bench, must=c in musts) for c in order)
    return PackPart(bench.label, chart, needed, _blends(matches, bench))


def _musts(
    order: Sequence[Colorant], used: Counter[Colorant], bench: SuppliesAtHand
) -> frozenset[Colorant]:
    """Return what is in several recipes, or is the first of its color group in this order."""
    musts: dict[Colorant, FloatArray] = {}
    for colorant in order:
        own = _one_coat(colorant, bench)
        if used[colorant] >= OFTEN or not any(_alike(own, other) for other in musts.values()):
            musts[colorant] = own
    return frozenset(musts)


def _needed(colorant: Colorant, recipes: int, bench: SuppliesAtHand, *, must: bool) -> Needed:
    own = _one_coat(colorant, bench)
    others = [
        c
        for c in bench.whole.colorants
        if c.label not in bench.without and c.label != colorant.label and c.range == colorant.range
    ]
    found = [(float(ciede2000(own, _one_coat(c, bench))), c.name) for c in others]
    difference, substitute = min(found, default=(float("nan"), ""))
    return Needed(colorant, recipes, must, substitute, difference, own)


def _one_coat(colorant: Colorant, bench: SuppliesAtHand) -> FloatArray:
    return color_of(bench.whole, Recipe((Step(colorant),)))


def _alike(one: FloatArray, other: FloatArray) -> bool:
    """Whether two colors are of the same group, so that one could spare the other."""
    value, hue, _ = steps_between(tones_of(one), tones_of(other))
    near = abs(hue) <= ALIKE_HUE and abs(value) <= ALIKE_VALUE
    return bool(near) and is_neutral(one) == is_neutral(other)


def _blends(matches: Sequence[Match], bench: SuppliesAtHand) -> tuple[Blend, ...]:
    """Return for each passage its colors from light to dark, and what they are where they meet."""
    found = []
    for passage in dict.fromkeys(m.target.passage for m in matches if m.target.passage):
        row = [m.best.prediction for m in matches if m.target.passage == passage]
        row.sort(key=lambda seen: -float(seen.lab[0]))
        met = [
            color_of(bench.whole, _where_they_meet(a.recipe, b.recipe.above(bench.over)))
            for a, b in pairwise(row)
        ]
        found.append(
            Blend(passage, tuple(p.recipe for p in row), tuple(p.lab for p in row), tuple(met))
        )
    return tuple(found)


def _where_they_meet(paler: Recipe, darker: Recipe) -> Recipe:
    """Return the darker over the paler, or step by step in the order their media can lie in."""
    met = paler.then(darker)
    if not order_troubles(met):
        return met
    first = [Medium.MARKER, Medium.WASH, Medium.PENCIL]
    steps = [step for step in met.steps if isinstance(step, Step)]
    steps.sort(key=lambda step: first.index(step.colorant.medium))
    return Recipe(tuple(steps))


def _report(lesson: Lesson, parts: Sequence[PackPart]) -> Report:
    """Set one copy after another: who owns one of the ranges is handed theirs alone."""
    sections = [section for part in parts for section in _copy(lesson, part, len(parts) > 1)]
    told = " and ".join(part.label for part in parts)
    lead = (f"From {told}. Lay the steps in the order they are said; let every coat dry.",)
    return Report(lesson.title, (*lead, *lesson.notes), tuple(sections), SHOWN_COLORS)


def _copy(lesson: Lesson, part: PackPart, apart: bool) -> Iterator[Section]:
    yield replace(_supplies(part), apart=apart)
    yield _value_strip()
    yield from _conversion(part)
    yield _blend_strips(part)
    yield _sheet(lesson)
    yield Section("Without solvent", (ReportRow("", SOLVENT_FREE),))
    yield Section("Take care", tuple(ReportRow("", caution) for caution in CAUTIONS))


def _supplies(part: PackPart) -> Section:
    """List what is needed first, then what is nice to have, each in the order of the shop."""
    listed = sorted(part.needed, key=lambda need: (not need.must, _shop_order(need.colorant)))
    rows = [
        ReportRow(
            " ".join(filter(None, (need.colorant.name, need.colorant.code))),
            _use(need),
            (screen_color(need.lab),),
            tick=True,
        )
        for need in listed
    ]
    return Section(f"Supplies from {part.label}", tuple(rows))


def _shop_order(colorant: Colorant) -> tuple[str, bool, str, Colorant]:
    """Order as a shop does: by range, then by code with 9 before 10, else by name."""
    code = re.sub(r"\d+", lambda digits: digits[0].zfill(9), colorant.code.casefold())
    return colorant.range, not code, code, colorant


def _use(need: Needed) -> str:
    kind = "Needed" if need.must else "Nice to have"
    colors = f"{need.recipes} color{'s' * (need.recipes != 1)}"
    stands_in = f"{need.substitute} may stand in" if need.replaceable else "no substitute"
    return f"{kind} for {colors}; {stands_in}."


def _conversion(part: PackPart) -> Iterator[Section]:
    passages = dict.fromkeys(m.target.passage for m in part.chart.matches)
    for passage in passages:
        rows = [_color_row(m) for m in part.chart.matches if m.target.passage == passage]
        title = f"{passage or 'Colors'}, from {part.label}"
        yield Section(title, tuple(rows))


def _color_row(match: Match) -> ReportRow:
    best, target = match.best, match.target
    head = f"{name_of(target)}{f', {target.role}' if target.role else ''}"
    said = f"{recipe_words(best.prediction.recipe)}. Value {float(value_from_lab(target.lab)):.1f}."
    text = f"{capital(said)} {off_in_short(best)}".rstrip()
    patches = screen_color(target.lab), screen_color(best.prediction.lab)
    return ReportRow(head, text, patches, keys=("wanted", "you get"), box=True)


def _blend_strips(part: PackPart) -> Section:
    """Show each passage from light to dark, with the overlap between neighbors."""
    rows = [ReportRow("", BLENDING)]
    for blend in part.blends:
        patches, keys = [screen_color(blend.labs[0])], [recipe_words(blend.recipes[0])]
        for met, lab, recipe in zip(blend.met, blend.labs[1:], blend.recipes[1:], strict=True):
            patches += [screen_color(met), screen_color(lab)]
            keys += ["both", recipe_words(recipe)]
        rows += _under(blend.passage, patches, keys)
    return Section(f"Blend strips, from {part.label}", tuple(rows))


def _under(head: str, patches: Sequence[str], keys: Sequence[str]) -> Iterator[ReportRow]:
    """Return rows of a few patches, each with its key and a box to color in."""
    for first in range(0, len(patches), ACROSS):
        row = slice(first, first + ACROSS)
        told = head if first == 0 else ""
        yield ReportRow(told, "", tuple(patches[row]), keys=tuple(keys[row]), under=True)


def _value_strip() -> Section:
    grays = tuple(screen_color(at_value(np.array([50.0, 0.0, 0.0]), value)) for value in STRIP)
    text = "From light to dark: squint, and hold your work beside it. Try each value in its box."
    keys = tuple(f"{value:g}" for value in STRIP)
    return Section("Value strip", (ReportRow("", text, grays, keys=keys, under=True),))


def _sheet(lesson: Lesson) -> Section:
    """Show what is wanted, passage by passage, with a box under each color."""
    passages = dict.fromkeys(color.passage for color in lesson.colors)
    numbers = {id(color): number for number, color in enumerate(lesson.colors, start=1)}
    rows: list[ReportRow] = []
    for passage in passages:
        colors = [color for color in lesson.colors if color.passage == passage]
        keys = [f"{numbers[id(color)]} {name_of(color.target)}" for color in colors]
        rows += _under(passage, [screen_color(color.lab) for color in colors], keys)
    return Section("A sheet to color in", tuple(rows))


@dataclass(frozen=True, slots=True, eq=False)
class PersonReturned:
    """How one person's return came out."""

    person: str
    paper: str
    colors: tuple[tuple[LessonColor, Difference], ...]
    """Each color of the lesson that is in it, as it was made and how far it is off."""
    mean: float
    value: float
    """Mean difference in value steps, above 0 for too light: a light or a heavy hand."""
    missing: tuple[str, ...]
    unknown: tuple[str, ...]
    """Names of the lesson's colors that are not in it, and of its colors that aren't the
    lesson's."""


def gather_lessons(request: LessonAsked) -> tuple[PersonReturned, ...]:
    """Merge returns by the names of the lesson's colors; no library is needed.

    Raises `DuplicateNameError` for two returns of one person on one paper.
    """
    wanted = read_lesson(request.file, source=request.source)
    people: list[PersonReturned] = []
    for person, back in request.returns:
        made = read_lesson(back.content, source=back.source)
        if any((p.person, p.paper) == (person, made.paper) for p in people):
            raise DuplicateNameError(
                f"{back.source}: {person} on {made.paper} is there already.",
                hint="Name the second one differently, such as Ana (again).",
            )
        people.append(_returned(person, made, wanted))
    return tuple(people)


def _returned(person: str, made: Lesson, wanted: Lesson) -> PersonReturned:
    asked = {color.name: color for color in wanted.colors}
    names = {color.name for color in made.colors}
    colors = tuple(
        (replace(color, passage=own.passage), difference(own.lab, color.lab))
        for color in made.colors
        if (own := asked.get(color.name))
    )
    return PersonReturned(
        person,
        made.paper,
        colors,
        mean=float(np.mean([off.delta_e for _, off in colors] or [0.0])),
        value=float(np.mean([off.value for _, off in colors] or [0.0])),
        missing=tuple(name for name in asked if name not in names),
        unknown=tuple(color.name for color in made.colors if color.name not in asked),
    )


def gathered_csv(people: Sequence[PersonReturned]) -> bytes:
    """Write a class's returns as CSV, one line for each person and color."""
    columns = ["person", "paper", "passage", "color", "L", "a", "b", "delta_e", "off"]
    rows = (
        (
            *(one.person, one.paper, color.passage, color.name),
            *(f"{x:.1f}" for x in (*color.lab, off.delta_e)),
            off.words,
        )
        for one in people
        for color, off in one.colors
    )
    return write_csv(columns, rows).encode()
