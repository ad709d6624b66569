"""Keep a lesson in the library, so that it is at hand without its file."""

from dataclasses import dataclass

from laydown import allowed_sizes
from laydown.app.lesson_files import read_lesson
from laydown.documents.text_files import text_of
from laydown.store.lessons import KeptLesson
from laydown.store.library import Library

__all__ = ["KeepLesson", "KeptLesson", "keep_lesson"]


@dataclass(frozen=True, slots=True)
class KeepLesson:
    """A lesson file's content and name."""

    file: bytes
    source: str


def keep_lesson(library: Library, request: KeepLesson) -> KeptLesson:
    """Keep a lesson as its file has it; the same text is kept only once.

    Raises
    ------
    BadFileError
        For what is no lesson.
    """
    lesson = read_lesson(request.file, source=request.source)
    with library.work(f"keep the lesson {lesson.title}") as work:
        return work.lessons.keep(
            text_of(request.file, request.source, most=allowed_sizes.LESSON),
            title=lesson.title,
            paper=lesson.paper,
            colors=len(lesson.colors),
        )
