"""Lessons: kept, made, and what is made from them."""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from itertools import zip_longest
from typing import Annotated, Literal

import numpy as np
from fastapi import APIRouter, Depends, File, Form, Query, Response, UploadFile
from pydantic import BaseModel, Field

from laydown import allowed_sizes
from laydown.app.fits.at_hand import Supplies
from laydown.app.given_file import GivenFile
from laydown.app.jobs import Job, Jobs
from laydown.app.lessons.lessons import (
    ConvertLesson,
    KeptLesson,
    LessonColorShown,
    LessonConverted,
    LessonFetched,
    LessonMade,
    LessonShown,
    NewLesson,
    TargetRow,
    fetch_lesson,
    find_lesson,
    keep_lesson,
    list_lessons,
    new_lesson,
    read_lesson,
    remove_lesson,
    show_lesson,
)
from laydown.app.lessons.packs import (
    GatherLessons,
    LessonPacked,
    LessonsGathered,
    PackLesson,
    gathered_csv,
    write_pack,
)
from laydown.app.lessons.pages import MakeLessonPage
from laydown.app.library import Library
from laydown.app.matches.charts import write_chart
from laydown.app.matches.colors import Asking
from laydown.app.sheets.printing import SheetShown, list_sheets, show_sheet
from laydown.app.words import ColorInWords, in_words
from laydown.color.lab import lab_from_reflectance
from laydown.demo.files import CLASS_PAPER, LESSON, LESSON_FILE, read_bytes
from laydown.errors import BadFileError, TooLargeError, UnknownNameError
from laydown.match.outcome import Match
from laydown.media.recipe import format_recipe
from laydown.plan.chart import Chart
from laydown.plan.lesson.conversion import Departure, crossed
from laydown.web.asking import (
    LONGEST,
    LONGEST_RECIPE,
    MOST_NAMES,
    AskingSent,
    Name,
    choices_of,
    lines_of,
    named,
)
from laydown.web.desk import AtJobs, AtLibrary
from laydown.web.faces import Beside, changes, enter, go_to, json_of, shows
from laydown.web.files import file_of, sent_files
from laydown.web.long_work import JobNumber, found_by, jobs_of, result_address, starts


class AnswerWay(StrEnum):
    """The three answers, in the words of the command line."""

    SINGLY = "singly"
    TOGETHER = "together"
    TURNED = "turned"


TITLES = {
    AnswerWay.SINGLY: "Color by color",
    AnswerWay.TOGETHER: "As a whole",
    AnswerWay.TURNED: "Transposed",
}


@dataclass(frozen=True, slots=True, eq=False)
class AnswerSide:
    """One answer for one color."""

    way: AnswerWay
    """Which answer."""
    match: Match
    """The recipe, against what this way wants."""
    wanted: ColorInWords
    got: ColorInWords
    """In words and numbers."""
    departure: Departure | None
    """Why it is not the nearest recipe; None where it is, or where the palette is turned."""


@dataclass(frozen=True, slots=True, eq=False)
class ColorRow:
    """A color of the lesson with its answers side by side."""

    name: str
    role: str
    wanted: ColorInWords
    sides: tuple[AnswerSide, ...]


@dataclass(frozen=True, slots=True, eq=False)
class Ramp:
    """The values of a passage, in the order in which the lesson wants them from light to dark."""

    way: AnswerWay | None
    """Which answer; None for what is wanted."""
    colors: tuple[ColorInWords, ...]
    """In that order."""
    broken: tuple[tuple[str, str], ...]
    """Pairs of names that come out in the wrong order, the one wanted lighter first."""


@dataclass(frozen=True, slots=True, eq=False)
class PassageRow:
    """A passage: its values in every answer, and its colors."""

    name: str
    ramps: tuple[Ramp, ...]
    colors: tuple[ColorRow, ...]


def chart_of(made: LessonConverted, way: AnswerWay, turn: int) -> Chart:
    """Return one of the answers as a chart.

    Parameters
    ----------
    made
        All of them.
    way
        Which one.
    turn
        Which transposed palette, from 1.

    Raises
    ------
    UnknownNameError
        For a turn that there is not.
    """
    if way is AnswerWay.SINGLY:
        return made.singly
    if way is AnswerWay.TOGETHER:
        return made.together
    if turn > len(made.turned_charts):
        raise UnknownNameError(
            f"There is no transposed palette {turn} here.",
            hint=f"There are {len(made.turned_charts)}.",
        )
    return made.turned_charts[turn - 1]


def ways_of(made: LessonConverted) -> tuple[AnswerWay, ...]:
    """Return the answers there are; a lesson may have been converted without turns."""
    return tuple(AnswerWay) if made.turned_charts else (AnswerWay.SINGLY, AnswerWay.TOGETHER)


def passages(made: LessonConverted, *, turn: int, first: int, most: int) -> tuple[PassageRow, ...]:
    """Return a lesson passage by passage, with its answers side by side.

    Parameters
    ----------
    made
        The answers.
    turn
        Which transposed palette stands beside the others, from 1.
    first, most
        How many colors are passed over, and how many are returned.
    """
    by_way = {way: _by_name(chart_of(made, way, turn)) for way in ways_of(made)}
    departures = {departure.name: departure for departure in made.conversion.departures}
    rows: dict[str, list[ColorRow]] = {}
    for match in made.singly.matches[first : first + most]:
        target = match.target
        wanted = in_words(target.lab)
        sides = _sides(target.name, wanted, by_way, departures)
        row = ColorRow(target.name, target.role, wanted, sides)
        rows.setdefault(target.passage, []).append(row)
    return tuple(
        PassageRow(name, tuple(_ramps(made, colors)), tuple(colors))
        for name, colors in rows.items()
    )


def _by_name(chart: Chart) -> dict[str, Match]:
    return {match.target.name: match for match in chart.matches}


def _sides(
    name: str,
    wanted: ColorInWords,
    by_way: dict[AnswerWay, dict[str, Match]],
    departures: dict[str, Departure],
) -> tuple[AnswerSide, ...]:
    found: list[AnswerSide] = []
    for way, matches in by_way.items():
        match = matches[name]
        departed = departures.get(name) if way is AnswerWay.TOGETHER else None
        if way is AnswerWay.TOGETHER and departed is None:
            found.append(replace(found[0], way=way))
            continue
        turned = in_words(match.target.lab) if way is AnswerWay.TURNED else wanted
        got = in_words(match.best.prediction.lab)
        found.append(AnswerSide(way, match, turned, got, departed))
    return tuple(found)


def _ramps(made: LessonConverted, colors: Sequence[ColorRow]) -> Iterator[Ramp]:
    """Return the values wanted, and those of each answer, with the pairs out of order."""
    yield Ramp(None, tuple(color.wanted for color in colors), ())
    for place, way in enumerate(side.way for side in colors[0].sides):
        got = tuple(color.sides[place].got for color in colors)
        yield Ramp(way, got, _broken(made, way, colors, got))


def _broken(
    made: LessonConverted, way: AnswerWay, colors: Sequence[ColorRow], got: Sequence[ColorInWords]
) -> tuple[tuple[str, str], ...]:
    names = [color.name for color in colors]
    if way is AnswerWay.TURNED:  # values are as wanted, whatever the hue
        wanted = np.array([color.wanted.value for color in colors])
        values = np.array([color.value for color in got])
        return tuple((names[i], names[j]) for i, j in crossed(wanted, values))
    pairs = made.conversion.broken if way is AnswerWay.TOGETHER else made.conversion.broken_singly
    return tuple(pair for pair in pairs if set(pair) <= set(names))


router = APIRouter()
LARGEST = 2**31 - 1
LEAST_LINES, MOST_LINES = 8, 100
"""Of the table in which a list of colors is typed."""
TASKS = ("convert_lesson", "pack_lesson", "make_lesson_page", "gather_lessons")
AT_ONCE = 60
"""Colors of a lesson that a page shows at once."""
First = Annotated[int, Query(ge=0, le=LARGEST)]
OfJob = Annotated[int, Query(ge=0, le=LARGEST)]
"""The number of a job; 0 for none."""
Number = Annotated[int, Query(ge=1, le=LARGEST)]
NumberSent = Annotated[int, Form(ge=1, le=LARGEST)]


def lessons_page(
    library: AtLibrary,
    jobs: AtJobs,
    lines: Annotated[int, Query(ge=1, le=MOST_LINES)] = LEAST_LINES,
) -> Beside:
    """Return what the page of lessons shows besides."""
    read = tuple(sheet for sheet in list_sheets(library) if sheet.taken)
    made = jobs_of(jobs, *TASKS)
    return {
        "choices": choices_of(library),
        "sheets": read,
        "lines": lines,
        "made": made,
        "shown_at": result_address,
    }


@shows(router, "/lessons", "lessons.html.j2", beside=lessons_page, under="lessons")
def lessons(library: AtLibrary) -> tuple[KeptLesson, ...]:
    """List the lessons that are kept."""
    return list_lessons(library)


def lesson_address(number: int) -> str:
    """Return the page of a lesson."""
    return f"/lesson?number={number}"


def lesson_sent(uploads: Iterable[UploadFile | None]) -> tuple[GivenFile, ...]:
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
                f"{one.source} has {len(one.content):,} bytes; {allowed_sizes.LESSON:,} are taken.",
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
        sent = GivenFile(pasted.encode(), "what was pasted")
    if sent is None:
        raise BadFileError("No lesson was named.", hint="Choose its file, or paste its text.")
    return keep_lesson(library, sent.content, sent.source)


def lesson(library: AtLibrary, number: Number) -> LessonShown:
    """Show a lesson by its passages."""
    return show_lesson(*file_parts(fetch_lesson(library, number)))


def file_parts(found: LessonFetched) -> tuple[bytes, str]:
    """Return the content and the name of the file of a lesson that is kept."""
    return found.text.encode(), f"{found.lesson.title}.lesson.txt"


def lesson_page(
    library: AtLibrary, jobs: AtJobs, number: Number, first: First = 0, job: OfJob = 0
) -> Beside:
    """Return what the page of a lesson shows besides."""
    found = fetch_lesson(library, number)
    content, name = file_parts(found)
    white = read_lesson(content, source=name).paper_reflectance
    shown = show_lesson(content, name).colors[first : first + AT_ONCE]
    others = tuple(one for one in list_lessons(library) if one.number != number)
    return {
        "kept": found.lesson,
        "passages": _passages(shown),
        "first": first,
        "at_once": AT_ONCE,
        "paper": None if white is None else lab_from_reflectance(white),
        "choices": choices_of(library),
        "others": others,
        "asked": _asked(jobs, job),
        "made": _made_of(jobs, content),
        "shown_at": result_address,
    }


MOST_LOOKED_AT = 30
"""The latest jobs about lessons among which a lesson's page looks for its own."""


def _made_of(jobs: Jobs, content: bytes) -> tuple[Job, ...]:
    """Return the jobs that made something of a lesson, the latest first."""
    latest = jobs_of(jobs, *TASKS)[:MOST_LOOKED_AT]
    return tuple(job for job in latest if _is_about(jobs.request(job.id), content))


def _is_about(asked: object, content: bytes) -> bool:
    kinds = ConvertLesson | PackLesson | MakeLessonPage | GatherLessons
    return isinstance(asked, kinds) and asked.file == content


def _asked(jobs: Jobs, job: int) -> ConvertLesson:
    """Return how a job was to convert or pack a lesson; the usual way for none."""
    asked = jobs.request(job) if job else None
    if isinstance(asked, ConvertLesson):
        return asked
    return ConvertLesson(b"", "", _how(asked))


def _how(asked: object) -> Asking:
    return asked.asking if isinstance(asked, PackLesson | MakeLessonPage) else Asking()


def _passages(rows: Iterable[LessonColorShown]) -> dict[str, list[LessonColorShown]]:
    """Put the colors of each passage together; a passage that comes twice is one."""
    by_name: dict[str, list[LessonColorShown]] = {}
    for row in rows:
        by_name.setdefault(row.passage, []).append(row)
    return by_name


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


MOST_CELLS = 2000
MOST_TEXT = 20_000
Role = Literal["", "highlight", "light", "midtone", "shadow", "accent"]
_Line = Annotated[str, Field(max_length=LONGEST)]
_Color = Annotated[str, Field(max_length=LONGEST_RECIPE)]
_Lines = Annotated[list[_Line], Field(max_length=MOST_LINES)]
_Cells = Annotated[list[_Line], Field(max_length=MOST_CELLS)]


class HeadFields(BaseModel):
    """The fields that say what stands at a lesson's head."""

    title: _Line = ""
    notes: Annotated[str, Field(max_length=MOST_TEXT)] = ""


class ListFields(HeadFields):
    """The fields of a list of colors, one of each a line; or its file."""

    paper: _Line = ""
    passage: _Lines = []
    role: Annotated[list[Role], Field(max_length=MOST_LINES)] = []
    color: Annotated[list[_Color], Field(max_length=MOST_LINES)] = []
    name: _Lines = []
    note: _Lines = []

    def rows(self) -> tuple[TargetRow, ...]:
        """Return the lines that name a color; one without a passage goes on with the last."""
        fields = (self.color, self.name, self.passage, self.role, self.note)
        found, passage = [], ""
        for line, (color, name, begun, role, note) in enumerate(zip_longest(*fields), start=1):
            passage = begun.strip() if begun and begun.strip() else passage
            if color and color.strip():
                found.append(
                    TargetRow(line, color.strip(), name or "", passage, role or "", note or "")
                )
        return tuple(found)


class SheetFields(HeadFields):
    """The fields of a filled sheet: each cell with its passage, and what its color is called."""

    sheet: Annotated[int, Field(ge=1, le=LARGEST)]
    cell: Annotated[list[Annotated[int, Field(ge=1, le=MOST_CELLS)]], Field(max_length=MOST_CELLS)]
    passage: _Cells = []
    name: _Cells = []


def from_list(fields: Annotated[ListFields, Form()], file: UploadFile | None = None) -> NewLesson:
    """Read a list of colors: typed, or a CSV file.

    Raises
    ------
    BadFileError
        Where no color is named.
    """
    sent, rows, notes = lesson_sent([file]), fields.rows(), tuple(lines_of(fields.notes))
    if sent:
        return NewLesson(sent[0].content, sent[0].source, fields.title, fields.paper, notes)
    if not rows:
        raise BadFileError(
            "No color was named.", hint="Fill in one line at least, or choose a list's file."
        )
    title = fields.title or "A lesson"
    return NewLesson(None, "the list", title, fields.paper, notes, rows=rows)


def from_sheet(library: AtLibrary, fields: Annotated[SheetFields, Form()]) -> NewLesson:
    """Read which cells of a filled sheet belong together, and what their colors are called."""
    cells = tuple(
        CellSaid(cell, (passage or "").strip(), (name or "").strip())
        for cell, passage, name in zip_longest(fields.cell, fields.passage, fields.name)
        if cell
    )
    asked = NewLesson(
        None, "", fields.title, notes=tuple(lines_of(fields.notes)), sheet=fields.sheet
    )
    if any(cell.name for cell in cells):
        rows = tuple(_named(library, fields.sheet, cells))
        return replace(asked, source="the sheet", rows=rows)
    together: dict[str, set[int]] = {}
    for cell in cells:
        if cell.passage:
            together.setdefault(cell.passage, set()).add(cell.number)
    passages = tuple((name, frozenset(numbers)) for name, numbers in together.items())
    return replace(asked, passages=passages)


def from_demo() -> NewLesson:
    """Take the list of the demo's lesson, which is invented."""
    note = "Invented: it belongs to the demo."
    return NewLesson(read_bytes(LESSON_FILE), LESSON_FILE, LESSON, CLASS_PAPER, (note,))


@dataclass(frozen=True, slots=True)
class CellSaid:
    """A cell, the passage it was put into, and what its color is called; empty for none."""

    number: int
    passage: str
    name: str


def _named(library: Library, sheet: int, cells: Iterable[CellSaid]) -> Iterator[TargetRow]:
    """Return what was said of each recipe of a sheet, once where several cells have it."""
    recipes = {cell.number: cell.recipe for cell in show_sheet(library, sheet).cells}
    seen = set()
    for cell in cells:
        recipe = recipes.get(cell.number)
        if recipe is not None and recipe not in seen and (cell.passage or cell.name):
            seen.add(recipe)
            wanted = format_recipe(recipe, with_range=True)
            yield TargetRow(cell.number, wanted, cell.name, cell.passage)


def _enter(path: str, reads: Callable[..., NewLesson]) -> None:
    """Give a form that makes a lesson its page and its JSON; both keep the lesson."""

    def made(library: AtLibrary, asked: Annotated[NewLesson, Depends(reads)]) -> LessonMade:
        return new_lesson(library, asked)

    def page(library: AtLibrary, lesson: Annotated[LessonMade, Depends(made)]) -> Response:
        kept = keep_lesson(library, lesson.text.encode(), lesson.lesson.title)
        return go_to(lesson_address(kept.number), f"“{kept.title}” is made and kept.")

    def data(library: AtLibrary, lesson: Annotated[LessonMade, Depends(made)]) -> Response:
        keep_lesson(library, lesson.text.encode(), lesson.lesson.title)
        return json_of(lesson)

    enter(router, "POST", path, reads, page=page, data=data)


_enter("/lesson/from-list", from_list)
_enter("/lesson/from-sheet", from_sheet)
_enter("/lesson/from-demo", from_demo)


@shows(router, "/lesson/of-sheet", "lesson_of_sheet.html.j2")
def sheet_colors(library: AtLibrary, sheet: Annotated[int, Query(ge=1, le=LARGEST)]) -> SheetShown:
    """Show the colors of a filled sheet, to be put into passages."""
    return show_sheet(library, sheet)


# What is made from a lesson: conversions, class packs, and what a class brought back.
#
# Each is long work, with the lesson's file among what it was asked: what came of it can be looked
# at again even when the lesson itself was removed.

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
            "The lesson is not kept here any more.", hint="Undo its removal, or bring it in again."
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


def conversion_page(
    library: AtLibrary, jobs: AtJobs, job: JobNumber, turn: Turn = 1, first: First = 0
) -> Beside:
    """Return what the page of a conversion shows besides."""
    made = found_by(jobs, job, LessonConverted)
    asked = jobs.request(job)
    assert isinstance(asked, ConvertLesson)
    return {
        "job": job,
        "lesson": _still_kept(library, asked.file),
        "turn": turn,
        "first": first,
        "at_once": AT_ONCE,
        "passages": passages(made, turn=turn, first=first, most=AT_ONCE),
        "titles": TITLES,
        "shopped": bool(asked.shop),
    }


def _still_kept(library: AtLibrary, file: bytes) -> KeptLesson | None:
    return find_lesson(library, file.decode())


shows(router, "/lesson/conversion", "lesson_conversion.html.j2", beside=conversion_page)(conversion)


@router.get("/lesson/chart", response_class=Response)
def conversion_file(
    *,
    jobs: AtJobs,
    job: JobNumber,
    way: AnswerWay = AnswerWay.TOGETHER,
    turn: Turn = 1,
    form: Literal["pdf", "html", "csv", "json"] = "pdf",
    page: Page = "A4",
    details: bool = False,
) -> Response:
    """Hand one of the answers over as a chart's file."""
    chart = chart_of(found_by(jobs, job, LessonConverted), way, turn)
    return file_of(write_chart(chart, form, page, details=details), f"{chart.title}.{form}")


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


def pack_page(library: AtLibrary, jobs: AtJobs, job: JobNumber, first: First = 0) -> Beside:
    """Return what the page of a pack shows besides."""
    parts = len(found_by(jobs, job, LessonPacked).parts)
    asked = jobs.request(job)
    assert isinstance(asked, PackLesson)
    return {
        "job": job,
        "lesson": _still_kept(library, asked.file),
        "first": first,
        "at_once": max(1, AT_ONCE // parts),
    }


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
    sent = [(one.source.rsplit(".", 1)[0], one) for one in lesson_sent(files)]
    returns = (*sent, *_kept_returns(library, kept, person))
    if not returns:
        raise BadFileError(
            "No return was named.", hint="Choose the students' files, or name who made a lesson."
        )
    return GatherLessons(*file_parts(fetch_lesson(library, number)), returns)


def _kept_returns(
    library: AtLibrary, kept: list[int], people: list[str]
) -> Iterator[tuple[str, GivenFile]]:
    """Return the lessons of those that have a person's name beside them."""
    for number, person in zip_longest(kept, people):
        if number and person and person.strip():
            yield person.strip(), GivenFile(*file_parts(fetch_lesson(library, number)))


def returns(jobs: AtJobs, job: JobNumber) -> LessonsGathered:
    """Show what a class brought back."""
    return found_by(jobs, job, LessonsGathered)


def returns_page(library: AtLibrary, jobs: AtJobs, job: JobNumber, color: Name = "") -> Beside:
    """Return what the page of returns shows besides; without a name, of the first color."""
    gathered = found_by(jobs, job, LessonsGathered)
    asked = jobs.request(job)
    assert isinstance(asked, GatherLessons)
    rows = show_lesson(asked.file, asked.source).colors
    row = next((one for one in rows if one.name == color), rows[0])
    return {
        "job": job,
        "lesson": _still_kept(library, asked.file),
        "names": tuple(one.name for one in rows),
        "color": row,
        "made": tuple(one for one in gathered.colors if one.name == row.name),
    }


shows(router, "/lesson/returns", "lesson_returns.html.j2", beside=returns_page)(returns)


@router.get("/lesson/returns/file", response_class=Response)
def returns_file(jobs: AtJobs, job: JobNumber) -> Response:
    """Hand a class's returns over as CSV."""
    made = found_by(jobs, job, LessonsGathered)
    return file_of(gathered_csv(made), f"{made.title}, returns.csv")
