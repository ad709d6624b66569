"""Lessons: made from colors of the library, kept, shown, fetched and removed."""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import PurePath

import numpy as np

from laydown import allowed_sizes
from laydown.app.fits import SuppliesAtHand, paper_named, ranges_named, set_up
from laydown.app.matches.colors import Asking, chart_of, find_matches, question_of, short_limits
from laydown.app.matches.targets import settle_targets, targets_of_lesson
from laydown.app.runs import shop_of
from laydown.app.sheets.reading import DRY
from laydown.app.tasks import GivenFile
from laydown.app.words import ColorInWords, in_words
from laydown.color.lab import lab_from_xyz, xyz_from_lab
from laydown.color.screen import screen_color
from laydown.documents.files.lessons import lesson_file, read_lesson, write_lesson
from laydown.documents.files.lists import TargetRow, read_targets
from laydown.documents.files.text import text_of
from laydown.errors import NotMeasuredError, UnknownNameError
from laydown.match.judge import candidate_of
from laydown.match.outcome import Match, Origin, Target
from laydown.match.question import Question
from laydown.match.ranking import Watch
from laydown.match.search.repertoire import repertoire
from laydown.media.recipe import Recipe, format_recipe, parse_recipe
from laydown.plan.chart import Chart
from laydown.plan.lesson.conversion import LessonConversion, Turned, convert, options, transposed
from laydown.plan.lesson.lesson import Lesson, LessonColor, roles_by_value, turned
from laydown.sheet.reading import CellReading
from laydown.sheet.sheet import Cell, Sheet
from laydown.store.kept_files import KeptLesson
from laydown.store.library import Library, Work

__all__ = ["KeptLesson", "TargetRow", "read_lesson", "write_lesson"]


def match_each(
    lesson: Lesson, bench: SuppliesAtHand, asking: Asking, watch: Watch | None = None
) -> tuple[Match, ...]:
    """Match each color of a lesson by itself, in the lesson's order."""
    targets = targets_of_lesson(lesson, bench.swatched)
    found = find_matches(targets, bench, asking, watch)
    said = [color.note for color in lesson.colors]
    return tuple(
        replace(match, notes=(f"Note: {note}", *match.notes)) if note else match
        for match, note in zip(found, said, strict=True)
    )


Passage = tuple[str, frozenset[int]]
"""The name of a passage, and the numbers of its cells."""


def _colors_of_sheet(
    work: Work,
    sheet: Sheet,
    *,
    rows: Sequence[TargetRow] = (),
    passages: Sequence[Passage] = (),
    source: str = "",
) -> tuple[LessonColor, ...]:
    """Return the colors that were read of a sheet's cells and taken over.

    They are those of the rows' recipes, or else all, in the passages that the cells belong to; the
    source is where the rows come from, for messages.
    """
    read = _taken_over(work, sheet)
    if not read:
        raise NotMeasuredError(
            f"No colored cell of sheet {sheet.number} has been read and taken over.",
            hint="Color it in, let it dry, and have it read.",
            command="laydown sheet read PHOTO",
        )
    if rows:
        return _by_rows(work, sheet, rows, read, source)
    colors = [_color(recipe, cells, read) for recipe, cells in _recipes(sheet, read).items()]
    return _in_passages(sheet, colors, read, passages)


def _taken_over(work: Work, sheet: Sheet) -> dict[int, CellReading]:
    """Return the last dry reading that was taken over of each colored cell."""
    colored = {cell.number for cell in sheet.cells if not cell.bare}
    read = work.sheets.readings(sheet.number, stage=DRY, accepted=True)
    return {reading.number: reading for reading in read if reading.number in colored}


def _recipes(sheet: Sheet, read: Mapping[int, CellReading]) -> dict[Recipe, list[Cell]]:
    found: dict[Recipe, list[Cell]] = {}
    for cell in sheet.cells:
        if cell.number in read:
            found.setdefault(cell.recipe, []).append(cell)
    return found


def _color(recipe: Recipe, cells: Sequence[Cell], read: Mapping[int, CellReading]) -> LessonColor:
    """Return the mean of a recipe's cells."""
    readings = [read[cell.number] for cell in cells]
    variance = float(np.mean([reading.spread**2 for reading in readings])) / len(readings)
    return LessonColor(
        name=format_recipe(recipe),
        made_with=format_recipe(recipe, with_range=True),
        spread=variance**0.5,
        xyz=np.mean([reading.xyz for reading in readings], axis=0),
    )


def _by_rows(
    work: Work,
    sheet: Sheet,
    rows: Sequence[TargetRow],
    read: Mapping[int, CellReading],
    source: str,
) -> tuple[LessonColor, ...]:
    recipes = _recipes(sheet, read)
    colors = []
    for row in rows:
        recipe = parse_recipe(row.color, work.find_colorant)
        if recipe not in recipes:
            known = " | ".join(format_recipe(one) for one in recipes)
            raise NotMeasuredError(
                f"{source}, line {row.line}: no cell with {row.color} was taken over from sheet"
                f" {sheet.number}.",
                hint=f"There are {known}.",
            )
        color = _color(recipe, recipes[recipe], read)
        colors.append(
            replace(
                color,
                name=row.name or color.name,
                passage=row.passage,
                role=row.role.casefold(),
                note=row.note,
            )
        )
    return tuple(_told_apart(colors))


def _in_passages(
    sheet: Sheet,
    colors: Sequence[LessonColor],
    read: Mapping[int, CellReading],
    passages: Sequence[Passage],
) -> tuple[LessonColor, ...]:
    """Put the colors of each passage together, from light to dark; the others stay last."""
    recipe_of = {cell.number: format_recipe(cell.recipe) for cell in sheet.cells}
    placed: dict[str, LessonColor] = {color.name: color for color in colors}
    found: list[LessonColor] = []
    for name, cells in passages:
        missing = sorted(cells - read.keys())
        if missing:
            raise UnknownNameError(
                f"Passage {name}: of sheet {sheet.number}, cell {missing[0]} is bare, not there, or"
                " was not taken over.",
                hint=f"Cells are {', '.join(map(str, sorted(read)))}.",
            )
        wanted = dict.fromkeys(recipe_of[number] for number in sorted(cells))
        inside = [placed.pop(recipe) for recipe in wanted if recipe in placed]
        roles = roles_by_value([float(lab_from_xyz(c.xyz)[0]) for c in inside if c.xyz is not None])
        told = [replace(c, passage=name, role=r) for c, r in zip(inside, roles, strict=True)]
        found += sorted(told, key=lambda color: -float(color.lab[0]))
    return tuple(_told_apart([*found, *placed.values()]))


def _told_apart(colors: Iterable[LessonColor]) -> list[LessonColor]:
    """Give the second and later colors of a name a number."""
    seen: Counter[str] = Counter()
    told = []
    for color in colors:
        seen[color.name] += 1
        count = seen[color.name]
        told.append(color if count == 1 else replace(color, name=f"{color.name} ({count})"))
    return told


def new_lesson(
    library: Library,
    file: bytes | None,
    source: str,
    *,
    title: str = "",
    paper: str = "",
    notes: tuple[str, ...] = (),
    sheet: int | None = None,
    passages: Sequence[Passage] = (),
    rows: Sequence[TargetRow] = (),
) -> Lesson:
    """Make a lesson: each color with its measured spectrum, or what is known of it.

    Colors swatched in the library come with their spectra; layers that were never swatched as
    their recipe predicts them, with that spread; screen colors stay estimates. Colors of a filled
    sheet come as they were read from it.

    `file`, `source`: content and name of a list: color, and name, passage, role, note; None for a
    sheet alone, or for lines that were typed. `title`, `notes`: for the lesson's head; no title for
    the file's name, or the sheet's title. `paper`: that the colors are wanted as on; empty for the
    library's only one, or the sheet's. `sheet`, `passages`: number of a filled sheet that was read,
    None to take colors from the whole library; and which of its cells belong together, where no
    list says it. `rows`: the list's lines, where they were typed.
    """
    if file is not None:
        rows = read_targets(file, source=source)
    title = title or PurePath(source).stem.replace("_", " ")
    with library.look() as work:
        filled = None if sheet is None else work.sheets.get(sheet)
        on = work.paper(filled.paper if filled else paper_named(work, paper))
        if filled:
            title = title or filled.title
            colors = _colors_of_sheet(work, filled, rows=rows, passages=passages, source=source)
    if not filled:
        colors = _colors(rows, settle_targets(library, rows, paper=on.name, source=source))
    return Lesson(title, on.name, colors, on.reflectance if on.measured else None, notes)


def _colors(rows: Sequence[TargetRow], targets: Sequence[Target]) -> tuple[LessonColor, ...]:
    colors = []
    for row, target in zip(rows, targets, strict=True):
        screen = target.origin is Origin.SCREEN
        spectrum = target.reflectance if target.origin is Origin.MEASURED else None
        colors.append(
            LessonColor(
                name=target.name,
                passage=row.passage,
                role=row.role.casefold(),
                note=row.note,
                made_with=row.color if target.origin in {Origin.MEASURED, Origin.SWATCHED} else "",
                spread=None if screen else float(target.covariance.trace() / 3.0) ** 0.5,
                reflectance=spectrum,
                xyz=None if screen or spectrum is not None else xyz_from_lab(target.lab),
                screen=screen_color(target.lab) if screen else "",
                known=Origin.MEASURED if screen else target.origin,
            )
        )
    return tuple(_told_apart(colors))


LessonShown = tuple[Lesson, tuple[str, ...], tuple[ColorInWords, ...]]
"""A lesson, which of its roles its colors contradict, and what each color looks like."""


def show_lesson(file: bytes, source: str) -> LessonShown:
    """Read a lesson file and describe it; no library is needed."""
    lesson = read_lesson(file, source=source)
    return lesson, lesson.troubles, tuple(in_words(color.lab) for color in lesson.colors)


def keep_lesson(library: Library, file: bytes, source: str) -> KeptLesson:
    """Keep a lesson as its file has it; the same text is kept only once.

    Raises `BadFileError` for what is no lesson.
    """
    lesson = read_lesson(file, source=source)
    with library.work(f"keep the lesson {lesson.title}") as work:
        return work.lessons.keep(
            text_of(lesson_file(file, source=source), source, most=allowed_sizes.LESSON),
            title=lesson.title,
            paper=lesson.paper,
            colors=len(lesson.colors),
        )


def get_lesson(library: Library, number: int) -> KeptLesson:
    """Return what is known of the lesson that is kept under a number."""
    with library.look() as work:
        return work.lessons.get(number)


def fetch_lesson(library: Library, number: int) -> GivenFile:
    """Return the file of a lesson by its number."""
    with library.look() as work:
        name = f"{work.lessons.get(number).title}.lesson.txt"
        return GivenFile(work.lessons.text(number).encode(), name)


def find_lesson(library: Library, text: str) -> KeptLesson | None:
    """Return the lesson that is kept with exactly this text; None where none is."""
    with library.look() as work:
        return work.lessons.find(text)


def list_lessons(library: Library) -> tuple[KeptLesson, ...]:
    """List all lessons that are kept, the latest first."""
    with library.look() as work:
        return work.lessons.all()


def remove_lesson(library: Library, number: int) -> KeptLesson:
    """Remove a lesson and return what it was."""
    with library.work(f"remove the lesson {number}") as work:
        return work.lessons.remove(number)


@dataclass(frozen=True, slots=True)
class LessonAsked:
    """A lesson, and what is to come of it: converted, packed, gathered, a page that answers."""

    file: bytes = b""
    source: str = ""
    """Content and name of the lesson file."""
    asking: Asking = field(default_factory=Asking)
    """What it is made from: of a pack and a page, each range is a part of its own."""
    turns: int = 3
    """How many transposed palettes a conversion offers."""
    shop: tuple[str, ...] = ()
    """Ranges from which a purchase may be named that would mend a passage of it."""
    address: str = ""
    """Where the page will stand on the web, for a square code to print; empty for none."""
    ticked: tuple[str, ...] = ()
    """Kits, each with a code of its own that opens the page with what it holds ticked."""
    range: str = ""
    """In place of a file, a range of which a page is made."""
    returns: tuple[tuple[str, GivenFile], ...] = ()
    """Who colored a sheet of it, and the lesson file made from what they colored."""


@dataclass(frozen=True, slots=True, eq=False)
class LessonConverted:
    """The answer."""

    title: str
    kit: str
    paper: str
    names: tuple[str, ...]
    """Of the lesson's colors, in its order."""
    conversion: LessonConversion
    """As a whole: recipes, cost and bound, what departs from color by color and why."""
    singly: Chart
    together: Chart
    turned: tuple[Turned, ...]
    """Transposed palettes, the nearest first, each with its chart in `turned_charts`."""
    turned_charts: tuple[Chart, ...]
    """In the same order."""
    notes: tuple[str, ...]
    """On roles that the lesson's colors contradict, and on supplies."""

    def chart(self, way: str, turn: int) -> Chart:
        """Return an answer: ``singly``, ``together``, or of those ``turned`` one, counted from 1.

        Raises `UnknownNameError` for a turn that there is not.
        """
        if way != "turned":
            return self.singly if way == "singly" else self.together
        if turn > len(self.turned_charts):
            raise UnknownNameError(
                f"There is no transposed palette {turn} here.",
                hint=f"There are {len(self.turned_charts)}.",
            )
        return self.turned_charts[turn - 1]


def convert_lesson(
    library: Library, request: LessonAsked, *, watch: Watch | None = None
) -> LessonConverted:
    """Convert a lesson."""
    lesson = read_lesson(request.file, source=request.source)
    asking = request.asking
    for_sale = ranges_named(library, request.shop)
    bench = set_up(library, asking.supplies)
    singly = match_each(lesson, bench, asking, watch)
    limits, ranking = short_limits(bench, asking), asking.ranking
    recipes = repertoire(bench.whole, limits=limits, ranking=ranking, over=bench.over)
    own = [m.best.prediction.recipe.above(bench.over) for m in singly]
    questions = [_question(match.target, bench, asking) for match in singly]
    found = options(questions, recipes, lesson.weights, more=[[recipe] for recipe in own])
    start = [found.first_of_more(color) for color in range(len(own))]
    made = convert(lesson, found, start, shop_of(library, for_sale, bench))
    turns = transposed(lesson, questions, recipes, count=request.turns) if request.turns else ()
    whole = _rejudged(singly, made, bench, asking)
    return LessonConverted(
        title=lesson.title,
        kit=bench.label,
        paper=bench.whole.paper.name,
        names=tuple(color.name for color in lesson.colors),
        conversion=made,
        singly=chart_of(lesson.title, singly, bench, asking, notes=lesson.notes),
        together=chart_of(lesson.title, whole, bench, asking, notes=lesson.notes),
        turned=turns,
        turned_charts=tuple(_turned_chart(lesson, t, singly, bench, asking) for t in turns),
        notes=lesson.troubles + bench.notes,
    )


def _rejudged(
    matches: Sequence[Match], made: LessonConversion, bench: SuppliesAtHand, asking: Asking
) -> tuple[Match, ...]:
    """Put the recipes of the whole into the matches, with the reason where they differ."""
    reasons = {
        d.name: f"For the sake of the whole, not “{format_recipe(d.instead_of)}”: {d.reason}"
        for d in made.departures
    }
    found = []
    for match, recipe in zip(matches, made.recipes, strict=True):
        if recipe == match.best.prediction.recipe.above(bench.over):
            found.append(match)
            continue
        best = candidate_of(_question(match.target, bench, asking), recipe)
        said = reasons.get(match.target.name)
        notes = (said, *match.notes) if said else match.notes
        others = (match.best, *match.alternatives)[: max(asking.top, 1)]
        found.append(replace(match, best=best, alternatives=others, notes=notes))
    return tuple(found)


def _question(target: Target, bench: SuppliesAtHand, asking: Asking) -> Question:
    return replace(question_of(target, bench, asking), limits=short_limits(bench, asking))


def _turned_chart(
    lesson: Lesson, turn: Turned, singly: Sequence[Match], bench: SuppliesAtHand, asking: Asking
) -> Chart:
    wanted = [
        replace(m, target=turned(m.target, turn.turn), notes=(), alternatives=()) for m in singly
    ]
    plain = [
        replace(m, best=candidate_of(_question(m.target, bench, asking), recipe), next_swatch="")
        for m, recipe in zip(wanted, turn.recipes, strict=True)
    ]
    alone = tuple(replace(m, single=m.best) for m in plain)
    title = f"{lesson.title}, {turn.turn.words}"
    return chart_of(title, alone, bench, asking, notes=lesson.notes)
