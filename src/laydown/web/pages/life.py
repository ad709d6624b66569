"""Life on a wall: how long a picture keeps its colors in a light, and what goes first."""

from dataclasses import dataclass
from typing import Annotated, Literal

from fastapi import APIRouter, Depends, Form, Response

from laydown.app.forecast_life import ForecastLife, LifeForecast, PartLife
from laydown.app.write_report import WriteReport, write_report
from laydown.color.arrays import FloatArray
from laydown.errors import BadFileError, TooLargeError
from laydown.media.exposure import Exposure, parse_span
from laydown.web.asking import LONGEST, AskingSent
from laydown.web.colors_sent import MOST_TEXT, ColorsOf
from laydown.web.desk import AtJobs, AtLibrary
from laydown.web.downloads import file_of
from laydown.web.faces import shows
from laydown.web.fields import lines_of
from laydown.web.long_work import JobNumber, found_by, starts
from laydown.web.pages.light import Place, light, to_ask
from laydown.web.paper_color import color_of_paper

router = APIRouter()
ON_A_PAGE = 25
MOST_LAID = 200
"""Recipes in one picture, as they were laid."""
Glass = Literal["none", "plain", "filter"]

shows(router, "/light/wall", "wall.html.j2", beside=to_ask)(light)


def exposure_sent(
    lux: Annotated[str, Form(min_length=1, max_length=LONGEST)],
    hours: Annotated[float, Form(gt=0, le=24, allow_inf_nan=False)] = 8.0,
    days: Annotated[float, Form(gt=0, le=366, allow_inf_nan=False)] = 365.0,
    glass: Annotated[Glass, Form()] = "none",
) -> Exposure:
    """Read the light on a wall."""
    return Exposure(parse_span(lux, "light in lux"), hours, days, filtered=glass == "filter")


def _called(asked: ForecastLife) -> str:
    one = asked.colors + asked.laid
    what = one[0] if len(one) == 1 else asked.source or "Colors"
    return f"{what} on a wall"


@starts(router, "/light/wall", task="forecast_life", shown_at="/light/lasting", title=_called)
def forecast(
    *,
    colors: ColorsOf,
    asking: AskingSent,
    exposure: Annotated[Exposure, Depends(exposure_sent)],
    laid: Annotated[str, Form(max_length=MOST_TEXT)] = "",
    years: Annotated[float, Form(ge=0.1, le=100, allow_inf_nan=False)] = 10.0,
    swaps: Annotated[int, Form(ge=0, le=20)] = 3,
) -> ForecastLife:
    """Forecast how long colors last on a wall: wanted ones, matched first, or recipes as laid."""
    recipes = tuple(lines_of(laid))
    if len(recipes) > MOST_LAID:
        raise TooLargeError(
            f"There are {len(recipes)} recipes; {MOST_LAID} are taken at once.",
            hint="Ask in parts.",
        )
    if not (colors or recipes):
        raise BadFileError(
            "Nothing was named that hangs on the wall.",
            hint="Type colors or recipes one a line, choose a file, a lesson, a plan or a chart.",
        )
    return ForecastLife(
        exposure,
        colors.colors,
        recipes,
        colors.file,
        colors.source,
        asking,
        wanted=years,
        swaps=swaps,
    )


def lasting(jobs: AtJobs, job: JobNumber) -> LifeForecast:
    """Show how long a picture lasts, and what goes first."""
    return found_by(jobs, job, LifeForecast)


@dataclass(frozen=True, slots=True, eq=False)
class Around:
    """What the page of a forecast shows besides.

    Parameters
    ----------
    job
        That made it.
    skip
        How many parts stand before the first one shown.
    parts
        Those with a forecast that are shown, each with its place in the order of going.
    count
        How many have a forecast.
    unknown
        Those without.
    paper
        Shape (3,), CIELAB of the paper.
    """

    job: int
    skip: int
    parts: tuple[tuple[int, PartLife], ...]
    count: int
    unknown: tuple[PartLife, ...]
    paper: FloatArray

    def link(self, skip: int) -> str:
        """Return the address of the parts that begin at one."""
        return f"/light/lasting?job={self.job}&skip={skip}"

    @property
    def earlier(self) -> str:
        """The address of the parts before these."""
        return self.link(max(self.skip - ON_A_PAGE, 0))


def around(
    library: AtLibrary,
    found: Annotated[LifeForecast, Depends(lasting)],
    job: JobNumber,
    skip: Place = 0,
) -> Around:
    """Choose what of a forecast is shown."""
    known = [part for part in found.parts if part.noticeable]
    unknown = tuple(part for part in found.parts if not part.noticeable)
    numbered = tuple(enumerate(known, 1))[skip : skip + ON_A_PAGE]
    paper = color_of_paper(library, found.paper)
    return Around(job, skip, numbered, len(known), unknown[:ON_A_PAGE], paper)


shows(router, "/light/lasting", "lasting.html.j2", beside=around)(lasting)


@router.get("/light/lasting/file", response_class=Response)
def lasting_file(
    jobs: AtJobs,
    job: JobNumber,
    form: Literal["pdf", "html", "csv", "json"] = "pdf",
    page: Literal["A4", "Letter"] = "A4",
) -> Response:
    """Hand a forecast over as a file."""
    found = found_by(jobs, job, LifeForecast)
    content = write_report(WriteReport(found, form, page))
    return file_of(content, f"{found.title}, life on a wall.{form}")
