"""What is made from a lesson: conversions, class packs, and what a class brought back.

Each is long work, with the lesson's file among what it was asked: what came of it can be looked at
again even when the lesson itself was removed.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import zip_longest
from typing import Annotated, Literal

from fastapi import APIRouter, File, Form, Query, Response, UploadFile
from pydantic import Field

from laydown.app.convert_lesson import ConvertLesson, LessonConverted
from laydown.app.fetch_lesson import fetch_lesson, find_lesson
from laydown.app.gather_lessons import (
    ColorReturned,
    GatherLessons,
    LessonsGathered,
    Return,
    gathered_csv,
)
from laydown.app.keep_lesson import KeptLesson
from laydown.app.lesson_files import read_lesson
from laydown.app.pack_lesson import LessonPacked, PackLesson, write_pack
from laydown.app.show_lesson import LessonRow, ShowLesson, show_lesson
from laydown.app.supplies import Supplies
from laydown.app.write_chart import WriteChart, write_chart
from laydown.errors import BadFileError, UnknownNameError
from laydown.web.asking import LONGEST, MOST_NAMES, AskingSent, Name, named
from laydown.web.desk import AtJobs, AtLibrary
from laydown.web.downloads import file_of
from laydown.web.faces import go_to, shows
from laydown.web.lesson_sides import TITLES, PassageRow, Way, chart_of, passages
from laydown.web.long_work import JobNumber, found_by, starts
from laydown.web.pages.lessons import (
    AT_ONCE,
    First,
    NumberSent,
    file_parts,
    lesson_address,
    lesson_sent,
)

router = APIRouter()
MENDED_AT = "/lesson/asked"
MOST_TURNS = 8
MOST_RETURNS = 100
Turn = Annotated[int, Query(ge=1, le=MOST_TURNS)]
Page = Literal["A4", "Letter"]
_Name = Annotated[str, Field(max_length=LONGEST)]
Names = Annotated[list[_Name], Form(max_length=MOST_NAMES)]


def _titled(file: bytes, source: str, supplies: Supplies) -> str:
    """Return what a job is called: the lesson, and what it is made from."""
    names = named(supplies)
    title = read_lesson(file, source=source).title
    return f"{title} from {names}"


@router.get(MENDED_AT, response_class=Response)
def mend(library: AtLibrary, jobs: AtJobs, job: JobNumber) -> Response:
    """Lead to the lesson that a job was asked about, with the form as it was filled in."""
    asked = jobs.request(job)
    if not isinstance(asked, ConvertLesson | PackLesson | GatherLessons):
        raise UnknownNameError(f"Job {job} was about no lesson.", hint="Look under Long work.")
    lesson = _still_kept(library, asked.file)
    if lesson is None:
        raise UnknownNameError(
            "The lesson is not kept here any more.",
            hint="Undo its removal, or bring it in again.",
        )
    place = {ConvertLesson: "convert", PackLesson: "pack"}.get(type(asked), "gather")
    return go_to(f"{lesson_address(lesson.number)}&job={job}#{place}")


@starts(
    router,
    "/lesson/convert",
    task="convert_lesson",
    shown_at="/lesson/conversion",
    mended_at=MENDED_AT,
    title=lambda asked: _titled(asked.file, asked.source, asked.asking.supplies),
)
def convert(
    library: AtLibrary,
    asking: AskingSent,
    number: NumberSent,
    turns: Annotated[int, Form(ge=0, le=MOST_TURNS)] = 3,
    shop: Names = [],  # noqa: B006  FastAPI copies it
) -> ConvertLesson:
    """Convert a lesson to a kit: color by color, as a whole, and transposed."""
    parts = file_parts(fetch_lesson(library, number))
    return ConvertLesson(*parts, asking, turns, tuple(name for name in shop if name))


def conversion(jobs: AtJobs, job: JobNumber) -> LessonConverted:
    """Show the answers to a lesson side by side."""
    return found_by(jobs, job, LessonConverted)


@dataclass(frozen=True, slots=True, eq=False)
class ConversionPage:
    """What the page of a conversion shows besides.

    Parameters
    ----------
    job
        That made it.
    lesson
        The lesson, where it is still kept.
    turn
        The transposed palette that stands beside the others.
    first, at_once
        How many colors come before those that are shown, and how many are shown at once.
    passages
        With the answers side by side.
    titles
        Of the answers.
    shopped
        Whether there was a range to buy of.
    """

    job: int
    lesson: KeptLesson | None
    turn: int
    first: int
    at_once: int
    passages: tuple[PassageRow, ...]
    titles: dict[Way, str]
    shopped: bool


def conversion_page(
    library: AtLibrary, jobs: AtJobs, job: JobNumber, turn: Turn = 1, first: First = 0
) -> ConversionPage:
    """Return what the page of a conversion shows besides."""
    made = found_by(jobs, job, LessonConverted)
    asked = jobs.request(job)
    assert isinstance(asked, ConvertLesson)
    return ConversionPage(
        job,
        _still_kept(library, asked.file),
        turn,
        first,
        AT_ONCE,
        passages(made, turn=turn, first=first, most=AT_ONCE),
        TITLES,
        bool(asked.shop),
    )


def _still_kept(library: AtLibrary, file: bytes) -> KeptLesson | None:
    return find_lesson(library, file.decode())


shows(router, "/lesson/conversion", "lesson_conversion.html.j2", beside=conversion_page)(conversion)


@router.get("/lesson/chart", response_class=Response)
def conversion_file(
    *,
    jobs: AtJobs,
    job: JobNumber,
    way: Way = Way.TOGETHER,
    turn: Turn = 1,
    form: Literal["pdf", "html", "csv", "json"] = "pdf",
    page: Page = "A4",
) -> Response:
    """Hand one of the answers over as a chart's file."""
    chart = chart_of(found_by(jobs, job, LessonConverted), way, turn)
    return file_of(write_chart(WriteChart(chart, form, page)), f"{chart.title}.{form}")


@starts(
    router,
    "/lesson/pack",
    task="pack_lesson",
    shown_at="/lesson/packed",
    mended_at=MENDED_AT,
    title=lambda asked: f"Class pack: {_titled(asked.file, asked.source, asked.asking.supplies)}",
)
def pack(library: AtLibrary, asking: AskingSent, number: NumberSent) -> PackLesson:
    """Make a class pack of a lesson, with a part for each range."""
    return PackLesson(*file_parts(fetch_lesson(library, number)), asking)


def packed(jobs: AtJobs, job: JobNumber) -> LessonPacked:
    """Show a class pack."""
    return found_by(jobs, job, LessonPacked)


@dataclass(frozen=True, slots=True)
class PackPage:
    """What the page of a pack shows besides; the fields are as those of a conversion's."""

    job: int
    lesson: KeptLesson | None
    first: int
    at_once: int


def pack_page(library: AtLibrary, jobs: AtJobs, job: JobNumber, first: First = 0) -> PackPage:
    """Return what the page of a pack shows besides."""
    parts = len(found_by(jobs, job, LessonPacked).parts)
    asked = jobs.request(job)
    assert isinstance(asked, PackLesson)
    return PackPage(job, _still_kept(library, asked.file), first, max(1, AT_ONCE // parts))


shows(router, "/lesson/packed", "lesson_packed.html.j2", beside=pack_page)(packed)


@router.get("/lesson/pack/file", response_class=Response)
def pack_file(
    jobs: AtJobs, job: JobNumber, form: Literal["pdf", "html"] = "pdf", page: Page = "A4"
) -> Response:
    """Hand a class pack over as PDF or as one HTML page."""
    made = found_by(jobs, job, LessonPacked)
    return file_of(write_pack(made, form, page), f"{made.title}, class pack.{form}")


@starts(
    router,
    "/lesson/gather",
    task="gather_lessons",
    shown_at="/lesson/returns",
    mended_at=MENDED_AT,
    title=lambda asked: f"What came back of {read_lesson(asked.file, source=asked.source).title}",
)
def gather(
    *,
    library: AtLibrary,
    number: NumberSent,
    files: Annotated[list[UploadFile], File(max_length=MOST_RETURNS)] = [],  # noqa: B006  FastAPI copies it
    kept: Annotated[list[NumberSent], Form(max_length=MOST_RETURNS)] = [],  # noqa: B006  FastAPI copies it
    person: Names = [],  # noqa: B006  FastAPI copies it
) -> GatherLessons:
    """Gather what students made of a lesson: their files, named after them, or kept lessons."""
    sent = [Return(one.name.rsplit(".", 1)[0], one.content, one.name) for one in lesson_sent(files)]
    returns = (*sent, *_kept_returns(library, kept, person))
    if not returns:
        raise BadFileError(
            "No return was named.",
            hint="Choose the students' files, or name who made a lesson.",
        )
    return GatherLessons(*file_parts(fetch_lesson(library, number)), returns)


def _kept_returns(library: AtLibrary, kept: list[int], people: list[str]) -> Iterator[Return]:
    """Return the lessons of those that have a person's name beside them."""
    for number, person in zip_longest(kept, people):
        if number and person and person.strip():
            yield Return(person.strip(), *file_parts(fetch_lesson(library, number)))


def returns(jobs: AtJobs, job: JobNumber) -> LessonsGathered:
    """Show what a class brought back."""
    return found_by(jobs, job, LessonsGathered)


@dataclass(frozen=True, slots=True, eq=False)
class ReturnsPage:
    """What the page of returns shows besides.

    Parameters
    ----------
    job
        That gathered them.
    lesson
        The lesson, where it is still kept.
    names
        Of the lesson's colors.
    color
        The one that is looked at, as it was wanted.
    made
        As each person made it.
    """

    job: int
    lesson: KeptLesson | None
    names: tuple[str, ...]
    color: LessonRow
    made: tuple[ColorReturned, ...]


def returns_page(library: AtLibrary, jobs: AtJobs, job: JobNumber, color: Name = "") -> ReturnsPage:
    """Return what the page of returns shows besides; without a name, of the first color."""
    gathered = found_by(jobs, job, LessonsGathered)
    asked = jobs.request(job)
    assert isinstance(asked, GatherLessons)
    rows = show_lesson(ShowLesson(asked.file, asked.source)).colors
    row = next((one for one in rows if one.name == color), rows[0])
    return ReturnsPage(
        job,
        _still_kept(library, asked.file),
        tuple(one.name for one in rows),
        row,
        tuple(one for one in gathered.colors if one.name == row.name),
    )


shows(router, "/lesson/returns", "lesson_returns.html.j2", beside=returns_page)(returns)


@router.get("/lesson/returns/file", response_class=Response)
def returns_file(jobs: AtJobs, job: JobNumber) -> Response:
    """Hand a class's returns over as CSV."""
    made = found_by(jobs, job, LessonsGathered)
    return file_of(gathered_csv(made), f"{made.title}, returns.csv")
