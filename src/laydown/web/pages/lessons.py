"""Lessons: kept, made, and what is made from them."""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import replace
from enum import StrEnum
from itertools import zip_longest
from typing import Annotated, Any, Literal

import numpy as np
from fastapi import APIRouter, Depends, File, Form, Query, Response, UploadFile
from pydantic import BaseModel, Field

from laydown import allowed_sizes
from laydown.app.jobs import Jobs
from laydown.app.lessons import lessons as lesson_tasks
from laydown.app.lessons import packs as pack_tasks
from laydown.app.lessons.lessons import KeptLesson, LessonAsked, LessonConverted, fetch_lesson
from laydown.app.lessons.pages import PageMade
from laydown.app.library import Library
from laydown.app.matches.colors import write_chart
from laydown.app.sheets.printing import SheetShown, list_sheets, show_sheet
from laydown.app.supplies.papers import usual_papers
from laydown.app.tasks import GivenFile
from laydown.app.words import ColorInWords, in_words
from laydown.color.lab import lab_from_reflectance
from laydown.demo.files import CLASS_PAPER, FAMILIES, LESSON, LESSON_FILE, Family, read_bytes
from laydown.errors import BadFileError, TooLargeError, UnknownNameError
from laydown.match.outcome import Match
from laydown.media.recipe import format_recipe
from laydown.plan.lesson.conversion import Departure, crossed
from laydown.plan.lesson.lesson import Lesson, LessonColor
from laydown.web import asking as ask
from laydown.web.desk import AtJobs, AtLibrary
from laydown.web.faces import Beside, changes, enter, go_to, json_of, of_library, shows
from laydown.web.files import file_of, hands, sent_files
from laydown.web.long_work import asked_by, finds, found_by, jobs_of, result_address, starts


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
AnswerSide = dict[str, Any]
"""One answer for one color: its way; the match, against what this way wants; what is wanted and
got, in words and numbers; and the departure, None where it is the nearest recipe, or the palette is
turned."""
Ramp = tuple[AnswerWay | None, tuple[ColorInWords, ...], tuple[tuple[str, str], ...]]
"""The values of a passage, from light to dark as the lesson wants them: in which answer, None for
what is wanted; the colors; and the pairs of names that come out in the wrong order, the one wanted
lighter first."""
ColorRow = tuple[ColorInWords, tuple[AnswerSide, ...]]
"""A color of the lesson with its answers side by side."""
PassageRow = tuple[str, tuple[Ramp, ...], tuple[ColorRow, ...]]
"""A passage: its values in every answer, and its colors."""


def passages(made: LessonConverted, *, turn: int, first: int, most: int) -> tuple[PassageRow, ...]:
    """Return a lesson passage by passage, with its answers side by side.

    So many colors, after the first ones; beside the other answers a transposed palette, by its
    number.
    """
    by_way = {
        way: {match.target.name: match for match in made.chart(way, turn).matches}
        for way in AnswerWay
        if made.turned_charts or way is not AnswerWay.TURNED  # converted without turns
    }
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
            found.append(found[0] | {"way": way})
            continue
        found.append(
            {
                "way": way,
                "match": match,
                "wanted": in_words(match.target.lab) if way is AnswerWay.TURNED else wanted,
                "got": in_words(match.best.prediction.lab),
                "departure": departed,
            }
        )
    return tuple(found)


def _ramps(made: LessonConverted, colors: Sequence[ColorRow]) -> Iterator[Ramp]:
    """Return the values wanted, and those of each answer, with the pairs out of order."""
    yield None, tuple(wanted for wanted, _ in colors), ()
    for place, way in enumerate(side["way"] for side in colors[0][1]):
        got = tuple(sides[place]["got"] for _, sides in colors)
        yield way, got, _broken(made, way, colors, got)


def _broken(
    made: LessonConverted, way: AnswerWay, colors: Sequence[ColorRow], got: Sequence[ColorInWords]
) -> tuple[tuple[str, str], ...]:
    names = [sides[0]["match"].target.name for _, sides in colors]
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
MOST_LOOKED_AT = 30
"""The latest jobs about lessons among which a lesson's page looks for its own."""


def lessons_page(
    library: AtLibrary,
    jobs: AtJobs,
    lines: Annotated[int, Query(ge=1, le=MOST_LINES)] = LEAST_LINES,
) -> Beside:
    """Return what the page of lessons shows besides."""
    return {
        "families": FAMILIES,
        "sheets": tuple(sheet for sheet in list_sheets(library) if sheet.taken),
        "lines": lines,
        "made": jobs_of(jobs, *TASKS),
        "shown_at": result_address,
    }


shows(router, "/lessons", "lessons.html.j2", beside=lessons_page, under="lessons")(
    of_library(lesson_tasks.list_lessons)
)


def lesson_address(number: int) -> str:
    """Return the page of a lesson."""
    return f"/lesson?number={number}"


def lesson_sent(uploads: Iterable[UploadFile | None]) -> tuple[GivenFile, ...]:
    """Return files that were sent as lessons, or as lists of their colors.

    Raises TooLargeError for a file that is larger than any of these.
    """
    sent = sent_files(uploads)
    for one in sent:
        if len(one.content) > allowed_sizes.LESSON:
            raise TooLargeError(
                f"{one.source} has {len(one.content):,} bytes; {allowed_sizes.LESSON:,} are taken.",
                hint="A lesson is a text file, and so is a list of colors.",
            )
    return sent


@changes(router, "/lessons", "/lesson?number={0.number}", "“{0.title}” is kept.")
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
    return lesson_tasks.keep_lesson(library, sent.content, sent.source)


def lesson(library: AtLibrary, number: ask.Number) -> lesson_tasks.LessonShown:
    """Show a lesson by its passages."""
    file = fetch_lesson(library, number)
    return lesson_tasks.show_lesson(file.content, file.source)


def lesson_page(
    library: AtLibrary, jobs: AtJobs, number: ask.Number, first: ask.Count = 0, job: ask.Count = 0
) -> Beside:
    """Return what the page of a lesson shows besides."""
    file = fetch_lesson(library, number)
    lesson, _, looks_of = lesson_tasks.show_lesson(file.content, file.source)
    white, part = lesson.paper_reflectance, slice(first, first + AT_ONCE)
    passages_shown: dict[str, list[tuple[LessonColor, ColorInWords]]] = {}
    for color, looks in zip(lesson.colors[part], looks_of[part], strict=True):
        passages_shown.setdefault(color.passage, []).append((color, looks))  # one may come twice
    others = tuple(one for one in lesson_tasks.list_lessons(library) if one.number != number)
    latest = jobs_of(jobs, *TASKS)[:MOST_LOOKED_AT]
    made = tuple(one for one in latest if _asked(jobs, one.id).file == file.content)
    converted = (one.id for one in made if (one.task, one.state) == ("convert_lesson", "done"))
    return {
        "kept": lesson_tasks.get_lesson(library, number),
        "passages": passages_shown,
        "at_once": AT_ONCE,
        "paper": None if white is None else lab_from_reflectance(white),
        "others": others,
        "asked": _asked(jobs, job),
        "made": made,
        "chart": next(converted, 0),
        "opened": PLACES.get(jobs.get(job).task, "") if job else "",
        "shown_at": result_address,
    }


def _asked(jobs: Jobs, job: int) -> LessonAsked:
    """Return how a job was to convert or pack a lesson; the usual way for none."""
    asked = jobs.request(job) if job else None
    return asked if isinstance(asked, LessonAsked) else LessonAsked(b"", "")


shows(router, "/lesson", "lesson.html.j2", beside=lesson_page, under="lesson troubles looks")(
    lesson
)
lesson_file = of_library(fetch_lesson, number=ask.Number)
hands(router, "/lesson/file", lesson_file, lambda file: file.content, "{0.source}")
changes(router, "/lesson/remove", "/lessons", "“{0.title}” is gone; undo brings it back.")(
    of_library(lesson_tasks.remove_lesson, number=ask.NumberSent)
)
MOST_CELLS = 2000
MOST_TEXT = 20_000
Role = Literal["", "highlight", "light", "midtone", "shadow", "accent"]
_Line = Annotated[str, Field(max_length=ask.LONGEST)]
_Color = Annotated[str, Field(max_length=ask.LONGEST_RECIPE)]
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

    sheet: Annotated[int, Field(ge=1, le=ask.LARGEST)]
    cell: Annotated[list[Annotated[int, Field(ge=1, le=MOST_CELLS)]], Field(max_length=MOST_CELLS)]
    passage: _Cells = []
    name: _Cells = []


def from_list(
    library: AtLibrary, fields: Annotated[ListFields, Form()], file: UploadFile | None = None
) -> Lesson:
    """Make a lesson of a list of colors: typed, or a CSV file.

    Raises BadFileError where no color is named.
    """
    sent, rows = lesson_sent([file]), fields.rows()
    if not sent and not rows:
        raise BadFileError(
            "No color was named.", hint="Fill in one line at least, or choose a list's file."
        )
    listed, named = (sent[0].content, sent[0].source) if sent else (None, "the list")
    title = fields.title or ("" if sent else "A lesson")
    notes, rows = tuple(ask.lines_of(fields.notes)), () if sent else rows
    return lesson_tasks.new_lesson(
        library, listed, named, title=title, paper=fields.paper, notes=notes, rows=rows
    )


def from_sheet(library: AtLibrary, fields: Annotated[SheetFields, Form()]) -> Lesson:
    """Make a lesson of a filled sheet: which cells belong together, and what colors are called."""
    cells = tuple(
        (cell, (passage or "").strip(), (name or "").strip())
        for cell, passage, name in zip_longest(fields.cell, fields.passage, fields.name)
        if cell
    )
    named = any(name for _, _, name in cells)
    together: dict[str, set[int]] = {}
    for number, passage, _ in cells:
        if passage:
            together.setdefault(passage, set()).add(number)
    return lesson_tasks.new_lesson(
        library,
        None,
        "the sheet" if named else "",
        title=fields.title,
        notes=tuple(ask.lines_of(fields.notes)),
        sheet=fields.sheet,
        rows=tuple(_named(library, fields.sheet, cells)) if named else (),
        passages=[(name, frozenset(numbers)) for name, numbers in together.items()],
    )


def from_demo(library: AtLibrary) -> Lesson:
    """Make the demo's lesson, which is invented."""
    note = "Invented: it belongs to the demo."
    return _ready(library, LESSON_FILE, LESSON, CLASS_PAPER, note)


def _ready(library: Library, name: str, title: str, paper: str, note: str) -> Lesson:
    content = read_bytes(name)
    return lesson_tasks.new_lesson(library, content, name, title=title, paper=paper, notes=(note,))


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


def _enter(path: str, makes: Callable[..., Lesson]) -> None:
    """Give a form that makes a lesson its page and its JSON; both keep the lesson."""

    def kept(library: AtLibrary, lesson: Annotated[Lesson, Depends(makes)]) -> KeptLesson:
        content = lesson_tasks.write_lesson(lesson)
        return lesson_tasks.keep_lesson(library, content, lesson.title)

    def page(kept: Annotated[KeptLesson, Depends(kept)]) -> Response:
        return go_to(lesson_address(kept.number), f"“{kept.title}” is made and kept.")

    def data(
        lesson: Annotated[Lesson, Depends(makes)], _: Annotated[KeptLesson, Depends(kept)]
    ) -> Response:
        return json_of(lesson)

    enter(router, "POST", path, makes, page=page, data=data)


_enter("/lesson/from-list", from_list)
_enter("/lesson/from-sheet", from_sheet)
_enter("/lesson/from-demo", from_demo)


def from_family(library: AtLibrary, family: Annotated[Family, Form()]) -> Lesson:
    """Make a lesson of a ready family of colors, whose targets are invented."""
    note = "Invented: colors to practice with, measured from nothing."
    title, paper = f"{family.capitalize()} (invented)", usual_papers(library)[-1]
    return _ready(library, f"family_{family}.csv", title, paper, note)


_enter("/lesson/from-family", from_family)


@shows(router, "/lesson/of-sheet", "lesson_of_sheet.html.j2")
def sheet_colors(library: AtLibrary, sheet: ask.Number) -> SheetShown:
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
Names = Annotated[list[ask.Line], Form(max_length=ask.MOST_NAMES)]


def _lesson_of(asked: LessonAsked) -> Lesson:
    return lesson_tasks.read_lesson(asked.file, source=asked.source)


def _titled(asked: LessonAsked) -> str:
    """Return what a job is called: the lesson or set, and what it is made from."""
    made_of = ask.named(asked.asking.supplies)
    return f"{asked.range or _lesson_of(asked).title} from {made_of}"


def _asked_of(library: AtLibrary, number: ask.NumberSent) -> LessonAsked:
    file = fetch_lesson(library, number)
    return LessonAsked(file.content, file.source)


OfLesson = Annotated[LessonAsked, Depends(_asked_of)]
"""What a page's function names to be handed the lesson that a form names, to be asked of."""
PLACES = {
    "convert_lesson": "convert",
    "pack_lesson": "pack",
    "gather_lessons": "gather",
    "make_lesson_page": "page",
}
"""Where on the page of a lesson each is asked."""


@router.get(MENDED_AT, response_class=Response)
def mend(library: AtLibrary, jobs: AtJobs, job: ask.Number) -> Response:
    """Lead to the lesson or set that a job was asked about, with the form as it was filled in."""
    asked = jobs.request(job)
    if isinstance(asked, LessonAsked) and asked.range:
        return go_to("/ranges#page")
    if not isinstance(asked, LessonAsked):
        raise UnknownNameError(f"Job {job} was about no lesson.", hint="Look under Long work.")
    lesson = _still_kept(library, asked.file)
    if lesson is None:
        raise UnknownNameError(
            "The lesson is not kept here any more.", hint="Undo its removal, or bring it in again."
        )
    return go_to(f"{lesson_address(lesson.number)}&job={job}#{PLACES[jobs.get(job).task]}")


@starts(
    router, "/lesson/convert", "convert_lesson", "/lesson/conversion", _titled, mended_at=MENDED_AT
)
def convert(
    lesson: OfLesson,
    asking: ask.AskingSent,
    turns: Annotated[int, Form(ge=0, le=MOST_TURNS)] = 3,
    shop: Names = [],  # noqa: B006  FastAPI copies it
) -> LessonAsked:
    """Convert a lesson to a kit: color by color, as a whole, and transposed."""
    return replace(lesson, asking=asking, turns=turns, shop=tuple(filter(None, shop)))


conversion = finds(LessonConverted)


def conversion_page(
    library: AtLibrary, jobs: AtJobs, job: ask.Number, turn: Turn = 1, first: ask.Count = 0
) -> Beside:
    """Return what the page of a conversion shows besides."""
    made, asked = found_by(jobs, job, LessonConverted), asked_by(jobs, job, LessonAsked)
    return {
        "lesson": _still_kept(library, asked.file),
        "turn": turn,
        "at_once": AT_ONCE,
        "passages": passages(made, turn=turn, first=first, most=AT_ONCE),
        "titles": TITLES,
        "shopped": bool(asked.shop),
    }


def _still_kept(library: AtLibrary, file: bytes) -> KeptLesson | None:
    return lesson_tasks.find_lesson(library, file.decode())


shows(router, "/lesson/conversion", "lesson_conversion.html.j2", beside=conversion_page)(conversion)


@router.get("/lesson/chart", response_class=Response)
def conversion_file(
    *,
    jobs: AtJobs,
    job: ask.Number,
    way: AnswerWay = AnswerWay.TOGETHER,
    turn: Turn = 1,
    form: Literal["pdf", "html", "csv", "json"] = "pdf",
    page: Page = "A4",
    details: bool = False,
) -> Response:
    """Hand one of the answers over as a chart's file."""
    chart = found_by(jobs, job, LessonConverted).chart(way, turn)
    return file_of(write_chart(chart, form, page, details=details), f"{chart.title}.{form}")


@starts(
    router,
    "/lesson/pack",
    "pack_lesson",
    "/lesson/packed",
    lambda asked: f"Class pack: {_titled(asked)}",
    mended_at=MENDED_AT,
)
def pack(lesson: OfLesson, asking: ask.AskingSent) -> LessonAsked:
    """Make a class pack of a lesson, with a part for each range."""
    return replace(lesson, asking=asking)


packed = finds(pack_tasks.LessonPacked)


def pack_page(library: AtLibrary, jobs: AtJobs, job: ask.Number, first: ask.Count = 0) -> Beside:
    """Return what the page of a pack shows besides."""
    parts = len(found_by(jobs, job, pack_tasks.LessonPacked).parts)
    lesson = _still_kept(library, asked_by(jobs, job, LessonAsked).file)
    return {"lesson": lesson, "first": first, "at_once": max(1, AT_ONCE // parts)}


shows(router, "/lesson/packed", "lesson_packed.html.j2", beside=pack_page)(packed)


@router.get("/lesson/pack/file", response_class=Response)
def pack_file(
    jobs: AtJobs, job: ask.Number, form: Literal["pdf", "html"] = "pdf", page: Page = "A4"
) -> Response:
    """Hand a class pack over as PDF or as one HTML page."""
    made = found_by(jobs, job, pack_tasks.LessonPacked)
    return file_of(pack_tasks.write_pack(made, form, page), f"{made.title}, class pack.{form}")


@starts(
    router,
    "/lesson/gather",
    "gather_lessons",
    "/lesson/returns",
    lambda asked: f"What came back of {_lesson_of(asked).title}",
    mended_at=MENDED_AT,
)
def gather(
    *,
    library: AtLibrary,
    lesson: OfLesson,
    files: Annotated[list[UploadFile], File(max_length=MOST_RETURNS)] = [],  # noqa: B006  FastAPI copies it
    kept: Annotated[list[ask.NumberSent], Form(max_length=MOST_RETURNS)] = [],  # noqa: B006  FastAPI copies it
    person: Names = [],  # noqa: B006  FastAPI copies it
) -> LessonAsked:
    """Gather what students made of a lesson: their files, named after them, or kept lessons."""
    returns = [(one.source.rsplit(".", 1)[0], one) for one in lesson_sent(files)]
    returns += [
        (whose.strip(), fetch_lesson(library, number))
        for number, whose in zip_longest(kept, person)
        if number and whose and whose.strip()
    ]
    if not returns:
        raise BadFileError(
            "No return was named.", hint="Choose the students' files, or name who made a lesson."
        )
    return replace(lesson, returns=tuple(returns))


returns = finds(tuple)


def returns_page(library: AtLibrary, jobs: AtJobs, job: ask.Number, color: ask.Name = "") -> Beside:
    """Return what the page of returns shows besides; without a name, of the first color."""
    asked = asked_by(jobs, job, LessonAsked)
    lesson = _lesson_of(asked)
    row = next((one for one in lesson.colors if one.name == color), lesson.colors[0])
    return {
        "title": lesson.title,
        "lesson": _still_kept(library, asked.file),
        "names": tuple(one.name for one in lesson.colors),
        "color": row,
        "made": tuple(
            (person, color, off)
            for person in found_by(jobs, job, tuple)
            for color, off in person.colors
            if color.name == row.name
        ),
    }


shows(router, "/lesson/returns", "lesson_returns.html.j2", beside=returns_page, under="people")(
    returns
)


@router.get("/lesson/returns/file", response_class=Response)
def returns_file(jobs: AtJobs, job: ask.Number) -> Response:
    """Hand a class's returns over as CSV."""
    content = pack_tasks.gathered_csv(found_by(jobs, job, tuple))
    return file_of(content, f"{_lesson_of(asked_by(jobs, job, LessonAsked)).title}, returns.csv")


AddressSent = Annotated[str, Form(max_length=2 * ask.LONGEST)]
KitsSent = Annotated[tuple[ask.Label, ...], Form(max_length=ask.MOST_NAMES)]
SHOWN_AT = "/page/made"


def _page_titled(asked: LessonAsked) -> str:
    return f"Page: {_titled(asked)}"


@starts(router, "/lesson/page", "make_lesson_page", SHOWN_AT, _page_titled, mended_at=MENDED_AT)
def page_of_lesson(
    lesson: OfLesson, asking: ask.AskingSent, address: AddressSent = "", ticked: KitsSent = ()
) -> LessonAsked:
    """Make the page of a lesson that answers for whatever a student owns."""
    return replace(lesson, asking=asking, address=address, ticked=tuple(filter(None, ticked)))


@starts(router, "/range/page", "make_range_page", SHOWN_AT, _page_titled, mended_at=MENDED_AT)
def page_of_range(
    asking: ask.AskingSent, name: ask.FullLine, address: AddressSent = "", ticked: KitsSent = ()
) -> LessonAsked:
    """Make the page that converts a range for whatever someone owns of others."""
    ticked = tuple(filter(None, ticked))
    return LessonAsked(range=name, asking=asking, address=address, ticked=ticked)


page_made = finds(PageMade)
shows(router, SHOWN_AT, "page_made.html.j2")(page_made)
hands(router, "/page/file", page_made, lambda made: made.html.encode(), "{0.title}.html")
