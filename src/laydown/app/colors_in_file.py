"""Wanted colors out of a file: a lesson, a picture's plan, or a list."""

from pathlib import PurePath

from laydown.app.plan_files import read_plan
from laydown.app.targets import FitAtHand, settle_targets, targets_of_lesson, wanted_in_file
from laydown.documents.lesson_text import FIRST_LINE, read_lesson
from laydown.documents.plan_file import is_plan
from laydown.documents.target_csv import read_targets
from laydown.match.outcome import Target
from laydown.plan.picture_lesson import lesson_of
from laydown.store.library import Library

LESSON = FIRST_LINE.rpartition(" ")[0].encode()
"""What a lesson file of any version begins with."""


def colors_in_file(
    library: Library, file: bytes, source: str, *, paper: str, fit: FitAtHand | None = None
) -> tuple[str, tuple[Target, ...]]:
    """Return what to call a file of wanted colors, and the colors.

    Parameters
    ----------
    library
        Knows the colorants that names in a list stand for.
    file, source
        Content and name of a lesson, a plan or a list.
    paper
        The paper that named colorants are wanted as on.
    fit
        As in `settle_targets`.

    Raises
    ------
    BadFileError
        For a file that is none of these, or broken.
    """
    if is_plan(file):
        lesson = lesson_of(read_plan(file, source=source))
        return lesson.title, lesson.targets
    if file.lstrip(b"\xef\xbb\xbf \t\r\n").startswith(LESSON):
        lesson = read_lesson(file, source=source)
        return lesson.title, lesson.targets if fit is None else targets_of_lesson(lesson, fit())
    rows = wanted_in_file(read_targets(file, source=source), source=source)
    title = PurePath(source).stem.replace("_", " ")
    return title[:1].upper() + title[1:], settle_targets(library, rows, paper=paper, fit=fit)
