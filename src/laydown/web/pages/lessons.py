"""Lessons: kept, made, and what is made from them."""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from itertools import zip_longest
from typing import Annotated, Literal

import numpy as np
from fastapi import APIRouter, Depends, File, Form, Query, Response, UploadFile
from pydantic import BaseModel, Field

from laydown import allowed_sizes
from laydown.app.fits import Supplies
from laydown.app.jobs import Job, Jobs
from laydown.app.lessons import lessons as lesson_tasks
from laydown.app.lessons import packs as pack_tasks
from laydown.app.lessons.lessons import ConvertLesson, LessonConverted
from laydown.app.lessons.pages import MakeLessonPage, MakeRangePage, PageMade
from laydown.app.library import Library
from laydown.app.matches.charts import write_chart
from laydown.app.matches.colors import Asking
from laydown.app.sheets.printing import SheetShown, list_sheets, show_sheet
from laydown.app.supplies.papers import usual_papers
from laydown.app.tasks import GivenFile
from laydown.app.words import ColorInWords, in_words
from laydown.color.lab import lab_from_reflectance
from laydown.demo.files import CLASS_PAPER, FAMILIES, LESSON, LESSON_FILE, Family, read_bytes
from laydown.errors import BadFileError, TooLargeError, UnknownNameError
from laydown.match.outcome import Match
from laydown.media.recipe import format_recipe
from laydown.plan.chart import Chart
from laydown.plan.lesson.conversion import Departure, crossed
from laydown.web.asking import (
    LARGEST,
    LONGEST,
    LONGEST_RECIPE,
    MOST_NAMES,
    AskingSent,
    Count,
    FullLine,
    Label,
    Name,
    Number,
    NumberSent,
    choices_of,
    lines_of,
    named,
)
from laydown.web.desk import AtJobs, AtLibrary
from laydown.web.faces import Beside, changes, enter, go_to, json_of, shows
from laydown.web.files import file_of, sent_files
from laydown.web.long_work import finds, found_by, jobs_of, result_address, starts


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


Ramp = tuple[AnswerWay | None, tuple[ColorInWords, ...], tuple[tuple[str, str], ...]]
"""The values of a passage, from light to dark as the lesson wants them: in which answer, None for
what is wanted; the colors; and the pairs of names that come out in the wrong order, the one wanted
lighter first."""
ColorRow = tuple[ColorInWords, tuple[AnswerSide, ...]]
"""A color of the lesson with its answers side by side."""
PassageRow = tuple[str, tuple[Ramp, ...], tuple[ColorRow, ...]]
"""A passage: its values in every answer, and its colors."""


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
        rows.setdefault(target.passage, []).append((wanted, sides))
    return tuple(
        (name, tuple(_ramps(made, colors)), tuple(colors)) for name, colors in rows.items()
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
    yield None, tuple(wanted for wanted, _ in colors), ()
    for place, way in enumerate(side.way for side in colors[0][1]):
        got = tuple(sides[place].got for _, sides in colors)
        yield way, got, _broken(made, way, colors, got)


def _broken(
    made: LessonConverted, way: AnswerWay, colors: Sequence[ColorRow], got: Sequence[ColorInWords]
) -> tuple[tuple[str, str], ...]:
    names = [sides[0].match.target.name for _, sides in colors]
    if way is AnswerWay.TURNED:  # values are as wanted, whatever the hue
        wanted = np.array([wanted.value for wanted, _ in colors])
        values = np.array([color.value for color in got])
        return tuple((names[i], names[j]) for i, j in crossed(wanted, values))
    pairs = made.conversion.broken if way is AnswerWay.TOGETHER else made.conversion.broken_singly
    return tuple(pair for pair in pairs if set(pair) <= set(names))


router = APIRouter()
LEAST_LINES, MOST_LINES = 8, 100
"""Of the table in which a list of colors is typed."""
TASKS = ("convert_lesson", "pack_lesson", "make_lesson_page", "gather_lessons")
AT_ONCE = 60
"""Colors of a lesson that a page shows at once."""


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
        "families": FAMILIES,
        "sheets": read,
        "lines": lines,
        "made": made,
        "shown_at": result_address,
    }


@shows(router, "/lessons", "lessons.html.j2", beside=lessons_page, under="lessons")
def lessons(library: AtLibrary) -> tuple[lesson_tasks.KeptLesson, ...]:
    """List the lessons that are kept."""
    return lesson_tasks.list_lessons(library)


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
) -> lesson_tasks.KeptLesson:
    """Keep a lesson: its file, or its text."""
    sent = next(iter(lesson_sent([file])), None)
    if sent is None and pasted.strip():
        sent = GivenFile(pasted.encode(), "what was pasted")
    if sent is None:
        raise BadFileError("No lesson was named.", hint="Choose its file, or paste its text.")
    return lesson_tasks.keep_lesson(library, sent.content, sent.source)


def lesson(library: AtLibrary, number: Number) -> lesson_tasks.LessonShown:
    """Show a lesson by its passages."""
    return lesson_tasks.show_lesson(*file_parts(lesson_tasks.fetch_lesson(library, number)))


def file_parts(found: lesson_tasks.LessonFetched) -> tuple[bytes, str]:
    """Return the content and the name of the file of a lesson that is kept."""
    return found.text.encode(), f"{found.lesson.title}.lesson.txt"


def lesson_page(
    library: AtLibrary, jobs: AtJobs, number: Number, first: Count = 0, job: Count = 0
) -> Beside:
    """Return what the page of a lesson shows besides."""
    found = lesson_tasks.fetch_lesson(library, number)
    content, name = file_parts(found)
    white = lesson_tasks.read_lesson(content, source=name).paper_reflectance
    shown = lesson_tasks.show_lesson(content, name).colors[first : first + AT_ONCE]
    others = tuple(one for one in lesson_tasks.list_lessons(library) if one.number != number)
    made = _made_of(jobs, content)
    return {
        "kept": found.lesson,
        "passages": _passages(shown),
        "first": first,
        "at_once": AT_ONCE,
        "paper": None if white is None else lab_from_reflectance(white),
        "choices": choices_of(library),
        "others": others,
        "asked": _asked(jobs, job),
        "made": made,
        "chart": next((job.id for job in made if _is_converted(job)), 0),
        "opened": PLACES.get(type(jobs.request(job)), "") if job else "",
        "shown_at": result_address,
    }


def _is_converted(job: Job) -> bool:
    return job.task == "convert_lesson" and job.state == "done"


MOST_LOOKED_AT = 30
"""The latest jobs about lessons among which a lesson's page looks for its own."""


def _made_of(jobs: Jobs, content: bytes) -> tuple[Job, ...]:
    """Return the jobs that made something of a lesson, the latest first."""
    latest = jobs_of(jobs, *TASKS)[:MOST_LOOKED_AT]
    return tuple(job for job in latest if _is_about(jobs.request(job.id), content))


def _is_about(asked: object, content: bytes) -> bool:
    kinds = ConvertLesson | pack_tasks.PackLesson | MakeLessonPage | pack_tasks.GatherLessons
    return isinstance(asked, kinds) and asked.file == content


def _asked(jobs: Jobs, job: int) -> ConvertLesson:
    """Return how a job was to convert or pack a lesson; the usual way for none."""
    asked = jobs.request(job) if job else None
    if isinstance(asked, ConvertLesson):
        return asked
    return ConvertLesson(b"", "", _how(asked))


def _how(asked: object) -> Asking:
    return asked.asking if isinstance(asked, pack_tasks.PackLesson | MakeLessonPage) else Asking()


def _passages(
    rows: Iterable[lesson_tasks.LessonColorShown],
) -> dict[str, list[lesson_tasks.LessonColorShown]]:
    """Put the colors of each passage together; a passage that comes twice is one."""
    by_name: dict[str, list[lesson_tasks.LessonColorShown]] = {}
    for row in rows:
        by_name.setdefault(row.passage, []).append(row)
    return by_name


shows(router, "/lesson", "lesson.html.j2", beside=lesson_page)(lesson)


@router.get("/lesson/file", response_class=Response)
def lesson_file(library: AtLibrary, number: Number) -> Response:
    """Hand a lesson over as its file."""
    return file_of(*file_parts(lesson_tasks.fetch_lesson(library, number)))


@changes(
    router,
    "/lesson/remove",
    leads_to=lambda _: "/lessons",
    says=lambda gone: f"“{gone.title}” is gone; undo brings it back.",
)
def remove(library: AtLibrary, number: NumberSent) -> lesson_tasks.KeptLesson:
    """Remove a lesson; what was made from it stays."""
    return lesson_tasks.remove_lesson(library, number)


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

    def rows(self) -> tuple[lesson_tasks.TargetRow, ...]:
        """Return the lines that name a color; one without a passage goes on with the last."""
        fields = (self.color, self.name, self.passage, self.role, self.note)
        found, passage = [], ""
        for line, (color, name, begun, role, note) in enumerate(zip_longest(*fields), start=1):
            passage = begun.strip() if begun and begun.strip() else passage
            if color and color.strip():
                found.append(
                    lesson_tasks.TargetRow(
                        line, color.strip(), name or "", passage, role or "", note or ""
                    )
                )
        return tuple(found)


class SheetFields(HeadFields):
    """The fields of a filled sheet: each cell with its passage, and what its color is called."""

    sheet: Annotated[int, Field(ge=1, le=LARGEST)]
    cell: Annotated[list[Annotated[int, Field(ge=1, le=MOST_CELLS)]], Field(max_length=MOST_CELLS)]
    passage: _Cells = []
    name: _Cells = []


def from_list(
    fields: Annotated[ListFields, Form()], file: UploadFile | None = None
) -> lesson_tasks.NewLesson:
    """Read a list of colors: typed, or a CSV file.

    Raises
    ------
    BadFileError
        Where no color is named.
    """
    sent, rows, notes = lesson_sent([file]), fields.rows(), tuple(lines_of(fields.notes))
    if sent:
        return lesson_tasks.NewLesson(
            sent[0].content, sent[0].source, fields.title, fields.paper, notes
        )
    if not rows:
        raise BadFileError(
            "No color was named.", hint="Fill in one line at least, or choose a list's file."
        )
    title = fields.title or "A lesson"
    return lesson_tasks.NewLesson(None, "the list", title, fields.paper, notes, rows=rows)


def from_sheet(
    library: AtLibrary, fields: Annotated[SheetFields, Form()]
) -> lesson_tasks.NewLesson:
    """Read which cells of a filled sheet belong together, and what their colors are called."""
    cells = tuple(
        (cell, (passage or "").strip(), (name or "").strip())
        for cell, passage, name in zip_longest(fields.cell, fields.passage, fields.name)
        if cell
    )
    asked = lesson_tasks.NewLesson(
        None, "", fields.title, notes=tuple(lines_of(fields.notes)), sheet=fields.sheet
    )
    if any(name for _, _, name in cells):
        rows = tuple(_named(library, fields.sheet, cells))
        return replace(asked, source="the sheet", rows=rows)
    together: dict[str, set[int]] = {}
    for number, passage, _ in cells:
        if passage:
            together.setdefault(passage, set()).add(number)
    passages = tuple((name, frozenset(numbers)) for name, numbers in together.items())
    return replace(asked, passages=passages)


def from_demo() -> lesson_tasks.NewLesson:
    """Take the list of the demo's lesson, which is invented."""
    note = "Invented: it belongs to the demo."
    return lesson_tasks.NewLesson(
        read_bytes(LESSON_FILE), LESSON_FILE, LESSON, CLASS_PAPER, (note,)
    )


CellSaid = tuple[int, str, str]
"""A cell, the passage it was put into, and what its color is called; empty for none."""


def _named(
    library: Library, sheet: int, cells: Iterable[CellSaid]
) -> Iterator[lesson_tasks.TargetRow]:
    """Return what was said of each recipe of a sheet, once where several cells have it."""
    recipes = {cell.number: cell.recipe for cell in show_sheet(library, sheet).cells}
    seen = set()
    for number, passage, name in cells:
        recipe = recipes.get(number)
        if recipe is not None and recipe not in seen and (passage or name):
            seen.add(recipe)
            wanted = format_recipe(recipe, with_range=True)
            yield lesson_tasks.TargetRow(number, wanted, name, passage)


def _enter(path: str, reads: Callable[..., lesson_tasks.NewLesson]) -> None:
    """Give a form that makes a lesson its page and its JSON; both keep the lesson."""

    def made(
        library: AtLibrary, asked: Annotated[lesson_tasks.NewLesson, Depends(reads)]
    ) -> lesson_tasks.LessonMade:
        return lesson_tasks.new_lesson(library, asked)

    def page(
        library: AtLibrary, lesson: Annotated[lesson_tasks.LessonMade, Depends(made)]
    ) -> Response:
        kept = lesson_tasks.keep_lesson(library, lesson.text.encode(), lesson.lesson.title)
        return go_to(lesson_address(kept.number), f"“{kept.title}” is made and kept.")

    def data(
        library: AtLibrary, lesson: Annotated[lesson_tasks.LessonMade, Depends(made)]
    ) -> Response:
        lesson_tasks.keep_lesson(library, lesson.text.encode(), lesson.lesson.title)
        return json_of(lesson)

    enter(router, "POST", path, reads, page=page, data=data)


_enter("/lesson/from-list", from_list)
_enter("/lesson/from-sheet", from_sheet)
_enter("/lesson/from-demo", from_demo)


def from_family(library: AtLibrary, family: Annotated[Family, Form()]) -> lesson_tasks.NewLesson:
    """Take the list of a ready family of colors, whose targets are invented."""
    name = f"family_{family}.csv"
    paper, note = (
        usual_papers(library).own,
        "Invented: colors to practice with, measured from nothing.",
    )
    title = f"{family.capitalize()} (invented)"
    return lesson_tasks.NewLesson(read_bytes(name), name, title, paper, (note,))


_enter("/lesson/from-family", from_family)


@shows(router, "/lesson/of-sheet", "lesson_of_sheet.html.j2")
def sheet_colors(library: AtLibrary, sheet: Number) -> SheetShown:
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
    title = lesson_tasks.read_lesson(file, source=source).title
    return f"{title} from {names}"


PLACES: Mapping[type, str] = {
    ConvertLesson: "convert",
    pack_tasks.PackLesson: "pack",
    pack_tasks.GatherLessons: "gather",
    MakeLessonPage: "page",
}
"""Where on the page of a lesson each is asked."""


@router.get(MENDED_AT, response_class=Response)
def mend(library: AtLibrary, jobs: AtJobs, job: Number) -> Response:
    """Lead to the lesson or set that a job was asked about, with the form as it was filled in."""
    asked = jobs.request(job)
    if isinstance(asked, MakeRangePage):
        return go_to("/ranges#page")
    if not isinstance(
        asked, ConvertLesson | pack_tasks.PackLesson | pack_tasks.GatherLessons | MakeLessonPage
    ):
        raise UnknownNameError(f"Job {job} was about no lesson.", hint="Look under Long work.")
    lesson = _still_kept(library, asked.file)
    if lesson is None:
        raise UnknownNameError(
            "The lesson is not kept here any more.", hint="Undo its removal, or bring it in again."
        )
    return go_to(f"{lesson_address(lesson.number)}&job={job}#{PLACES[type(asked)]}")


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
    parts = file_parts(lesson_tasks.fetch_lesson(library, number))
    return ConvertLesson(*parts, asking, turns, tuple(name for name in shop if name))


conversion = finds(LessonConverted)


def conversion_page(
    library: AtLibrary, jobs: AtJobs, job: Number, turn: Turn = 1, first: Count = 0
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


def _still_kept(library: AtLibrary, file: bytes) -> lesson_tasks.KeptLesson | None:
    return lesson_tasks.find_lesson(library, file.decode())


shows(router, "/lesson/conversion", "lesson_conversion.html.j2", beside=conversion_page)(conversion)


@router.get("/lesson/chart", response_class=Response)
def conversion_file(
    *,
    jobs: AtJobs,
    job: Number,
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
def pack(library: AtLibrary, asking: AskingSent, number: NumberSent) -> pack_tasks.PackLesson:
    """Make a class pack of a lesson, with a part for each range."""
    return pack_tasks.PackLesson(*file_parts(lesson_tasks.fetch_lesson(library, number)), asking)


packed = finds(pack_tasks.LessonPacked)


def pack_page(library: AtLibrary, jobs: AtJobs, job: Number, first: Count = 0) -> Beside:
    """Return what the page of a pack shows besides."""
    parts = len(found_by(jobs, job, pack_tasks.LessonPacked).parts)
    asked = jobs.request(job)
    assert isinstance(asked, pack_tasks.PackLesson)
    return {
        "job": job,
        "lesson": _still_kept(library, asked.file),
        "first": first,
        "at_once": max(1, AT_ONCE // parts),
    }


shows(router, "/lesson/packed", "lesson_packed.html.j2", beside=pack_page)(packed)


@router.get("/lesson/pack/file", response_class=Response)
def pack_file(
    jobs: AtJobs, job: Number, form: Literal["pdf", "html"] = "pdf", page: Page = "A4"
) -> Response:
    """Hand a class pack over as PDF or as one HTML page."""
    made = found_by(jobs, job, pack_tasks.LessonPacked)
    return file_of(pack_tasks.write_pack(made, form, page), f"{made.title}, class pack.{form}")


@starts(
    router,
    "/lesson/gather",
    task="gather_lessons",
    shown_at="/lesson/returns",
    mended_at=MENDED_AT,
    title=lambda asked: (
        f"What came back of {lesson_tasks.read_lesson(asked.file, source=asked.source).title}"
    ),
)
def gather(
    *,
    library: AtLibrary,
    number: NumberSent,
    files: Annotated[list[UploadFile], File(max_length=MOST_RETURNS)] = [],  # noqa: B006  FastAPI copies it
    kept: Annotated[list[NumberSent], Form(max_length=MOST_RETURNS)] = [],  # noqa: B006  FastAPI copies it
    person: Names = [],  # noqa: B006  FastAPI copies it
) -> pack_tasks.GatherLessons:
    """Gather what students made of a lesson: their files, named after them, or kept lessons."""
    sent = [(one.source.rsplit(".", 1)[0], one) for one in lesson_sent(files)]
    returns = (*sent, *_kept_returns(library, kept, person))
    if not returns:
        raise BadFileError(
            "No return was named.", hint="Choose the students' files, or name who made a lesson."
        )
    return pack_tasks.GatherLessons(
        *file_parts(lesson_tasks.fetch_lesson(library, number)), returns
    )


def _kept_returns(
    library: AtLibrary, kept: list[int], people: list[str]
) -> Iterator[tuple[str, GivenFile]]:
    """Return the lessons of those that have a person's name beside them."""
    for number, person in zip_longest(kept, people):
        if number and person and person.strip():
            yield person.strip(), GivenFile(*file_parts(lesson_tasks.fetch_lesson(library, number)))


returns = finds(pack_tasks.LessonsGathered)


def returns_page(library: AtLibrary, jobs: AtJobs, job: Number, color: Name = "") -> Beside:
    """Return what the page of returns shows besides; without a name, of the first color."""
    gathered = found_by(jobs, job, pack_tasks.LessonsGathered)
    asked = jobs.request(job)
    assert isinstance(asked, pack_tasks.GatherLessons)
    rows = lesson_tasks.show_lesson(asked.file, asked.source).colors
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
def returns_file(jobs: AtJobs, job: Number) -> Response:
    """Hand a class's returns over as CSV."""
    made = found_by(jobs, job, pack_tasks.LessonsGathered)
    return file_of(pack_tasks.gathered_csv(made), f"{made.title}, returns.csv")


AddressSent = Annotated[str, Form(max_length=2 * LONGEST)]
KitsSent = Annotated[tuple[Label, ...], Form(max_length=MOST_NAMES)]
SHOWN_AT = "/page/made"


def _page_titled(asked: MakeLessonPage | MakeRangePage) -> str:
    made_of = named(asked.asking.supplies)
    if isinstance(asked, MakeRangePage):
        return f"Page: {asked.range} from {made_of}"
    return f"Page: {lesson_tasks.read_lesson(asked.file, source=asked.source).title} from {made_of}"


@starts(
    router,
    "/lesson/page",
    task="make_lesson_page",
    shown_at=SHOWN_AT,
    mended_at=MENDED_AT,
    title=_page_titled,
)
def page_of_lesson(
    library: AtLibrary,
    asking: AskingSent,
    number: NumberSent,
    address: AddressSent = "",
    ticked: KitsSent = (),
) -> MakeLessonPage:
    """Make the page of a lesson that answers for whatever a student owns."""
    return MakeLessonPage(
        *file_parts(lesson_tasks.fetch_lesson(library, number)),
        asking,
        address,
        tuple(filter(None, ticked)),
    )


@starts(
    router,
    "/range/page",
    task="make_range_page",
    shown_at=SHOWN_AT,
    mended_at=MENDED_AT,
    title=_page_titled,
)
def page_of_range(
    asking: AskingSent,
    name: FullLine,
    address: AddressSent = "",
    ticked: KitsSent = (),
) -> MakeRangePage:
    """Make the page that converts a range for whatever someone owns of others."""
    return MakeRangePage(name, asking, address, tuple(filter(None, ticked)))


page_made = finds(PageMade)


def made_by(job: Number) -> Beside:
    """Return what the page of a page shows besides."""
    return {"job": job}


shows(router, SHOWN_AT, "page_made.html.j2", beside=made_by)(page_made)


@router.get("/page/file", response_class=Response)
def page_file(jobs: AtJobs, job: Number) -> Response:
    """Hand a page over as its file."""
    made = found_by(jobs, job, PageMade)
    return file_of(made.html.encode(), f"{made.title}.html")
