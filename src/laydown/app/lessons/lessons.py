"""Lessons: made from colors of the library, kept, shown, fetched and removed."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import PurePath

from laydown import allowed_sizes
from laydown.app.fits.at_hand import paper_named
from laydown.app.lessons.files import Passage, colors_of_sheet, read_lesson
from laydown.app.matches.targets import settle_targets, wanted_in_file
from laydown.app.words import ColorInWords, in_words
from laydown.color.lab import xyz_from_lab
from laydown.color.screen import screen_color
from laydown.documents.files.lessons import write_lesson
from laydown.documents.files.targets import TargetRow, read_targets
from laydown.documents.files.text import text_of
from laydown.match.outcome import Origin, Target
from laydown.plan.lesson.lesson import Lesson, LessonColor
from laydown.store.lessons import KeptLesson
from laydown.store.library import Library

__all__ = ["LessonMade", "NewLesson", "TargetRow", "new_lesson"]


@dataclass(frozen=True, slots=True)
class NewLesson:
    """A list of colors, as for a chart, or a filled sheet; and what to say at the lesson's head.

    Parameters
    ----------
    file, source
        Content and name of the list: color, and name, passage, role, note; None for a sheet alone.
    title
        Of the lesson; empty for the file's name, or the sheet's title.
    paper
        The paper the colors are wanted as on; empty for the library's only one, or the sheet's.
    notes
        What holds for the whole lesson.
    sheet
        Number of a filled sheet that was read; None to take colors from the whole library.
    passages
        Which of its cells belong together, where no list says it.
    rows
        The list's lines, where they were typed instead of coming as a file.
    """

    file: bytes | None
    source: str
    title: str = ""
    paper: str = ""
    notes: tuple[str, ...] = ()
    sheet: int | None = None
    passages: tuple[Passage, ...] = ()
    rows: tuple[TargetRow, ...] = ()


@dataclass(frozen=True, slots=True, eq=False)
class LessonMade:
    """The lesson, and its text as the file is to hold it."""

    lesson: Lesson
    text: str


def new_lesson(library: Library, request: NewLesson) -> LessonMade:
    """Make a lesson: each color with its measured spectrum, or what is known of it.

    Colors swatched in the library come with their spectra; layers that were never swatched as
    their recipe predicts them, with that spread; screen colors stay estimates. Colors of a filled
    sheet come as they were read from it.
    """
    rows = request.rows
    if request.file is not None:
        rows = read_targets(request.file, source=request.source)
    title = request.title or PurePath(request.source).stem.replace("_", " ")
    with library.look() as work:
        sheet = None if request.sheet is None else work.sheets.get(request.sheet)
        paper = work.paper(sheet.paper if sheet else paper_named(work, request.paper))
        if sheet:
            title = title or sheet.title
            colors = colors_of_sheet(
                work, sheet, rows=rows, passages=request.passages, source=request.source
            )
    if not sheet:
        wanted = wanted_in_file(rows, source=request.source)
        colors = _colors(rows, settle_targets(library, wanted, paper=paper.name))
    white = paper.reflectance if paper.measured else None
    lesson = Lesson(title, paper.name, colors, white, request.notes)
    return LessonMade(lesson, write_lesson(lesson).decode())


def _colors(rows: Sequence[TargetRow], targets: Sequence[Target]) -> tuple[LessonColor, ...]:
    seen: Counter[str] = Counter()
    colors = []
    for row, target in zip(rows, targets, strict=True):
        seen[target.name] += 1
        count = seen[target.name]
        name = target.name if count == 1 else f"{target.name} ({count})"
        screen = target.origin is Origin.SCREEN
        spectrum = target.reflectance if target.origin is Origin.MEASURED else None
        colors.append(
            LessonColor(
                name=name,
                passage=row.passage,
                role=row.role.casefold(),
                note=row.note,
                made_with=row.color if target.origin in {Origin.MEASURED, Origin.SWATCHED} else "",
                spread=None if screen else float(target.covariance.trace() / 3.0) ** 0.5,
                reflectance=spectrum,
                xyz=None if screen or spectrum is not None else xyz_from_lab(target.lab),
                screen=screen_color(target.lab).hex if screen else "",
                known=Origin.MEASURED if screen else target.origin,
            )
        )
    return tuple(colors)


@dataclass(frozen=True, slots=True, eq=False)
class LessonColorShown:
    """A color of a lesson in words."""

    name: str
    passage: str
    role: str
    share: float | None
    note: str
    made_with: str
    origin: Origin
    color: ColorInWords


@dataclass(frozen=True, slots=True, eq=False)
class LessonShown:
    """A lesson in words."""

    title: str
    paper: str
    notes: tuple[str, ...]
    colors: tuple[LessonColorShown, ...]


def show_lesson(file: bytes, source: str) -> LessonShown:
    """Read a lesson file and describe it; no library is needed."""
    lesson = read_lesson(file, source=source)
    rows = tuple(
        LessonColorShown(
            c.name,
            c.passage,
            c.role,
            c.share,
            c.note,
            c.made_with,
            c.target.origin,
            in_words(c.lab),
        )
        for c in lesson.colors
    )
    return LessonShown(lesson.title, lesson.paper, lesson.notes, rows)


__all__ = ["KeptLesson"]


def keep_lesson(library: Library, file: bytes, source: str) -> KeptLesson:
    """Keep a lesson as its file has it; the same text is kept only once.

    Raises
    ------
    BadFileError
        For what is no lesson.
    """
    lesson = read_lesson(file, source=source)
    with library.work(f"keep the lesson {lesson.title}") as work:
        return work.lessons.keep(
            text_of(file, source, most=allowed_sizes.LESSON),
            title=lesson.title,
            paper=lesson.paper,
            colors=len(lesson.colors),
        )


@dataclass(frozen=True, slots=True)
class LessonFetched:
    """A lesson that is kept, and the text of its file."""

    lesson: KeptLesson
    text: str


def fetch_lesson(library: Library, number: int) -> LessonFetched:
    """Return a lesson by its number.

    Raises
    ------
    UnknownNameError
        For a number that none has.
    """
    with library.look() as work:
        return LessonFetched(work.lessons.get(number), work.lessons.text(number))


def find_lesson(library: Library, text: str) -> KeptLesson | None:
    """Return the lesson that is kept with exactly this text; None where none is."""
    with library.look() as work:
        return work.lessons.find(text)


def list_lessons(library: Library) -> tuple[KeptLesson, ...]:
    """List all lessons that are kept, the latest first."""
    with library.look() as work:
        return work.lessons.all()


def remove_lesson(library: Library, number: int) -> KeptLesson:
    """Remove a lesson and return what it was.

    Raises
    ------
    UnknownNameError
        For a number that none has.
    """
    with library.work(f"remove the lesson {number}") as work:
        return work.lessons.remove(number)
