"""Light: which matches hold under a lamp, in a window or in a gallery, and which break there."""

from dataclasses import dataclass
from typing import Annotated, Literal

from fastapi import APIRouter, Depends, Form, Query, Response
from pydantic import Field

from laydown.app.check_light import CheckLight, ColorUnderLights, LightChecked, lights_named
from laydown.app.jobs import Job
from laydown.app.keep_lesson import KeptLesson
from laydown.app.list_lessons import list_lessons
from laydown.app.match_color import Asking
from laydown.app.plan_shelf import KeptPlan, kept_plans
from laydown.app.write_report import WriteReport, write_report
from laydown.color.arrays import FloatArray
from laydown.color.light_names import DAY, NamedLight, named_lights
from laydown.color.value import value_from_lab
from laydown.errors import BadFileError
from laydown.plan.lights import Holding, UnderLight
from laydown.web.asking import LONGEST, LONGEST_RECIPE, AskingOf, AskingSent
from laydown.web.choices import Choices, choices_of
from laydown.web.colors_sent import ColorsOf, chart_asked, charts_of
from laydown.web.desk import AtDesk, AtJobs, AtLibrary
from laydown.web.downloads import file_of
from laydown.web.faces import shows
from laydown.web.long_work import LARGEST, JobNumber, found_by, jobs_of, starts
from laydown.web.paper_color import color_of_paper

router = APIRouter()
TASK = "check_light"
TASKS = (TASK, "forecast_life")
ON_A_PAGE = 12
MOST_LIGHTS = 20
Place = Annotated[int, Query(ge=0, le=LARGEST)]
Holds = Literal["", "holds", "drifts", "breaks"]


@dataclass(frozen=True, slots=True)
class LightAsked:
    """What was asked about light before, the latest first."""

    asked: tuple[Job, ...]


@dataclass(frozen=True, slots=True, eq=False)
class ToAsk:
    """What a form about light shows besides.

    Parameters
    ----------
    wanted, chart, lesson, plan, asking
        As the address says them, for the form to begin with: a color, the job of a chart, the
        numbers of a lesson and of a picture's plan, supplies.
    choices
        Names to choose from.
    charts, lessons, plans
        Whose colors can be asked about.
    lights
        All but the light that matches are made for.
    """

    wanted: str
    chart: int
    lesson: int
    plan: int
    asking: Asking
    choices: Choices
    charts: tuple[Job, ...]
    lessons: tuple[KeptLesson, ...]
    plans: tuple[KeptPlan, ...]
    lights: tuple[NamedLight, ...]


def to_ask(
    *,
    desk: AtDesk,
    asking: AskingOf,
    wanted: Annotated[str, Query(max_length=LONGEST_RECIPE)] = "",
    chart: Place = 0,
    lesson: Place = 0,
    plan: Place = 0,
) -> ToAsk:
    """Return what a form about light shows besides; a chart brings its own supplies along."""
    if chart:
        asking = chart_asked(desk.jobs, chart).asking
    return ToAsk(
        wanted,
        chart,
        lesson,
        plan,
        asking,
        choices_of(desk.library),
        charts_of(desk.jobs),
        list_lessons(desk.library).lessons,
        kept_plans(desk.library),
        tuple(one for one in named_lights() if one.cie != DAY),
    )


@shows(router, "/light", "light.html.j2", beside=to_ask)
def light(jobs: AtJobs) -> LightAsked:
    """List what was asked about light."""
    return LightAsked(jobs_of(jobs, *TASKS))


def _called(asked: CheckLight) -> str:
    what = asked.colors[0] if len(asked.colors) == 1 else asked.source or "Colors"
    return f"{what} under other lights"


@starts(router, "/light/check", task=TASK, shown_at="/light/checked", title=_called)
def check(
    colors: ColorsOf,
    asking: AskingSent,
    light: Annotated[
        list[Annotated[str, Field(max_length=LONGEST)]], Form(max_length=MOST_LIGHTS)
    ] = [],  # noqa: B006  FastAPI copies it
) -> CheckLight:
    """Match colors by day, then see the matches under other lights."""
    if not colors:
        raise BadFileError(
            "No color was named.",
            hint="Type one a line, choose a file, a lesson, a plan or a chart.",
        )
    named = tuple(name for name in light if name)
    lights_named(named)
    return CheckLight(colors.colors, colors.file, colors.source, named, asking)


def checked(jobs: AtJobs, job: JobNumber) -> LightChecked:
    """Show which matches hold."""
    return found_by(jobs, job, LightChecked)


@dataclass(frozen=True, slots=True, eq=False)
class Arranged:
    """How a check is shown.

    Parameters
    ----------
    job
        That made it.
    only
        The one verdict that is shown; empty for all.
    skip
        How many colors stand before the first one shown.
    count
        How many there are of that verdict.
    colors
        Those shown, each with its number.
    alone
        The one color that is shown by itself; None for the list.
    paper
        Shape (3,), CIELAB of the paper.
    """

    job: int
    only: str
    skip: int
    count: int
    colors: tuple[tuple[int, ColorUnderLights], ...]
    alone: ColorUnderLights | None
    paper: FloatArray

    def values(self, seen: UnderLight) -> tuple[float, float]:
        """Return the values of the color wanted and of the match under a light."""
        return float(value_from_lab(seen.wanted)), float(value_from_lab(seen.lab))

    def link(self, skip: int) -> str:
        """Return the address of the colors that begin at one."""
        return f"/light/checked?job={self.job}&only={self.only}&skip={skip}"

    @property
    def earlier(self) -> str:
        """The address of the colors before these."""
        return self.link(max(self.skip - ON_A_PAGE, 0))


def arranged(
    *,
    library: AtLibrary,
    found: Annotated[LightChecked, Depends(checked)],
    job: JobNumber,
    only: Holds = "",
    skip: Place = 0,
    color: Place = 0,
) -> Arranged:
    """Choose what of a check is shown: a page of the list, or one color by its number."""
    numbered = tuple(enumerate(found.colors, 1))
    chosen = tuple(one for one in numbered if not only or one[1].check.holding is Holding(only))
    number = 1 if len(numbered) == 1 else color
    alone = found.colors[number - 1] if 0 < number <= len(numbered) else None
    shown = chosen[skip : skip + ON_A_PAGE]
    paper = color_of_paper(library, found.paper)
    return Arranged(job, only, skip, len(chosen), shown, alone, paper)


shows(router, "/light/checked", "light_checked.html.j2", beside=arranged)(checked)


@router.get("/light/checked/file", response_class=Response)
def checked_file(
    jobs: AtJobs,
    job: JobNumber,
    form: Literal["pdf", "html", "csv", "json"] = "pdf",
    page: Literal["A4", "Letter"] = "A4",
) -> Response:
    """Hand a check over as a file."""
    found = found_by(jobs, job, LightChecked)
    content = write_report(WriteReport(found, form, page))
    return file_of(content, f"{found.title} under other lights.{form}")
