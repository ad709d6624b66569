"""``laydown lesson keep|list|fetch|remove``: lessons that stay in the library."""

from typing import TYPE_CHECKING

import click

from laydown import allowed_sizes
from laydown.cli.columns import columns, counted
from laydown.cli.console import read_bytes, say, show, suggest
from laydown.cli.lesson import lesson
from laydown.cli.library_in_use import library_in_use

__all__ = ["lesson"]

if TYPE_CHECKING:
    from laydown.app.list_lessons import LessonList


@lesson.verb("keep", tasks=["keep_lesson"], example="laydown lesson keep lemons.txt")
@click.argument("file")
def keep(file: str) -> None:
    """Keep the lesson FILE in the library, where the bench finds it, too.

    What is kept is the file's own text. The same text is kept only once.
    """
    from laydown.app.keep_lesson import KeepLesson, keep_lesson

    content = read_bytes(file, most=allowed_sizes.LESSON)
    with library_in_use() as library:
        kept = keep_lesson(library, KeepLesson(content, file))
    show(kept, lambda k: f"Lesson {k.number}: “{k.title}”, {counted(k.colors, 'color')}.")
    suggest("laydown lesson list")


@lesson.verb("list", tasks=["list_lessons"], example="laydown lesson list")
def list_() -> None:
    """List the lessons that are kept."""
    from laydown.app.list_lessons import list_lessons

    with library_in_use() as library:
        found = list_lessons(library)
    show(found, _listed)


def _listed(found: "LessonList") -> str:
    if not found.lessons:
        return "No lesson is kept yet."
    rows = [
        [one.number, one.title, one.paper, one.colors, f"{one.kept:%Y-%m-%d}"]
        for one in found.lessons
    ]
    return columns(["number", "title", "paper", "colors", "kept"], rows)


@lesson.verb("fetch", tasks=["fetch_lesson"], example="laydown lesson fetch 3 -o lemons.txt")
@click.argument("number", type=int)
def fetch(number: int) -> None:
    """Write out the lesson NUMBER that is kept, as its file was."""
    from laydown.app.fetch_lesson import fetch_lesson

    with library_in_use() as library:
        found = fetch_lesson(library, number)
    show(found, lambda f: f.text)


@lesson.verb("remove", tasks=["remove_lesson"], example="laydown lesson remove 3")
@click.argument("number", type=int)
def remove(number: int) -> None:
    """Remove the lesson NUMBER that is kept; undo brings it back."""
    from laydown.app.remove_lesson import remove_lesson

    with library_in_use() as library:
        gone = remove_lesson(library, number)
    show(gone, lambda g: f"“{g.title}” is gone.")
    say("Bring it back with: laydown library undo")
