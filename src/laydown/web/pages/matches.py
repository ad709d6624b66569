"""One color, and charts."""

from typing import Annotated, Literal

from fastapi import APIRouter, Depends, Form, Query, Request, Response, UploadFile

from laydown.app.jobs import Job
from laydown.app.matches.charts import MakeChart, write_chart
from laydown.app.matches.colors import ColorMatched, match_color
from laydown.app.matches.laying import in_box, measured_shades, neighbors_of
from laydown.app.supplies.names import names_in
from laydown.errors import BadFileError
from laydown.plan.chart import Chart
from laydown.web.asking import (
    LONGEST,
    LONGEST_RECIPE,
    AskingOf,
    AskingSent,
    Name,
    choices_of,
    named,
    typed_of,
)
from laydown.web.desk import AtDesk, AtJobs, AtLibrary
from laydown.web.faces import Beside, shows
from laydown.web.files import file_of
from laydown.web.long_work import LARGEST, JobNumber, asked_by, found_by, jobs_of, starts
from laydown.web.look import HAND, color_of_paper, hand_text

router = APIRouter()
Wanted = Annotated[str, Query(max_length=LONGEST_RECIPE)]
NOTHING_ASKED = {"wanted": ""}
"""The answer before a color was wanted."""
KINDS = "^(colorant|range|paper|kit)$"


def color(desk: AtDesk, asking: AskingOf, wanted: Wanted = "") -> ColorMatched | dict[str, str]:
    """Find recipes for a wanted color."""
    if not wanted.strip():
        return NOTHING_ASKED
    return match_color(desk.library, wanted, asking, finder=desk.tables.find)


def besides(
    request: Request,
    library: AtLibrary,
    asking: AskingOf,
    answer: Annotated[ColorMatched | dict[str, str], Depends(color)],
    wanted: Wanted = "",
) -> Beside:
    """Return what the page shows besides the answer; the color asked for is the one in hand."""
    supplies = asking.supplies
    shades = measured_shades(library, supplies.paper) if supplies.paper else ()
    shown: Beside = {
        "wanted": wanted,
        "asking": asking,
        "choices": choices_of(library),
        "paper": color_of_paper(library, supplies.paper),
        "shades": in_box(library, shades, supplies) if shades else (),
    }
    if not isinstance(answer, ColorMatched):
        return shown
    keep: dict[str, str] = getattr(request.state, "keep", {})
    before = request.cookies.get(HAND, "")
    request.state.keep = keep | {HAND: hand_text(answer.target.lab, request.url.query, before)}
    own = answer.target.asked_as
    return shown | {
        "near": neighbors_of(library, answer.target.lab, supplies, shades),
        "colors": {one.recipe.colorants[0].label: one.lab for one in shades if one.recipe},
        "own_name": own.colorants[0].label if own else "",
    }


shows(router, "/color", "color.html.j2", beside=besides)(color)


@shows(router, "/names", "names.html.j2", under="names")
def names(
    library: AtLibrary,
    begins: Name = "",
    wanted: Wanted = "",
    color: Name = "",
    kind: Annotated[str, Query(pattern=KINDS)] = "colorant",
) -> tuple[str, ...]:
    """Offer names that begin with what was typed last, in whichever field it was typed."""
    typed = begins or wanted or color
    return names_in(library, kind, typed.rpartition(";")[2].strip())


TASK = "make_chart"
MOST_TEXT = 200_000
Line = Annotated[str, Form(max_length=LONGEST)]


def charts_around(
    library: AtLibrary, jobs: AtJobs, job: Annotated[int, Query(ge=0, le=LARGEST)] = 0
) -> Beside:
    """Return what the form shows: nothing yet, or what a job was asked."""
    asked = asked_by(jobs, job, MakeChart) if job else MakeChart()
    return {"choices": choices_of(library), "asked": asked}


@shows(router, "/charts", "charts.html.j2", beside=charts_around, under="jobs")
def charts(jobs: AtJobs) -> tuple[Job, ...]:
    """List the charts that were made."""
    return jobs_of(jobs, TASK)


def _called(asked: MakeChart) -> str:
    what = asked.title or asked.range or asked.source or "Colors"
    supplies = asked.asking.supplies
    names = named(supplies)
    return f"{what} from {names}"


@starts(router, "/charts", task=TASK, shown_at="/chart", mended_at="/charts", title=_called)
def new_chart(
    asking: AskingSent,
    title: Line = "",
    pasted: Annotated[str, Form(max_length=MOST_TEXT)] = "",
    file: UploadFile | None = None,
    colors_of: Line = "",
) -> MakeChart:
    """Convert a list of colors: typed one a line, in a file, or each colorant of a range."""
    colors = tuple(typed_of(pasted))
    listed = file.file.read(MOST_TEXT) if file is not None and file.filename else None
    if not (colors or listed or colors_of):
        raise BadFileError(
            "No color was named.", hint="Type one a line, choose a file, or choose a range."
        )
    source = (file.filename or "") if file is not None and listed else ""
    return MakeChart(title, colors, listed, source, range=colors_of, asking=asking)


def chart_of(jobs: AtJobs, job: JobNumber) -> Chart:
    """Show a chart that was made."""
    return found_by(jobs, job, Chart)


def arranged(
    job: JobNumber,
    order: Literal["coloring", "off", "value"] = "coloring",
    only: Literal[
        "", "same", "same but for value", "same but for hue", "needs another layer", "out of reach"
    ] = "",
) -> Beside:
    """Read how the rows are to be shown."""
    return {"job": job, "order": order, "only": only}


shows(router, "/chart", "chart.html.j2", beside=arranged)(chart_of)


@router.get("/chart/file", response_class=Response)
def chart_file(
    *,
    jobs: AtJobs,
    job: JobNumber,
    form: Literal["pdf", "html", "csv", "json"] = "pdf",
    page: Literal["A4", "Letter"] = "A4",
    details: bool = False,
) -> Response:
    """Hand a chart over as a file."""
    chart = found_by(jobs, job, Chart)
    return file_of(write_chart(chart, form, page, details=details), f"{chart.title}.{form}")
