"""The first page and the first visit, the whole demo, and closing the bench."""

import re
from collections.abc import Mapping
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import Annotated, Literal
from urllib.parse import quote, unquote, urlencode

from fastapi import APIRouter, Depends, Form, Query, Request, Response
from markdown_it import MarkdownIt

import laydown
from laydown.app import demo as demo_tasks
from laydown.app.lessons.lessons import list_lessons
from laydown.app.library import show_library
from laydown.app.runs import in_box, label_of, measured_shades
from laydown.app.sheets.printing import begin_kit, list_sheets
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
from laydown.web.faces import Beside, changes, enter, go_to, of_library, shows
from laydown.web.files import file_of, hands
from laydown.web.long_work import finds, found_by, lists, starts
from laydown.web.look import COOKIE, HAND, YEAR, Look, Surround, read_asked
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
        "own": own,
        "shades": in_box(library, measured, own) if measured else (),
        "glance": demo_tasks.demo_shades(),
        "damaged": damaged,
        "waiting": tuple(sheet for sheet in sheets if not sheet.taken)[:FEW],
        "unfinished": tuple((one, most) for one, most in best if most < one.colorants)[:FEW],
        "few": FEW,
        "with_demo": any(one.name in RANGES for one in ranges),
        "wanted_first": next(iter(begun[1]), ""),
    }


shows(router, "/", "start.html.j2", beside=standing)(of_library(show_library))


@router.get("/work", response_class=Response)
def work(request: Request) -> Response:
    """Show what is made of what one owns and wants."""
    return render(request, "work.html.j2")


def _found(name: str, kind: str, address: str, fill: str = "") -> dict[str, str]:
    """Return what a search came upon: its name, what kind of thing it is, and the page of it.

    A color has a fill, ``#rrggbb``, as a screen shows it.
    """
    return {"name": name, "kind": kind, "address": address, "fill": fill}


def _sought(q: ask.Name = "") -> str:
    return q.strip()


@shows(router, "/find", "find.html.j2", beside=_sought, under="found")
def find(
    request: Request, library: AtLibrary, jobs: AtJobs, sought: Annotated[str, Depends(_sought)]
) -> tuple[dict[str, str], ...]:
    """Look for a name among all that has one; without one, list the colors asked before."""
    key = sought.casefold()
    named = [
        _found(one["name"], "asked before", one["address"], one["fill"])
        for one in read_asked(request.cookies.get(HAND, ""))
        if key in one["name"].casefold()
    ]
    if not sought:
        return tuple(named)
    *_, paper = usual_papers(library)
    shades = measured_shades(library, paper) if paper else ()
    fills = {label_of(one): screen_color(one.lab) for one in shades}
    named += [
        _found(name, told, address + quote(name, safe=""), fills.get(name, ""))
        for kind, told, address in NAMED
        for name in names_in(library, kind)
        if key in name.casefold() and (kind != "colorant" or "/" in name)
    ]
    named += [
        _found(one.title, "lesson", f"/lesson?number={one.number}")
        for one in list_lessons(library)
        if key in one.title.casefold()
    ]
    named += [
        _found(job.title, "made before", f"/job?number={job.id}")
        for job in jobs.all()
        if key in job.title.casefold()
    ]
    if lab_of_words(sought) is not None:
        address = f"/color?wanted={quote(sought)}"
        named.insert(0, _found(sought, "the color of that name", address))
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
    medium: ask.MediumSent = None,
    wanted: ask.Lines = "",
) -> Beside:
    """Read what somebody begins with."""
    return {
        "names": ask.names_of(names),
        "paper": paper,
        "kit": kit.strip() or "mine",
        "medium": medium,
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
changes(
    router, "/demo", "/", "The demo is in: {0[3]} swatches, all of them invented.", under=OF_DEMO
)(of_library(demo_tasks.add_demo))
changes(router, "/demo/remove", "/", "The demo is out again.", under=OF_DEMO)(
    of_library(demo_tasks.remove_demo)
)
hands(router, "/demo/lesson", lambda: LESSON_FILE, read_bytes, "{0}")
demos_folder = of_library(demo_tasks.folder_beside)
shows(router, "/demo", "demo.html.j2", beside=demos_folder, under="jobs")(lists("run_demo"))


@starts(router, "/demo/run", "run_demo", "/demo/done", "The demo")
def run(
    library: AtLibrary,
    page: Annotated[Literal["A4", "Letter"], Form()] = "A4",
    whole_range: Annotated[bool, Form()] = False,
    for_class: Annotated[bool, Form()] = False,
) -> demo_tasks.RunDemo:
    """Run the whole job on invented data, into a folder of the demo's own."""
    return demo_tasks.RunDemo(demo_tasks.folder_beside(library), page, whole_range, for_class)


done = finds(demo_tasks.DemoDone)
shows(router, "/demo/done", "demo_done.html.j2", beside=demos_folder)(done)


@router.get("/demo/file", response_class=Response)
def demo_file(library: AtLibrary, jobs: AtJobs, job: ask.Number, number: ask.Number) -> Response:
    """Hand over a file that the demo made, by its place in the list."""
    files = found_by(jobs, job, demo_tasks.DemoDone).files
    path = files[number - 1].resolve() if number <= len(files) else Path()
    folder = demo_tasks.folder_beside(library).resolve()
    if not path.is_file() or not path.is_relative_to(folder):  # whatever is said of where it lay
        told = f"There is no file {number} of the demo here any longer."
        raise UnknownNameError(told, hint="Run the demo again.")
    return file_of(path.read_bytes(), path.name)


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
        told = f"The guide has no page {page}."
        raise UnknownNameError(told, hint="Choose one from its list, at /guide.")
    return guide_page(page)
