"""One color, and charts."""

from collections.abc import Mapping
from dataclasses import replace
from functools import partial
from typing import Annotated, Literal
from urllib.parse import parse_qsl, urlencode

from fastapi import APIRouter, Depends, Form, Query, Request, Response, UploadFile

from laydown.app import runs as laying_tasks
from laydown.app.encoding import named
from laydown.app.lessons.lessons import fetch_lesson, get_lesson, read_lesson
from laydown.app.matches import colors as color_tasks
from laydown.app.matches.colors import ColorMatched, MakeChart, match_color, write_chart
from laydown.app.runs import find_twins, measured_shades, neighbors_of
from laydown.app.supplies.names import names_in
from laydown.app.supplies.papers import usual_papers
from laydown.errors import BadFileError, TakesLongError
from laydown.match.outcome import Verdict
from laydown.media.laydown import MOST_COATS
from laydown.media.recipe import Recipe, Step, format_recipe
from laydown.plan.chart import Chart
from laydown.web import asking as ask
from laydown.web.desk import AtDesk, AtJobs, AtLibrary
from laydown.web.faces import Beside, shows
from laydown.web.files import file_of
from laydown.web.long_work import asks, finds, found_by, lists, starts
from laydown.web.look import HAND, hand_text
from laydown.web.pages.runs import NOBODY_ASKED

router = APIRouter()
Wanted = Annotated[str, Query(max_length=ask.LONGEST_RECIPE)]
NOTHING_ASKED = {"wanted": ""}
"""The answer before a color was wanted."""
KINDS = "^(colorant|range|paper|kit)$"


def color(
    request: Request, desk: AtDesk, asking: ask.AskingOf, wanted: Wanted = ""
) -> ColorMatched | dict[str, str]:
    """Find recipes for a wanted color."""
    if not wanted.strip():
        return NOTHING_ASKED
    try:
        return match_color(desk.library, wanted, asking, finder=desk.find)
    except TakesLongError as error:
        if request.url.path.endswith(".json"):
            raise
        return NOTHING_ASKED | {"takes_long": error.message}


def besides(
    request: Request,
    library: AtLibrary,
    asking: ask.AskingOf,
    answer: Annotated[ColorMatched | dict[str, str], Depends(color)],
) -> Beside:
    """Return what the page shows besides the answer; the color asked for is the one in hand."""
    supplies = asking.supplies
    shown: Beside = {"asking": asking, "fields": parse_qsl(request.url.query)}
    if not isinstance(answer, ColorMatched):
        return shown
    keep: dict[str, str] = getattr(request.state, "keep", {})
    before = request.cookies.get(HAND, "")
    request.state.keep = keep | {HAND: hand_text(answer.target.lab, request.url.query, before)}
    own = answer.target.asked_as
    shades = measured_shades(library, supplies.paper) if supplies.paper else ()
    return shown | {
        "near": neighbors_of(library, answer.target.lab, supplies, shades),
        "colors": {one.recipe.colorants[0].label: one.lab for one in shades if one.recipe},
        "own_name": own.colorants[0].label if own else "",
    }


shows(router, "/color", "color.html.j2", beside=besides)(color)


@shows(router, "/names", "names.html.j2", under="names")
def names(
    library: AtLibrary,
    begins: ask.Name = "",
    wanted: Wanted = "",
    color: ask.Name = "",
    kind: Annotated[str, Query(pattern=KINDS)] = "colorant",
) -> tuple[str, ...]:
    """Offer names that begin with what was typed last, in whichever field it was typed."""
    return names_in(library, kind, (begins or wanted or color).rpartition(";")[2].strip())


MOST_TEXT = 200_000
shows(router, "/charts", "charts.html.j2", beside=asks(MakeChart, MakeChart()), under="jobs")(
    lists("make_chart")
)


@starts(
    router,
    "/charts",
    "make_chart",
    "/chart",
    lambda asked: (
        f"{asked.title or asked.range or asked.source or 'Colors'}"
        f" from {ask.named(asked.asking.supplies)}"
    ),
    mended_at="/charts",
)
def new_chart(
    asking: ask.AskingSent,
    title: ask.Line = "",
    pasted: Annotated[str, Form(max_length=MOST_TEXT)] = "",
    file: UploadFile | None = None,
    colors_of: ask.Line = "",
) -> MakeChart:
    """Convert a list of colors: typed one a line, in a file, or each colorant of a range."""
    colors = tuple(ask.typed_of(pasted))
    listed = file.file.read(MOST_TEXT) if file is not None and file.filename else None
    if not (colors or listed or colors_of):
        raise BadFileError(
            "No color was named.", hint="Type one a line, choose a file, or choose a range."
        )
    source = (file.filename or "") if file is not None and listed else ""
    return MakeChart(title, colors, listed, source, range=colors_of, asking=asking)


chart_of = finds(Chart)


def arranged(
    order: Literal["coloring", "off", "value"] = "coloring", only: Literal[""] | Verdict = ""
) -> Beside:
    """Read how the rows are to be shown."""
    return {"order": order, "only": only, "verdicts": tuple(Verdict)}


shows(router, "/chart", "chart.html.j2", beside=arranged)(chart_of)


@router.get("/chart/file", response_class=Response)
def chart_file(
    *,
    jobs: AtJobs,
    job: ask.Number,
    form: Literal["pdf", "html", "csv", "json"] = "pdf",
    page: Literal["A4", "Letter"] = "A4",
    details: bool = False,
) -> Response:
    """Hand a chart over as a file."""
    chart = found_by(jobs, job, Chart)
    return file_of(write_chart(chart, form, page, details=details), f"{chart.title}.{form}")


NOTHING_LAID = {"recipe": ""}
"""The answer before anything was laid."""


def overlays_of(
    library: AtLibrary, supplies: ask.SuppliesOf, color: ask.Name = ""
) -> laying_tasks.OverlaysShown | dict[str, str]:
    """Lay each other color over one, and under it."""
    return laying_tasks.show_overlays(library, color, supplies) if color.strip() else NOBODY_ASKED


shows(router, "/over", "over.html.j2", beside=ask.supplies_of)(overlays_of)


def pile_of(
    library: AtLibrary, supplies: ask.SuppliesOf, recipe: Wanted = ""
) -> laying_tasks.Laid | dict[str, str]:
    """Lay a pile, and see what comes of it."""
    return laying_tasks.lay(library, recipe, supplies) if recipe.strip() else NOTHING_LAID


def pile_around(
    answer: Annotated[laying_tasks.Laid | dict[str, str], Depends(pile_of)],
    supplies: ask.SuppliesOf,
) -> Beside:
    """Return what one tap makes of the pile besides, and the box to lay more out of."""
    return {
        "supplies": supplies,
        "taps": _taps(answer.recipe) if isinstance(answer, laying_tasks.Laid) else (),
        "laid_at": lay_address,
    }


def lay_address(recipe: str) -> str:
    """Return the page that lays a pile."""
    return f"/lay?{urlencode({'recipe': recipe})}"


def _taps(pile: Recipe) -> tuple[tuple[str, str, str], ...]:
    """Return for each step where a coat more, one less and none of it lead; empty for nowhere."""
    return tuple(
        (
            _tapped(pile, place, coats + 1),
            _tapped(pile, place, coats - 1) if coats > 1 else "",
            _tapped(pile, place, 0) if len(pile.steps) > 1 else "",
        )
        for place, coats in enumerate(
            step.laydown.coats if isinstance(step, Step) else 0 for step in pile.steps
        )
    )


def _tapped(pile: Recipe, place: int, coats: int) -> str:
    step = pile.steps[place]
    if not isinstance(step, Step) or coats > MOST_COATS:
        return ""
    laid = (replace(step, laydown=replace(step.laydown, coats=coats)),) if coats else ()
    steps = (*pile.steps[:place], *laid, *pile.steps[place + 1 :])
    return lay_address(format_recipe(Recipe(steps), with_range=True))


shows(router, "/lay", "lay.html.j2", beside=pile_around)(pile_of)
Skip = Annotated[int, Query(ge=0, le=1000)]


def grid_of(
    library: AtLibrary, supplies: ask.SuppliesOf, skip: Skip = 0
) -> laying_tasks.GridShown | dict[str, str]:
    """Lay each color of a box over each."""
    return laying_tasks.show_grid(library, supplies, skip=skip) if supplies.paper else NOTHING_LAID


def grid_around(
    supplies: ask.SuppliesOf,
    answer: Annotated[laying_tasks.GridShown | dict[str, str], Depends(grid_of)],
) -> Beside:
    """Return where each patch leads besides: one's own are found first, so short names will do."""
    shades = answer.shades if isinstance(answer, laying_tasks.GridShown) else ()
    alike = len({one.name for one in shades}) < len(shades)
    return {
        "supplies": supplies,
        "to_lay": lambda pile: lay_address(format_recipe(pile, with_range=alike)),
    }


shows(router, "/grid", "grid.html.j2", beside=grid_around)(grid_of)


def mended(desk: AtDesk, asking: ask.AskingOf, wanted: Wanted = "") -> Mapping[str, object]:
    """Fix what lies on the paper, or say that a fresh start comes nearer."""
    if not wanted.strip() or not asking.supplies.over.strip():
        return NOTHING_LAID
    fixed = color_tasks.fix_color(desk.library, wanted, asking, finder=desk.find)
    return named(fixed, "mended fresh is_fresh_better")


shows(router, "/fix", "fix.html.j2", beside=ask.asking_of)(mended)
AT_ONCE = 8
"""Boxes that are answered on a page."""
OF_ONE_BOX = "kit found why_not"
"""What the answer of a box is called in parts."""


def each_box(
    *,
    request: Request,
    desk: AtDesk,
    asking: ask.AskingOf,
    wanted: Wanted = "",
    skip: Skip = 0,
    box: ask.Name = "",
) -> tuple[Beside, ...]:
    """Answer one color out of each box, side by side; a page asks for them one after the other."""
    if not wanted.strip():
        return ()
    kits = (box,) if box else _swatched(desk.library)[skip : skip + AT_ONCE]
    if len(kits) > 1 and not request.url.path.endswith(".json"):
        return tuple(named((kit, None, ""), OF_ONE_BOX) for kit in kits)
    answer = partial(match_color, desk.library, wanted, finder=desk.find)
    found = color_tasks.in_each_box(desk.library, asking, kits, answer)
    return tuple(named(one, OF_ONE_BOX) for one in found)


def _swatched(library: AtLibrary) -> tuple[str, ...]:
    return tuple(sorted(usual_papers(library)[0]))


def boxes_shown(library: AtLibrary) -> Beside:
    """Return how many boxes there are besides, and how many a page shows."""
    return {"boxes_at_once": AT_ONCE, "many": len(_swatched(library))}


shows(router, "/boxes", "boxes.html.j2", beside=boxes_shown, under="boxes")(each_box)
COLORS_AT_ONCE = 12
"""Colors of a lesson that a page answers for each box."""


def lesson_in_boxes(
    desk: AtDesk,
    asking: ask.AskingOf,
    number: ask.Number,
    first: Annotated[int, Query(ge=0, le=10_000)] = 0,
    skip: Skip = 0,
) -> tuple[Beside, ...]:
    """Answer the colors of a lesson out of each box, side by side."""
    kept = fetch_lesson(desk.library, number)
    lesson = read_lesson(kept.content, source=kept.source)
    part = replace(lesson, colors=lesson.colors[first : first + COLORS_AT_ONCE])
    kits = _swatched(desk.library)[skip : skip + AT_ONCE]
    answer = partial(color_tasks.match_lesson, desk.library, part, finder=desk.find)
    found = color_tasks.in_each_box(desk.library, asking, kits, answer)
    return tuple(named(one, OF_ONE_BOX) for one in found)


def in_boxes_around(library: AtLibrary, number: ask.Number) -> Beside:
    """Return which lesson it is, and what of it the page shows."""
    lesson = get_lesson(library, number)
    return boxes_shown(library) | {"lesson": lesson, "at_once": COLORS_AT_ONCE}


shows(router, "/boxes/lesson", "boxes_lesson.html.j2", beside=in_boxes_around, under="boxes")(
    lesson_in_boxes
)


def twins_of(library: AtLibrary, supplies: ask.SuppliesOf) -> tuple[Beside, ...]:
    """Look for what is nearly the same in a box, and in sets beside it."""
    nothing = ((supplies.kit, (), ()),)
    found = find_twins(library, supplies) if supplies.paper else nothing
    return tuple(named(one, "name twins new") for one in found)


shows(router, "/twins", "twins.html.j2", beside=ask.supplies_of, under="sets")(twins_of)
