"""Fetch a lesson that is kept, as the text of its file."""

from dataclasses import dataclass

from laydown.store.lessons import KeptLesson
from laydown.store.library import Library


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
