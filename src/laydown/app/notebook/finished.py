"""Finished works: kept with photograph, paper and recipes, listed, shown and removed."""

from laydown.app.notebook.trials import check_photograph, checked_day
from laydown.app.tasks import GivenFile
from laydown.documents.files.lessons import read_lesson
from laydown.errors import UnknownNameError
from laydown.media.legible import checked_name
from laydown.media.recipe import Colorant, Recipe, parse_recipe
from laydown.store.library import Library, Work
from laydown.store.trials import FinishedWork, written

__all__ = ["FinishedWork"]


def keep_finished(
    library: Library,
    title: str,
    *,
    paper: str = "",
    recipes: tuple[str, ...] = (),
    lesson: int = 0,
    done: str = "",
    remark: str = "",
    photograph: GivenFile | None = None,
) -> FinishedWork:
    """Keep a finished work; its photograph without what it tells of place, owner and time.

    `paper` is one that the library knows; empty where it isn't said. `recipes` and `lesson` are
    what was laid, each bottom first; and a kept lesson of which all was, 0 for none. `done` is the
    day. Raises `BadRecipeError`, `BadFileError` and `UnknownNameError` for a title, day or recipe
    that is none, no picture, and what the library doesn't know.
    """
    title, done = checked_name(title, "finished work"), checked_day(done)
    if photograph:
        check_photograph(photograph.content, photograph.source)
    with library.work(f"keep the finished work {title}") as work:
        typed = [parse_recipe(one, work.find_colorant) for one in recipes]
        laid = dict.fromkeys((*typed, *_of_lesson(work, lesson)))
        return work.finished.keep(
            FinishedWork(
                title=title,
                paper=work.paper_name(paper) if paper else "",
                recipes=tuple(recipe for recipe in laid if recipe.steps),
                done=done,
                remark=remark,
                photograph=(
                    work.notebook.keep_photograph(photograph.source, photograph.content)
                    if photograph
                    else ""
                ),
            )
        )


def _of_lesson(work: Work, number: int) -> tuple[Recipe, ...]:
    """Return the recipes of a lesson, where its teacher's sets aren't here as they are written."""
    if not number:
        return ()

    def find(label: str) -> Colorant:
        try:
            return work.find_colorant(label)
        except UnknownNameError:
            return written(label)

    lesson = read_lesson(work.lessons.text(number).encode(), source=work.lessons.get(number).title)
    return tuple(parse_recipe(color.made_with, find) for color in lesson.colors)


def list_finished(library: Library) -> tuple[FinishedWork, ...]:
    """List finished works, the latest first."""
    with library.look() as work:
        return work.finished.all()


def show_finished(library: Library, number: int) -> FinishedWork:
    """Show the finished work of that number."""
    with library.look() as work:
        return work.finished.get(number)


def remove_finished(
    library: Library, number: int, *, erase_photograph: bool = False
) -> FinishedWork:
    """Remove a finished work.

    Its photograph stays in the library's file, so that undo brings back all, unless it is to be
    erased for good; one that a trial or another work shows stays in any case.
    """
    with library.work(f"remove the finished work {number}") as work:
        gone = work.finished.remove(number)
        if erase_photograph:
            work.notebook.erase_unshown(gone.photograph)
    return gone
