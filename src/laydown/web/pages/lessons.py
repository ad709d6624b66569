"""Lessons: those that are kept, and one of them by its passages."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Annotated

from fastapi import APIRouter, Form, Query, Response, UploadFile

from laydown import allowed_sizes
from laydown.app.convert_lesson import ConvertLesson
from laydown.app.fetch_lesson import LessonFetched, fetch_lesson
from laydown.app.jobs import Job, Jobs
from laydown.app.keep_lesson import KeepLesson, KeptLesson, keep_lesson
from laydown.app.lesson_files import read_lesson
from laydown.app.list_lessons import LessonList, list_lessons
from laydown.app.list_sheets import SheetListed, list_sheets
from laydown.app.match_color import Asking
from laydown.app.pack_lesson import PackLesson
from laydown.app.remove_lesson import remove_lesson
from laydown.app.show_lesson import LessonRow, LessonShown, ShowLesson, show_lesson
from laydown.color.arrays import FloatArray
from laydown.color.lab import lab_from_reflectance
from laydown.errors import BadFileError, TooLargeError
from laydown.web.choices import Choices, choices_of
from laydown.web.desk import AtJobs, AtLibrary
from laydown.web.downloads import file_of
from laydown.web.faces import changes, shows
from laydown.web.long_work import jobs_of
from laydown.web.uploads import SentFile, sent_files

router = APIRouter()
LARGEST = 2**31 - 1
LEAST_LINES, MOST_LINES = 8, 100
"""Of the table in which a list of colors is typed."""
TASKS = ("convert_lesson", "pack_lesson", "gather_lessons")
AT_ONCE = 60
"""Colors of a lesson that a page shows at once."""
First = Annotated[int, Query(ge=0, le=LARGEST)]
OfJob = Annotated[int, Query(ge=0, le=LARGEST)]
"""The number of a job; 0 for none."""
Number = Annotated[int, Query(ge=1, le=LARGEST)]
NumberSent = Annotated[int, Form(ge=1, le=LARGEST)]


@dataclass(frozen=True, slots=True)
class LessonsPage:
    """What the page of lessons shows besides.

    Parameters
    ----------
    choices
        Names to choose from.
    sheets
        Those that were read: their colors can become a lesson.
    lines
        How many lines the table for colors has.
    made
        What was made from lessons, the latest first.
    """

    choices: Choices
    sheets: tuple[SheetListed, ...]
    lines: int
    made: tuple[Job, ...]


def lessons_page(
    library: AtLibrary,
    jobs: AtJobs,
    lines: Annotated[int, Query(ge=1, le=MOST_LINES)] = LEAST_LINES,
) -> LessonsPage:
    """Return what the page of lessons shows besides."""
    read = tuple(sheet for sheet in list_sheets(library).sheets if sheet.taken)
    made = jobs_of(jobs, *TASKS)
    return LessonsPage(choices_of(library), read, lines, made)


@shows(router, "/lessons", "lessons.html.j2", beside=lessons_page)
def lessons(library: AtLibrary) -> LessonList:
    """List the lessons that are kept."""
    return list_lessons(library)


def lesson_address(number: int) -> str:
    """Return the page of a lesson."""
    return f"/lesson?number={number}"


def lesson_sent(uploads: Iterable[UploadFile | None]) -> tuple[SentFile, ...]:
    """Return files that were sent as lessons, or as lists of their colors.

    Raises
    ------
    TooLargeError
        For a file that is larger than any of these.
    """
    sent = sent_files(upload for upload in uploads if upload is not None)
    for one in sent:
        if len(one.content) > allowed_sizes.LESSON:
            raise TooLargeError(
                (
                    f"{one.name} has {f'{len(one.content):,}'} bytes; {f'{allowed_sizes.LESSON:,}'} "
                    "are taken."
                ),
                hint="A lesson is a text file, and so is a list of colors.",
            )
    return sent


@changes(
    router,
    "/lessons",
    leads_to=lambda kept: lesson_address(kept.number),
    says=lambda kept: f"“{kept.title}” is kept.",
)
def keep(
    library: AtLibrary,
    pasted: Annotated[str, Form(max_length=allowed_sizes.LESSON)] = "",
    file: UploadFile | None = None,
) -> KeptLesson:
    """Keep a lesson: its file, or its text."""
    sent = next(iter(lesson_sent([file])), None)
    if sent is None and pasted.strip():
        sent = SentFile(pasted.encode(), "what was pasted")
    if sent is None:
        raise BadFileError("No lesson was named.", hint="Choose its file, or paste its text.")
    return keep_lesson(library, KeepLesson(sent.content, sent.name))


@dataclass(frozen=True, slots=True)
class Passage:
    """A passage with its colors in the lesson's order."""

    name: str
    colors: tuple[LessonRow, ...]


@dataclass(frozen=True, slots=True, eq=False)
class LessonPage:
    """What the page of a lesson shows besides.

    Parameters
    ----------
    kept
        The lesson as it is listed.
    passages
        Its colors by passage: those that are shown.
    first, at_once
        How many colors come before them, and how many are shown at once.
    paper
        CIELAB of the paper that they were measured on; None where it wasn't measured.
    choices
        Names to choose from.
    others
        The other lessons that are kept, which may be students' returns.
    asked
        How it was to be converted, where that is to be mended.
    """

    kept: KeptLesson
    passages: tuple[Passage, ...]
    first: int
    at_once: int
    paper: FloatArray | None
    choices: Choices
    others: tuple[KeptLesson, ...]
    asked: ConvertLesson


def lesson(library: AtLibrary, number: Number) -> LessonShown:
    """Show a lesson by its passages."""
    return show_lesson(ShowLesson(*file_parts(fetch_lesson(library, number))))


def file_parts(found: LessonFetched) -> tuple[bytes, str]:
    """Return the content and the name of the file of a lesson that is kept."""
    return found.text.encode(), f"{found.lesson.title}.txt"


def lesson_page(
    library: AtLibrary, jobs: AtJobs, number: Number, first: First = 0, job: OfJob = 0
) -> LessonPage:
    """Return what the page of a lesson shows besides."""
    found = fetch_lesson(library, number)
    content, name = file_parts(found)
    white = read_lesson(content, source=name).paper_reflectance
    shown = show_lesson(ShowLesson(content, name)).colors[first : first + AT_ONCE]
    others = tuple(one for one in list_lessons(library).lessons if one.number != number)
    return LessonPage(
        found.lesson,
        tuple(_passages(shown)),
        first,
        AT_ONCE,
        None if white is None else lab_from_reflectance(white),
        choices_of(library),
        others,
        _asked(jobs, job),
    )


def _asked(jobs: Jobs, job: int) -> ConvertLesson:
    """Return how a job was to convert or pack a lesson; the usual way for none."""
    asked = jobs.request(job) if job else None
    if isinstance(asked, ConvertLesson):
        return asked
    return ConvertLesson(b"", "", asked.asking if isinstance(asked, PackLesson) else Asking())


def _passages(rows: Iterable[LessonRow]) -> Iterator[Passage]:
    """Put the colors of each passage together; a passage that comes twice is one."""
    by_name: dict[str, list[LessonRow]] = {}
    for row in rows:
        by_name.setdefault(row.passage, []).append(row)
    for name, colors in by_name.items():
        yield Passage(name, tuple(colors))


shows(router, "/lesson", "lesson.html.j2", beside=lesson_page)(lesson)


@router.get("/lesson/file", response_class=Response)
def lesson_file(library: AtLibrary, number: Number) -> Response:
    """Hand a lesson over as its file."""
    return file_of(*file_parts(fetch_lesson(library, number)))


@changes(
    router,
    "/lesson/remove",
    leads_to=lambda _: "/lessons",
    says=lambda gone: f"“{gone.title}” is gone; undo brings it back.",
)
def remove(library: AtLibrary, number: NumberSent) -> KeptLesson:
    """Remove a lesson; what was made from it stays."""
    return remove_lesson(library, number)
