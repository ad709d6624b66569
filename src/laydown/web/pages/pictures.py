"""Pictures: one is sent and planned as a job, looked at in its values, and kept to be worked on.

The picture lies in the job that plans it, so that steps, light and size can be chosen anew without
sending it again. A plan that is kept lies in the library; its page is in `laydown.web.pages.plan`.
"""

import re
from dataclasses import dataclass, field, replace
from typing import Annotated, Literal

from fastapi import APIRouter, Form, Query, Response, UploadFile

from laydown.app.demo_picture import demo_drawing
from laydown.app.jobs import Job, Jobs
from laydown.app.plan_files import PictureFile
from laydown.app.plan_shelf import KeptPlan, keep_plan, kept_plans
from laydown.app.plan_views import picture_sent
from laydown.app.show_plan import PlanMade, PlanShown
from laydown.errors import BadFileError
from laydown.plan.picture import PlanRules
from laydown.web.asking import LONGEST
from laydown.web.choices import choices_of
from laydown.web.desk import AtJobs, AtLibrary
from laydown.web.downloads import file_of
from laydown.web.faces import changes, shows
from laydown.web.long_work import LARGEST, JobNumber, asked_by, found_by, starts
from laydown.web.uploads import is_chosen, sent_file, sent_pictures

router = APIRouter()
TASK, SHOWN_AT = "plan_picture", "/picture/planned"
MOST_PLACES = 12
LONGEST_PLACES = 600
Line = Annotated[str, Form(max_length=LONGEST)]
Sent = Annotated[int, Form(ge=1, le=LARGEST)]
Steps = Annotated[int, Form(ge=2, le=9)]
Lights = Literal["as it is", "paper", "white", "gray", "value", "chart"]
NAMED = {"paper": "paper", "white": "90%", "gray": "gray"}
"""What each kind is called for `laydown.app.picture_light`; a usual white paper has 90 %."""


@dataclass(frozen=True, slots=True)
class PictureAsked:
    """What a picture is planned with, as the form shows it.

    Parameters
    ----------
    job
        Whose picture is planned again; 0 for a new one.
    source, title
        What its file, and the picture, are called.
    rules
        How it is planned.
    light, known, places
        What is of known color in it, its value where that is what is known, and where it is.
    paper
        That is meant by bare paper.
    page
        Of a file that has several.
    """

    job: int = 0
    source: str = ""
    title: str = ""
    rules: PlanRules = field(default_factory=PlanRules)
    light: str = "as it is"
    known: float | None = None
    places: str = ""
    paper: str = ""
    page: int = 1


@dataclass(frozen=True, slots=True)
class Pictures:
    """The plans that are kept, the work on pictures that is kept, and the form for a new one."""

    plans: tuple[KeptPlan, ...]
    planned: tuple[Job, ...]
    painted: tuple[Job, ...]
    asked: PictureAsked


@dataclass(frozen=True, slots=True)
class Planned:
    """What the page of a picture that was planned shows besides: how it was asked for."""

    asked: PictureAsked


@shows(router, "/pictures", "pictures.html.j2", beside=choices_of)
def pictures(
    library: AtLibrary, jobs: AtJobs, job: Annotated[int, Query(ge=0, le=LARGEST)] = 0
) -> Pictures:
    """List the plans of pictures, with the form for a new one; with a job, as it was asked then."""
    known = jobs.all()
    planned, painted = (
        tuple(one for one in known if one.task == task) for task in (TASK, "paint_plan")
    )
    asked = asked_in(asked_by(jobs, job, PictureFile), job) if job else PictureAsked()
    return Pictures(kept_plans(library), planned, painted, asked)


def asked_in(request: PictureFile, job: int) -> PictureAsked:
    """Return what a request says, as the form shows it."""
    light, known, places = said_of(request.white)
    return PictureAsked(
        job,
        request.source,
        request.title,
        request.rules,
        light,
        known,
        places,
        request.paper,
        request.page,
    )


def said_of(white: tuple[str, ...]) -> tuple[str, float | None, str]:
    """Return the kind, the value and the places that `white_of` made texts of.

    Examples
    --------
    >>> said_of(("value:8.8@2%,2%", "value:8.8@90%,2%"))
    ('value', 8.8, '2%,2%; 90%,2%')
    >>> said_of(("chart",)), said_of(())
    (('chart', None, ''), ('as it is', None, ''))
    """
    if not white or white == ("chart",):
        return ("chart" if white else "as it is"), None, ""
    kind = white[0].partition("@")[0]
    places = "; ".join(text.partition("@")[2] for text in white)
    if kind.startswith("value:"):
        return "value", float(kind.removeprefix("value:")), places
    return next(light for light, named in NAMED.items() if named == kind), None, places


def white_of(light: str, known: float | None, places: str) -> tuple[str, ...]:
    """Return what is of known color in a picture, each as ``what@where``.

    Raises
    ------
    BadFileError
        Where a place or a value is due and none is said, or too many places are.

    Examples
    --------
    >>> white_of("gray", None, "5%,5%; 90%,5%"), white_of("value", 8.8, "5%,5%")
    (('gray@5%,5%', 'gray@90%,5%'), ('value:8.8@5%,5%',))
    """
    if light in ("as it is", "chart"):
        return ("chart",) if light == "chart" else ()
    where = [place.strip() for place in re.split(r"[;\n]", places) if place.strip()]
    if not 0 < len(where) <= MOST_PLACES:
        raise BadFileError(
            f"Say where it is in the picture: 1 to {MOST_PLACES} places.",
            hint="Point at it in the picture, or write 5%,5% from its upper left corner.",
        )
    if light == "value" and known is None:
        raise BadFileError("Say which value it has.", hint="0 is black, 10 is white.")
    kind = NAMED.get(light) or f"value:{known:.3f}".rstrip("0").rstrip(".")
    return tuple(f"{kind}@{place}" for place in where)


def _called(asked: PictureFile) -> str:
    return f"Planning {asked.title or asked.source}"


@starts(router, "/pictures", task=TASK, shown_at=SHOWN_AT, mended_at="/pictures", title=_called)
def plan(
    *,
    jobs: AtJobs,
    file: UploadFile | None = None,
    job: Annotated[int, Form(ge=0, le=LARGEST)] = 0,
    title: Line = "",
    steps: Steps = 5,
    even: Annotated[bool, Form()] = False,
    colors: Annotated[int | None, Form(ge=1, le=60)] = None,
    width: Annotated[float, Form(ge=20, le=2000, allow_inf_nan=False)] = 180.0,
    least: Annotated[float, Form(ge=0, le=10_000, allow_inf_nan=False)] = 25.0,
    tip: Annotated[float, Form(ge=0, le=50, allow_inf_nan=False)] = 2.0,
    light: Annotated[Lights, Form()] = "as it is",
    known: Annotated[float | None, Form(ge=0.1, le=10, allow_inf_nan=False)] = None,
    places: Annotated[str, Form(max_length=LONGEST_PLACES)] = "",
    paper: Line = "",
    page: Annotated[int, Form(ge=1, le=1000)] = 1,
) -> PictureFile:
    """Plan a picture that is sent, or that of an earlier job once more."""
    picture = _picture(jobs, file, job)
    return replace(
        picture,
        title=" ".join(title.split()),
        rules=PlanRules(steps, even, colors, width, least, tip),
        white=white_of(light, known, places),
        paper=paper,
        page=page,
    )


def _picture(jobs: Jobs, file: UploadFile | None, job: int) -> PictureFile:
    if job and not is_chosen(file):
        return asked_by(jobs, job, PictureFile)
    (sent,) = sent_pictures([file])
    return PictureFile(sent.content, sent.name)


@starts(router, "/pictures/demo", task=TASK, shown_at=SHOWN_AT, title=_called)
def demo() -> PictureFile:
    """Plan the demo's drawing, which is invented like all of it."""
    drawing = demo_drawing()
    return replace(drawing, title=f"{drawing.title} (invented)")


@starts(router, "/picture/steps", task=TASK, shown_at=SHOWN_AT, title=_called)
def other_steps(jobs: AtJobs, job: Sent, steps: Steps) -> PictureFile:
    """Plan the picture of an earlier job in another number of steps."""
    asked = asked_by(jobs, job, PictureFile)
    return replace(asked, rules=replace(asked.rules, steps=steps))


@router.get("/pictures/sent", response_class=Response)
def sent(jobs: AtJobs, job: JobNumber) -> Response:
    """Show the picture that a job was sent, to point at places in it."""
    return file_of(picture_sent(asked_by(jobs, job, PictureFile)), "picture.webp", shown=True)


def _planned(jobs: AtJobs, job: JobNumber) -> Planned:
    return Planned(asked_in(asked_by(jobs, job, PictureFile), job))


@shows(router, SHOWN_AT, "picture_planned.html.j2", beside=_planned)
def planned(jobs: AtJobs, job: JobNumber) -> PlanShown:
    """Show a picture that was planned, before its plan is kept."""
    return found_by(jobs, job, PlanMade).shown


def plan_address(kept: KeptPlan) -> str:
    """Return the page of a plan that is kept."""
    return f"/picture?number={kept.number}"


def _kept(kept: KeptPlan) -> str:
    return f"“{kept.title}” is kept here."


@changes(router, "/picture/keep", leads_to=plan_address, says=_kept)
def keep(library: AtLibrary, jobs: AtJobs, job: Sent) -> KeptPlan:
    """Keep the plan that a job made."""
    found = found_by(jobs, job, PlanMade)
    return keep_plan(library, found.file, source=found.shown.title)


@changes(router, "/pictures/open", leads_to=plan_address, says=_kept)
def reopen(library: AtLibrary, file: UploadFile) -> KeptPlan:
    """Keep the plan in a file that was saved before."""
    opened = sent_file(file)
    return keep_plan(library, opened.content, source=opened.name)
