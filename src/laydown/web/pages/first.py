"""The first page and the first visit, the whole demo, and closing the bench."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import Annotated, Literal
from urllib.parse import quote, unquote, urlencode

from fastapi import APIRouter, Depends, Form, Query, Request, Response
from markdown_it import MarkdownIt

import laydown
from laydown.app import demo as demo_tasks
from laydown.app.jobs import Job
from laydown.app.lessons.lessons import list_lessons
from laydown.app.library import Library, show_library
from laydown.app.runs import in_box, label_of, measured_shades
from laydown.app.sheets.printing import begin_kit, list_sheets
from laydown.app.supplies.kits import list_kits
from laydown.app.supplies.names import RANGES, names_in
from laydown.app.supplies.papers import usual_papers
from laydown.app.supplies.ranges import list_ranges
from laydown.color.naming import lab_of_words
from laydown.color.screen import screen_color
from laydown.demo.files import LESSON_FILE, read_bytes
from laydown.errors import LibraryError, UnknownNameError
from laydown.sheet.sheet import Sheet
from laydown.web import asking as ask
from laydown.web.desk import AtDesk, AtJobs, AtLibrary
from laydown.web.faces import Beside, changes, enter, go_to, shows
from laydown.web.files import file_of
from laydown.web.long_work import finds, found_by, jobs_of, starts
from laydown.web.look import COOKIE, HAND, YEAR, Look, Surround, color_of_paper, read_asked
from laydown.web.pages.sheets import BEGUN, KitAndWanted, begun_of, sheet_address
from laydown.web.rendering import render
from laydown.web.running import NAME, STOP

router = APIRouter()
FEW = 5
"""How many of a kind the page names."""


def standing(
    request: Request, library: AtLibrary, begun: Annotated[KitAndWanted, Depends(begun_of)]
) -> Beside:
    """Return where somebody stands, and so what comes next."""
    ranges, damaged = list_ranges(library), ""
    try:
        sheets = list_sheets(library)
    except LibraryError as error:  # the rest of the page may lead to a way out
        sheets, damaged = (), error.message
    best = [(one, max((on.colorants for on in one.on), default=0)) for one in ranges]
    choices = ask.choices_of(library)
    said = f"kit:{begun[0]}" if begun[0] in choices.kits else request.cookies.get(ask.FROM, "")
    own = ask.supplies_at_hand(choices, unquote(said))
    measured = measured_shades(library, own.paper) if own.paper and ranges else ()
    return {
        "paper": color_of_paper(library, own.paper),
        "own": own,
        "shades": in_box(library, measured, own) if measured else (),
        "glance": demo_tasks.demo_shades(),
        "damaged": damaged,
        "waiting": tuple(sheet for sheet in sheets if not sheet.taken)[:FEW],
        "unfinished": tuple((one, most) for one, most in best if most < one.colorants)[:FEW],
        "kits": list_kits(library),
        "lessons": list_lessons(library)[:FEW],
        "with_demo": any(one.name in RANGES for one in ranges),
        "choices": choices,
        "wanted_first": next(iter(begun[1]), ""),
    }


@shows(router, "/", "start.html.j2", beside=standing)
def start(library: AtLibrary) -> dict[str, str | int]:
    """Show what the library holds, and what to do next."""
    return show_library(library)


@router.get("/work", response_class=Response)
def work(request: Request) -> Response:
    """Show what is made of what one owns and wants."""
    return render(request, "work.html.j2")


Sought = Annotated[str, Query(max_length=ask.LONGEST)]


@dataclass(frozen=True, slots=True)
class PlaceFound:
    """What a search came upon: its name, what kind of thing it is, and the page of it."""

    name: str
    kind: str
    address: str
    fill: str = ""
    """Of a color: how a screen shows it, ``#rrggbb``."""


def _sought(q: Sought = "") -> str:
    return q.strip()


def _asked_before(request: Request, sought: str) -> list[PlaceFound]:
    """Return the colors that this browser asked for, the last first, by a part of their names."""
    return [
        PlaceFound(one.name, "asked before", one.address, one.fill)
        for one in read_asked(request.cookies.get(HAND, ""))
        if sought.casefold() in one.name.casefold()
    ]


@shows(router, "/find", "find.html.j2", beside=_sought, under="found")
def find(
    request: Request, library: AtLibrary, jobs: AtJobs, sought: Annotated[str, Depends(_sought)]
) -> tuple[PlaceFound, ...]:
    """Look for a name among all that has one; without one, list the colors asked before."""
    asked = _asked_before(request, sought)
    if not sought:
        return tuple(asked)
    key, (*_, paper) = sought.casefold(), usual_papers(library)
    shades = measured_shades(library, paper) if paper else ()
    fills = {label_of(one): screen_color(one.lab) for one in shades}
    named = asked + [
        PlaceFound(name, told, address + quote(name, safe=""), fills.get(name, ""))
        for kind, told, address in NAMED
        for name in names_in(library, kind)
        if key in name.casefold() and (kind != "colorant" or "/" in name)
    ]
    named += [
        PlaceFound(one.title, "lesson", f"/lesson?number={one.number}")
        for one in list_lessons(library)
        if key in one.title.casefold()
    ]
    named += [
        PlaceFound(job.title, "made before", f"/job?number={job.id}")
        for job in jobs.all()
        if key in job.title.casefold()
    ]
    if lab_of_words(sought) is not None:
        of_words = PlaceFound(sought, "the color of that name", f"/color?wanted={quote(sought)}")
        named.insert(0, of_words)
    return tuple(named[:MOST_FOUND])


NAMED = (
    ("colorant", "in your library: take it in hand", "/color?wanted="),
    ("kit", "box", "/box?kit="),
    ("range", "set", "/box?range="),
    ("paper", "paper", "/paper?name="),
)
"""What has names, how it is told, and where a name leads."""
MOST_FOUND = 60


MONTH = 30 * 24 * 3600
MOST_TEXT = 100_000
MOST_KEPT = 1000
"""Characters of what was wanted that the cookie keeps."""


def asked_to_begin(
    names: ask.Lines,
    paper: ask.FullLine,
    kit: ask.Line = "mine",
    medium: ask.MediumSent = "",
    wanted: ask.Lines = "",
) -> Beside:
    """Read what somebody begins with."""
    return {
        "names": ask.names_of(names),
        "paper": paper,
        "kit": kit.strip() or "mine",
        "medium": ask.medium_of(medium),
        "wanted": tuple(ask.typed_of(wanted)),
    }


def _begun(library: AtLibrary, asked: Annotated[Beside, Depends(asked_to_begin)]) -> Sheet:
    """Begin with what somebody owns: a kit, and a first sheet for it."""
    return begin_kit(library, **asked)


def _to_the_sheet(
    asked: Annotated[Beside, Depends(asked_to_begin)], begun: Annotated[Sheet, Depends(_begun)]
) -> Response:
    """Lead to the sheet; what was wanted is kept for when it has been read."""
    number = begun.number
    answer = go_to(sheet_address(number), f"Your first sheet is ready: number {number}.")
    kept = urlencode({"kit": asked["kit"], "wanted": "\n".join(asked["wanted"])[:MOST_KEPT]})
    answer.set_cookie(BEGUN, kept, max_age=MONTH, httponly=True, samesite="strict")
    return answer


enter(router, "POST", "/begin", _begun, page=_to_the_sheet)


OF_DEMO = "ranges papers kits swatches"


@changes(
    router,
    "/demo",
    leads_to=lambda _: "/",
    says=lambda made: f"The demo is in: {made[-1]} swatches, all of them invented.",
    under=OF_DEMO,
)
def put_demo_in(library: AtLibrary) -> demo_tasks.DemoSupplies:
    """Put the demo's invented ranges, papers and kits into the library."""
    return demo_tasks.add_demo(library)


@changes(
    router,
    "/demo/remove",
    leads_to=lambda _: "/",
    says=lambda _: "The demo is out again.",
    under=OF_DEMO,
)
def take_demo_out(library: AtLibrary) -> demo_tasks.DemoSupplies:
    """Take the demo out of the library again."""
    return demo_tasks.remove_demo(library)


@router.get("/demo/lesson", response_class=Response)
def demo_lesson() -> Response:
    """Hand over the demo's lesson, a list of colors to make a chart of."""
    return file_of(read_bytes(LESSON_FILE), LESSON_FILE)


TASK = "run_demo"


def _whereto(library: AtLibrary) -> Beside:
    return {"folder": demo_tasks.folder_beside(library)}


@shows(router, "/demo", "demo.html.j2", beside=_whereto, under="jobs")
def demo(jobs: AtJobs) -> tuple[Job, ...]:
    """List how often the whole job was run on invented data."""
    return jobs_of(jobs, TASK)


@starts(router, "/demo/run", task=TASK, shown_at="/demo/done", title=lambda _: "The demo")
def run(
    library: AtLibrary,
    page: Annotated[Literal["A4", "Letter"], Form()] = "A4",
    whole_range: Annotated[bool, Form()] = False,
    for_class: Annotated[bool, Form()] = False,
) -> demo_tasks.RunDemo:
    """Run the whole job on invented data, into a folder of the demo's own."""
    return demo_tasks.RunDemo(demo_tasks.folder_beside(library), page, whole_range, for_class)


done = finds(demo_tasks.DemoDone)


def made(
    library: AtLibrary, found: Annotated[demo_tasks.DemoDone, Depends(done)], job: ask.Number
) -> Beside:
    """Name the files that the demo made."""
    names = tuple(path.name for path in found.files)
    return {"job": job, "folder": demo_tasks.folder_beside(library), "names": names}


shows(router, "/demo/done", "demo_done.html.j2", beside=made)(done)


@router.get("/demo/file", response_class=Response)
def demo_file(library: AtLibrary, jobs: AtJobs, job: ask.Number, number: ask.Number) -> Response:
    """Hand over a file that the demo made, by its place in the list."""
    files = found_by(jobs, job, demo_tasks.DemoDone).files
    path = files[number - 1] if number <= len(files) else None
    if path is None or not _is_the_demos(path, library):
        raise UnknownNameError(
            f"There is no file {number} of the demo here any longer.", hint="Run the demo again."
        )
    return file_of(path.read_bytes(), path.name)


def _is_the_demos(path: Path, library: Library) -> bool:
    """Return whether a file lies in the demo's folder, whatever a library says of where it lay."""
    found = path.resolve()
    return found.is_file() and found.is_relative_to(demo_tasks.folder_beside(library).resolve())


@router.post("/look", status_code=303, response_class=Response)
def change_look(
    request: Request,
    surround: Annotated[Surround, Form()] = Surround.SYSTEM,
    values_only: Annotated[bool, Form()] = False,
    here: Annotated[str, Form(max_length=4000)] = "/",
) -> Response:
    """Keep the look in a cookie, and lead back to the page that it was changed on."""
    own = here.startswith("/") and not here.startswith(("//", "/\\"))
    response = go_to(here if own else "/")
    response.set_cookie(
        COOKIE, Look(surround, values_only).text(), max_age=YEAR, httponly=True, samesite="strict"
    )
    return response


@shows(router, STOP, "stop.html.j2")
def bench_open(desk: AtDesk) -> Beside:
    """Show what closing the bench would break off; by this a second start knows a bench."""
    return {
        "bench": NAME,
        "version": laydown.__version__,
        "library": desk.library.location,
        "unfinished": desk.jobs.under_way,
    }


@router.post(STOP, response_class=Response)
def close_bench(request: Request, desk: AtDesk) -> Response:
    """Close the bench, once this answer is drawn."""
    desk.closing.set()
    return render(request, "stopped.html.j2")


FOLDER = files("laydown.web") / "guide"
ORDER = (
    "swatch-your-box",
    "photograph-it",
    "ask-for-a-color",
    "read-an-answer",
    "why-colors-go-muddy",
    "light-middle-dark",
    "fix-what-is-on-the-paper",
    "teach-from-one-palette",
    "buy-only-what-helps",
    "learn-from-what-you-tried",
)
"""Its pages, as they are read one after the other."""


@cache
def guide_page(name: str) -> Mapping[str, str]:
    """Return a page of the guide by its name: its title, and its text as Markdown."""
    text = (FOLDER / f"{name}.md").read_text(encoding="utf-8")
    return {"title": text.partition("\n")[0].removeprefix("# "), "text": text}


def as_html(text: str) -> str:
    r"""Turn a page into HTML, its links and pictures into those of the bench.

    Examples
    --------
    >>> as_html("See [the next](photograph-it.md).")
    '<p>See <a href="/guide?page=photograph-it">the next</a>.</p>\n'
    """
    text = re.sub(r"\]\(([\w-]+)\.md\)", r"](/guide?page=\1)", text)
    text = re.sub(r"\]\(([\w-]+\.webp)\)", r"](/static/guide/\1)", text)
    return str(MarkdownIt("commonmark", {"html": False}).render(text))


def _around() -> Beside:
    return {"titles": {name: guide_page(name)["title"] for name in ORDER}, "as_html": as_html}


@shows(router, "/guide", "guide.html.j2", beside=_around)
def guide(page: Annotated[str, Query(max_length=ask.LONGEST)] = ORDER[0]) -> Mapping[str, str]:
    """Show a page of the guide."""
    if page not in ORDER:
        raise UnknownNameError(
            f"The guide has no page {page}.", hint="Choose one from its list, at /guide."
        )
    return guide_page(page)
