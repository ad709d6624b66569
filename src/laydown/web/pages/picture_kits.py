"""A plan as kits would make it: recipes, the picture beside the original, and prints of it."""

from dataclasses import dataclass
from typing import Annotated, Literal

from fastapi import APIRouter, Form, Response

from laydown.app.opening import Library
from laydown.app.paint_plan import PaintingShown, PaintPlan, PlanPainted, askings
from laydown.app.plan_files import PictureFile
from laydown.app.plan_shelf import kept_file, kept_plan, number_of
from laydown.app.print_plan import PlanPrinted, PrintPlan, PrintShown
from laydown.color.arrays import FloatArray
from laydown.errors import UnknownNameError
from laydown.web.asking import LONGEST, AskingSent
from laydown.web.desk import AtJobs, AtLibrary
from laydown.web.downloads import file_of
from laydown.web.faces import shows
from laydown.web.long_work import LARGEST, JobNumber, asked_by, found_by, starts
from laydown.web.pages.plan import Sent
from laydown.web.paper_color import color_of_paper

router = APIRouter()
MOST_KITS = 20
Forms = Literal["pdf", "svg", "html"]
Pages = Literal["A5", "A4", "A3", "Letter"]


@dataclass(frozen=True, slots=True, eq=False)
class AtPainting:
    """What the page of a picture from kits shows besides.

    Parameters
    ----------
    job
        That found the recipes.
    plan
        The number of the plan, if it is still kept as it was then.
    paper
        Shape (3,), the CIELAB color of the paper.
    """

    job: int
    plan: int | None
    paper: FloatArray


@dataclass(frozen=True, slots=True)
class AtPrint:
    """What the page of a print shows besides: the job that made it, its form and its page."""

    job: int
    form: str
    page: str


def _picture(library: Library, number: int) -> PictureFile:
    title = kept_plan(library, number).title
    return PictureFile(kept_file(library, number), f"{title}.plan", title)


def _named(asked: PaintPlan) -> str:
    supplies = asked.asking.supplies
    own = supplies.kit or ", ".join(supplies.ranges)
    return (
        f"{asked.picture.title} from {', '.join(filter(None, [own, *asked.beside])) or 'the range'}"
    )


@starts(router, "/picture/recipes", task="paint_plan", shown_at="/picture/recipes", title=_named)
def paint(
    library: AtLibrary,
    asking: AskingSent,
    number: Sent,
    beside: Annotated[str, Form(max_length=LONGEST)] = "",
    values_only: Annotated[bool, Form()] = False,
) -> PaintPlan:
    """Find recipes for a plan that is kept, from one kit or from two side by side."""
    others = (beside,) if beside else ()
    return PaintPlan(_picture(library, number), asking, others, values_only)


def _at_painting(library: AtLibrary, jobs: AtJobs, job: JobNumber) -> AtPainting:
    found = found_by(jobs, job, PlanPainted)
    paper = color_of_paper(library, found.shown.kits[0].paper)
    return AtPainting(job, number_of(library, found.file), paper)


@shows(router, "/picture/recipes", "picture_recipes.html.j2", beside=_at_painting)
def painting(jobs: AtJobs, job: JobNumber) -> PaintingShown:
    """Show a picture as kits would make it, with the recipe of each color."""
    return found_by(jobs, job, PlanPainted).shown


@router.get("/picture/preview", response_class=Response)
def preview(jobs: AtJobs, job: JobNumber) -> Response:
    """Hand over original, plan and kits side by side, as one picture."""
    found = found_by(jobs, job, PlanPainted)
    return file_of(found.preview, f"{found.shown.plan.title}.png")


def _print_named(asked: PrintPlan) -> str:
    return f"A print of {asked.picture.title}"


@starts(
    router, "/picture/print", task="print_plan", shown_at="/picture/printed", title=_print_named
)
def print_one(
    *,
    library: AtLibrary,
    jobs: AtJobs,
    number: Annotated[int, Form(ge=0, le=LARGEST)] = 0,
    job: Annotated[int, Form(ge=0, le=LARGEST)] = 0,
    kit: Annotated[int, Form(ge=1, le=MOST_KITS)] = 1,
    form: Annotated[Forms, Form()] = "pdf",
    page: Annotated[Pages, Form()] = "A4",
) -> PrintPlan:
    """Print a plan that is kept, or one with the recipes that a job found."""
    if number:
        return PrintPlan(_picture(library, number), form=form, page=page)
    asked = asked_by(jobs, job, PaintPlan)
    kits = askings(library, asked.asking, asked.beside)
    if kit > len(kits):
        raise UnknownNameError(f"There are {len(kits)} kits in job {job}.")
    return PrintPlan(
        asked.picture,
        kits[kit - 1],
        values_only=asked.values_only,
        form=form,
        page=page,
    )


def _at_print(jobs: AtJobs, job: JobNumber) -> AtPrint:
    asked = asked_by(jobs, job, PrintPlan)
    return AtPrint(job, asked.form, asked.page)


@shows(router, "/picture/printed", "picture_printed.html.j2", beside=_at_print)
def printed(jobs: AtJobs, job: JobNumber) -> PrintShown:
    """Show what was printed of a plan, and hand it over."""
    return found_by(jobs, job, PlanPrinted).shown


@router.get("/picture/printed/file", response_class=Response)
def printed_file(jobs: AtJobs, job: JobNumber) -> Response:
    """Hand over a print."""
    found, asked = found_by(jobs, job, PlanPrinted), asked_by(jobs, job, PrintPlan)
    return file_of(found.document, f"{asked.picture.title}.{asked.form}")
