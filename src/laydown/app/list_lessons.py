"""List the lessons that are kept."""

from dataclasses import dataclass

from laydown.store.lessons import KeptLesson
from laydown.store.library import Library


@dataclass(frozen=True, slots=True)
class LessonList:
    """All lessons that are kept, the latest first."""

    lessons: tuple[KeptLesson, ...]


def list_lessons(library: Library) -> LessonList:
    """List all lessons that are kept."""
    with library.look() as work:
        return LessonList(work.lessons.all())
