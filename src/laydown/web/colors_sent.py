"""Colors that a form sends: typed, in a file, or of what was made of colors before."""

from dataclasses import dataclass, replace
from typing import Annotated

from fastapi import Depends, Form, UploadFile

from laydown import allowed_sizes
from laydown.app.jobs import Job, Jobs
from laydown.app.lessons.lessons import fetch_lesson
from laydown.app.library import Library
from laydown.app.light.checking import CheckLight
from laydown.app.light.life import ForecastLife
from laydown.app.matches.charts import MakeChart, spelled_out
from laydown.app.pictures.plans import kept_file, kept_plan, lesson_from_plan
from laydown.errors import TooLargeError
from laydown.web.asking import typed_of
from laydown.web.desk import AtDesk, Desk
from laydown.web.files import sent_files
from laydown.web.long_work import LARGEST, asked_by, jobs_of

MOST_TEXT = 200_000
"""Characters of a pasted list."""
MOST_BYTES = allowed_sizes.PLAN
"""Of a file: lists and lessons are far smaller."""
MOST_COLORS = 2000
"""Typed one a line."""
Made = Annotated[int, Form(ge=0, le=LARGEST)]
"""The number of a chart's job, of a lesson, of a picture's plan or of a question; 0 for none."""


@dataclass(frozen=True, slots=True)
class ColorsSent:
    """The colors as the tasks take them."""

    colors: tuple[str, ...] = ()
    """Typed, one each."""
    file: bytes | None = None
    source: str = ""
    """Content and name of a lesson, a picture's plan or a list of colors; None for none."""

    def __bool__(self) -> bool:
        return bool(self.colors) or self.file is not None


def charts_of(jobs: Jobs) -> tuple[Job, ...]:
    """Return the charts whose colors can be asked about again, the latest first."""
    return jobs_of(jobs, "make_chart")


def chart_asked(jobs: Jobs, number: int) -> MakeChart:
    """Return what a chart was made from.

    Raises
    ------
    UnknownNameError
        When the job of that number made none.
    """
    return asked_by(jobs, number, MakeChart)


def colors_sent(
    *,
    desk: AtDesk,
    pasted: Annotated[str, Form(max_length=MOST_TEXT)] = "",
    file: UploadFile | None = None,
    chart: Made = 0,
    lesson: Made = 0,
    plan: Made = 0,
    before: Made = 0,
) -> ColorsSent:
    """Read the colors of a form; of what holds a list only one counts, a file before all others.

    The file of an earlier question counts where no other is chosen.

    Raises
    ------
    TooLargeError
        For more than can be asked at once.
    """
    typed = tuple(typed_of(pasted))
    if len(typed) > MOST_COLORS:
        raise TooLargeError(
            f"There are {len(typed)} colors; {MOST_COLORS} are taken at once.", hint="Ask in parts."
        )
    made = _colors_of_chart(desk, chart) if chart else ColorsSent()
    if plan:
        made = replace(_colors_of_plan(desk.library, plan), colors=made.colors)
    if lesson:
        kept = fetch_lesson(desk.library, lesson)
        made = ColorsSent(made.colors, kept.text.encode(), kept.lesson.title)
    sent = next(iter(sent_files([file] if file else [])), None)
    if sent is None:
        made = _file_of(desk, before) if before else made
        return ColorsSent(typed + made.colors, made.file, made.source)
    if len(sent.content) > MOST_BYTES:
        raise TooLargeError(
            f"{sent.source} has {len(sent.content)} bytes; {MOST_BYTES} are taken.",
            hint="Lists and lessons are text, and far smaller.",
        )
    return ColorsSent(typed + made.colors, sent.content, sent.source)


def _colors_of_chart(desk: Desk, chart: int) -> ColorsSent:
    asked = spelled_out(desk.library, chart_asked(desk.jobs, chart))
    return ColorsSent(asked.colors, asked.file, asked.source)


def _file_of(desk: Desk, before: int) -> ColorsSent:
    """Return the file that an earlier question came with."""
    asked = desk.jobs.request(before)
    if not isinstance(asked, CheckLight | ForecastLife):
        return ColorsSent()
    return ColorsSent(file=asked.file, source=asked.source)


def _colors_of_plan(library: Library, number: int) -> ColorsSent:
    """Return a plan's colors as the lesson of it, which is small."""
    title, file = kept_plan(library, number).title, kept_file(library, number)
    lesson = lesson_from_plan(file, title, title=title)
    return ColorsSent(file=lesson.text.encode(), source=title)


ColorsOf = Annotated[ColorsSent, Depends(colors_sent)]
"""What a page's function names to be handed the colors of a form."""
