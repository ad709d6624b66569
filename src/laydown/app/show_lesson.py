"""Show what a lesson file holds."""

from dataclasses import dataclass

from laydown.app.color_in_words import ColorInWords, in_words
from laydown.app.lesson_files import read_lesson
from laydown.match.outcome import Origin


@dataclass(frozen=True, slots=True)
class ShowLesson:
    """A lesson file's content and name."""

    file: bytes
    source: str


@dataclass(frozen=True, slots=True, eq=False)
class LessonRow:
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
    colors: tuple[LessonRow, ...]


def show_lesson(request: ShowLesson) -> LessonShown:
    """Read a lesson file and describe it; no library is needed."""
    lesson = read_lesson(request.file, source=request.source)
    rows = tuple(
        LessonRow(
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
