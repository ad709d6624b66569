"""Remove a lesson that is kept; what was made from it stays."""

from laydown.store.lessons import KeptLesson
from laydown.store.library import Library


def remove_lesson(library: Library, number: int) -> KeptLesson:
    """Remove a lesson and return what it was.

    Raises
    ------
    UnknownNameError
        For a number that none has.
    """
    with library.work(f"remove the lesson {number}") as work:
        return work.lessons.remove(number)
