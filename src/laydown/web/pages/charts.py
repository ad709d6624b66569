"""Charts: a list of colors, each with the recipe that comes nearest."""

from dataclasses import dataclass
from typing import Annotated, Literal

from fastapi import APIRouter, Form, Query, Response, UploadFile

from laydown.app.jobs import Job
from laydown.app.make_chart import MakeChart
from laydown.app.write_chart import WriteChart, write_chart
from laydown.errors import BadFileError
from laydown.plan.chart import Chart
from laydown.web.asking import LONGEST, AskingSent, named
from laydown.web.choices import Choices, choices_of
from laydown.web.desk import AtJobs, AtLibrary
from laydown.web.downloads import file_of
from laydown.web.faces import shows
from laydown.web.fields import lines_of
from laydown.web.long_work import LARGEST, JobNumber, asked_by, found_by, jobs_of, starts

router = APIRouter()
TASK = "make_chart"
MOST_TEXT = 200_000
Line = Annotated[str, Form(max_length=LONGEST)]


@dataclass(frozen=True, slots=True)
class ChartsMade:
    """The charts that were asked for, the latest first."""

    charts: tuple[Job, ...]


@dataclass(frozen=True, slots=True)
class ChartsAround:
    """What the form shows: names to choose from, and what it begins with."""

    choices: Choices
    asked: MakeChart


def charts_around(
    library: AtLibrary, jobs: AtJobs, job: Annotated[int, Query(ge=0, le=LARGEST)] = 0
) -> ChartsAround:
    """Return what the form shows: nothing yet, or what a job was asked."""
    asked = asked_by(jobs, job, MakeChart) if job else MakeChart()
    return ChartsAround(choices_of(library), asked)


@shows(router, "/charts", "charts.html.j2", beside=charts_around)
def charts(jobs: AtJobs) -> ChartsMade:
    """List the charts that were made."""
    return ChartsMade(jobs_of(jobs, TASK))


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
    colors = tuple(lines_of(pasted))
    listed = file.file.read(MOST_TEXT) if file is not None and file.filename else None
    if not (colors or listed or colors_of):
        raise BadFileError(
            "No color was named.",
            hint="Type one a line, choose a file, or choose a range.",
        )
    source = (file.filename or "") if file is not None and listed else ""
    return MakeChart(title, colors, listed, source, range=colors_of, asking=asking)


def chart_of(jobs: AtJobs, job: JobNumber) -> Chart:
    """Show a chart that was made."""
    return found_by(jobs, job, Chart)


@dataclass(frozen=True, slots=True)
class Arranged:
    """How the rows of a chart are shown.

    Parameters
    ----------
    job
        That made it.
    order
        Of the rows.
    only
        The one verdict that is shown; empty for all.
    """

    job: int
    order: str
    only: str


def arranged(
    job: JobNumber,
    order: Literal["coloring", "off", "value"] = "coloring",
    only: Literal[
        "", "same", "same but for value", "same but for hue", "needs another layer", "out of reach"
    ] = "",
) -> Arranged:
    """Read how the rows are to be shown."""
    return Arranged(job, order, only)


shows(router, "/chart", "chart.html.j2", beside=arranged)(chart_of)


@router.get("/chart/file", response_class=Response)
def chart_file(
    jobs: AtJobs,
    job: JobNumber,
    form: Literal["pdf", "html", "csv", "json"] = "pdf",
    page: Literal["A4", "Letter"] = "A4",
) -> Response:
    """Hand a chart over as a file."""
    chart = found_by(jobs, job, Chart)
    return file_of(write_chart(WriteChart(chart, form, page)), f"{chart.title}.{form}")
