"""Pictures: planned, changed by hand, and made from kits."""

import re
from collections.abc import Callable
from dataclasses import replace
from typing import Annotated, Literal

import numpy as np
from fastapi import APIRouter, Form, Query, Response, UploadFile

from laydown.app.demo import demo_drawing
from laydown.app.jobs import Jobs
from laydown.app.lessons.lessons import KeptLesson, keep_lesson, write_lesson
from laydown.app.library import Library
from laydown.app.matches.colors import Asking
from laydown.app.pictures import painting as painting_tasks
from laydown.app.pictures import plans as plan_views
from laydown.app.pictures.plans import (
    KeptPlan,
    PictureFile,
    PlanMade,
    PlanShown,
    kept_file,
    kept_plan,
    opened,
    painted,
)
from laydown.errors import BadEditError, BadFileError, UnknownNameError
from laydown.plan.lesson.lesson import Lesson
from laydown.plan.picture.edits import Edit
from laydown.plan.picture.picture import PlanRules
from laydown.web import asking as ask
from laydown.web.desk import AtDesk, AtJobs, AtLibrary, Desk
from laydown.web.faces import Beside, changes, of_library, shows
from laydown.web.files import file_of, hands, is_chosen, sent_file, sent_pictures
from laydown.web.long_work import asked_by, asks, finds, found_by, jobs_of, starts

# Pictures: one is sent and planned as a job, looked at in its values, and kept to be worked on.
#
# The picture lies in the job that plans it, so that steps, light and size can be chosen anew
# without sending it again. A plan that is kept lies in the library; its page is in
# `laydown.web.pages.pictures`.

router = APIRouter()
TASK, SHOWN_AT = "plan_picture", "/picture/planned"
MOST_PLACES = 12
LONGEST_PLACES = 600
Steps = Annotated[int, Form(ge=2, le=9)]
Lights = Literal["as it is", "paper", "white", "gray", "value", "chart"]
NAMED = {"paper": "paper", "white": "90%", "gray": "gray"}
"""What each kind is called for `laydown.app.pictures.plans`; a usual white paper has 90 %."""


@shows(router, "/pictures", "pictures.html.j2")
def pictures(library: AtLibrary, jobs: AtJobs, job: ask.Count = 0) -> Beside:
    """List the plans of pictures, with the form for a new one; with a job, as it was asked then."""
    asked = asked_by(jobs, job, PictureFile) if job else PictureFile(b"", "")
    light, known, places = said_of(asked.white)
    return {
        "plans": plan_views.kept_plans(library),
        "planned": jobs_of(jobs, TASK),
        "painted": jobs_of(jobs, "paint_plan"),
        "asked": {
            "job": job,
            "source": asked.source,
            "title": asked.title,
            "rules": asked.rules,
            "light": light,
            "known": known,
            "places": places,
            "paper": asked.paper,
            "page": asked.page,
        },
    }


def said_of(white: tuple[str, ...]) -> tuple[str, float | None, str]:
    """Return the kind, the value and the places that `white_of` made texts of.

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

    Raises `BadFileError` where a place or a value is due and none is said, or too many places are.

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


@starts(router, "/pictures", TASK, SHOWN_AT, _called, mended_at="/pictures")
def plan_sent_picture(
    *,
    jobs: AtJobs,
    file: UploadFile | None = None,
    job: ask.CountSent = 0,
    title: ask.Line = "",
    steps: Steps = 5,
    even: Annotated[bool, Form()] = False,
    colors: Annotated[int | None, Form(ge=1, le=60)] = None,
    width: Annotated[float, Form(ge=20, le=2000, allow_inf_nan=False)] = 180.0,
    least: Annotated[float, Form(ge=0, le=10_000, allow_inf_nan=False)] = 25.0,
    tip: Annotated[float, Form(ge=0, le=50, allow_inf_nan=False)] = 2.0,
    light: Annotated[Lights, Form()] = "as it is",
    known: Annotated[float | None, Form(ge=0.1, le=10, allow_inf_nan=False)] = None,
    places: Annotated[str, Form(max_length=LONGEST_PLACES)] = "",
    paper: ask.Line = "",
    page: Annotated[int, Form(ge=1, le=1000)] = 1,
) -> PictureFile:
    """Plan a picture that is sent, or that of an earlier job once more."""
    if job and not is_chosen(file):
        picture = asked_by(jobs, job, PictureFile)
    else:
        (sent,) = sent_pictures([file])
        picture = PictureFile(sent.content, sent.source)
    return replace(
        picture,
        title=" ".join(title.split()),
        rules=PlanRules(steps, even, colors, width, least, tip),
        white=white_of(light, known, places),
        paper=paper,
        page=page,
    )


@starts(router, "/pictures/demo", TASK, SHOWN_AT, _called)
def demo() -> PictureFile:
    """Plan the demo's drawing, which is invented like all of it."""
    drawing = demo_drawing()
    return replace(drawing, title=f"{drawing.title} (invented)")


@starts(router, "/picture/steps", TASK, SHOWN_AT, _called)
def other_steps(jobs: AtJobs, job: ask.NumberSent, steps: Steps) -> PictureFile:
    """Plan the picture of an earlier job in another number of steps."""
    asked = asked_by(jobs, job, PictureFile)
    return replace(asked, rules=replace(asked.rules, steps=steps))


picture_asked = asks(PictureFile)
plan_made = finds(tuple, TASK, "paint_plan")
hands(router, "/pictures/sent", picture_asked, plan_views.picture_sent, "picture.webp", shown=True)
shows(router, SHOWN_AT, "picture_planned.html.j2", beside=picture_asked)(
    finds(tuple, TASK, "paint_plan", part=0)
)


def _made_by(jobs: Jobs, job: int) -> PlanMade:
    return found_by(jobs, job, tuple, TASK, "paint_plan")


KEPT_HERE = "“{0.title}” is kept here."


@changes(router, "/picture/keep", "/picture?number={0.number}", KEPT_HERE)
def keep(library: AtLibrary, jobs: AtJobs, job: ask.NumberSent) -> KeptPlan:
    """Keep the plan that a job made."""
    shown, made, _ = _made_by(jobs, job)
    return plan_views.keep_plan(library, made, source=shown.title)


@changes(router, "/pictures/open", "/picture?number={0.number}", KEPT_HERE)
def reopen(library: AtLibrary, file: UploadFile) -> KeptPlan:
    """Keep the plan in a file that was saved before."""
    opened = sent_file(file)
    return plan_views.keep_plan(library, opened.content, source=opened.source)


MOST_NUMBERS = 20_000
USUAL_STEPS = 2
"""Of a picture's recipes, as at the command line."""
Ways = Literal["merge", "split", "passage", "role", "color"]
Roles = Literal["", "highlight", "light", "midtone", "shadow", "accent"]
Views = Literal["picture", "steps", "colors", "numbers", "map"]


def _at_plan(library: AtLibrary, number: ask.Number) -> Beside:
    return {"kept": kept_plan(library, number), "asking": replace(Asking(), steps=USUAL_STEPS)}


@shows(router, "/picture", "picture.html.j2", beside=_at_plan)
def plan_page(library: AtLibrary, number: ask.Number) -> PlanShown:
    """Show a plan that is kept."""
    return plan_views.told(kept_file(library, number))


@changes(
    router,
    "/picture/change",
    "/picture?number={0.number}#regions",
    lambda kept: f"Done: {kept.changes[-1]}.",
)
def change(
    *,
    library: AtLibrary,
    number: ask.NumberSent,
    revision: ask.CountSent,
    do: Annotated[Ways, Form()],
    regions: Annotated[str, Form(max_length=MOST_NUMBERS)] = "",
    at: Annotated[float | None, Form(ge=0, le=10, allow_inf_nan=False)] = None,
    passage: ask.Line = "",
    role: Annotated[Roles, Form()] = "",
    color: ask.Line = "",
    to: ask.Line = "",
) -> KeptPlan:
    """Merge regions of a plan, split one, color them, or say which passage or role they are of."""
    numbers = numbers_in(regions)
    if do == "split" and len(numbers) > 1:
        raise BadEditError(f"{len(numbers)} regions are chosen.", hint="Choose one to split.")
    edits: dict[str, Callable[[], Edit]] = {
        "merge": lambda: Edit("merge", numbers),
        "split": lambda: Edit("split", numbers, at),
        "passage": lambda: Edit("assign", numbers, passage=passage),
        "role": lambda: Edit("assign", numbers, role=role),
        "color": lambda: painted(library, numbers, color, to),
    }
    return plan_views.change_plan(library, number, revision, edits[do]())


def numbers_in(text: str) -> tuple[int, ...]:
    """Read the numbers of regions.

    Raises `BadEditError` for what is no number, or none at all.

    >>> numbers_in("3, 4 5")
    (3, 4, 5)
    """
    found = [part for part in re.split(r"[\s,;]+", text) if part]
    wrong = [part for part in found if not re.fullmatch("[0-9]{1,5}", part)]
    if wrong or not found:
        raise BadEditError(
            f"“{wrong[0][:20]}” is no number of a region." if wrong else "No region is chosen.",
            hint="Tap regions in the drawing, or type their numbers: 3 4 5.",
        )
    return tuple(dict.fromkeys(map(int, found)))


@changes(
    router, "/picture/back", "/picture?number={0.number}#regions", "The last change is taken back."
)
def back(library: AtLibrary, number: ask.NumberSent, revision: ask.CountSent) -> KeptPlan:
    """Take back what was changed last in a plan."""
    return plan_views.change_plan(library, number, revision, None)


changes(
    router, "/picture/remove", "/pictures", "“{0.title}” is put away; History takes that back."
)(of_library(plan_views.forget_plan, number=ask.NumberSent))


@router.get("/picture/file", response_class=Response)
def file(library: AtLibrary, number: ask.Number) -> Response:
    """Hand a plan over as a file, to be opened again here or at the command line."""
    return file_of(kept_file(library, number), f"{kept_plan(library, number).title}.plan")


@router.get("/picture/changes", response_class=Response)
def changes_file(library: AtLibrary, number: ask.Number) -> Response:
    """Hand over what was changed in a plan, as a text."""
    kept = kept_plan(library, number)
    return file_of(plan_views.text_of(kept.changes), f"{kept.title} changes.txt")


def _lesson(library: Library, number: int, title: str, paper: str) -> Lesson:
    return plan_views.lesson_from_plan(
        kept_file(library, number), plan_views.KEPT, title=title, paper=paper
    )


@router.get("/picture/lesson", response_class=Response)
def lesson(
    library: AtLibrary, number: ask.Number, title: ask.Name = "", paper: ask.Name = ""
) -> Response:
    """Make a lesson of a plan, as a file."""
    made = _lesson(library, number, title, paper)
    return file_of(write_lesson(made), f"{made.title}.lesson.txt")


@changes(
    router, "/picture/lesson", "/lesson?number={0.number}", "“{0.title}” is among your lessons."
)
def to_lessons(
    library: AtLibrary, number: ask.NumberSent, title: ask.Line = "", paper: ask.Line = ""
) -> KeptLesson:
    """Make a lesson of a plan, and keep it among the others."""
    made = _lesson(library, number, title, paper)
    return keep_lesson(library, write_lesson(made), made.title)


@router.get("/picture/view", response_class=Response)
def view(
    *,
    desk: AtDesk,
    what: Views,
    number: ask.Count = 0,
    job: ask.Count = 0,
    kit: Annotated[int, Query(ge=0, le=20)] = 0,
    values: bool = False,
) -> Response:
    """Show a plan's picture: the original, its steps, its colors, a kit's colors, its numbers.

    The plan is one that is kept, or that of a job; a kit is one of a job, counted from 1.
    """
    shown = opened(_file(desk, number, job))
    if what == "picture":
        return file_of(plan_views.picture_itself(shown, values_only=values), "it.webp", shown=True)
    drawn = {
        "steps": lambda: plan_views.in_steps(shown),
        "numbers": lambda: plan_views.with_numbers(shown, values_only=values),
        "map": lambda: plan_views.map_of_regions(shown),
        "colors": lambda: plan_views.in_colors(
            shown, _kits_colors(desk.jobs, job, kit) if kit else None, values_only=values
        ),
    }
    return file_of(drawn[what](), f"{what}.png", shown=True)


def _file(desk: Desk, number: int, job: int) -> bytes:
    if number:
        return kept_file(desk.library, number)
    return _made_by(desk.jobs, job)[1]


def _kits_colors(jobs: Jobs, job: int, kit: int) -> np.ndarray:
    kits = _made_by(jobs, job)[0].kits
    if kit > len(kits):
        raise UnknownNameError(f"There are {len(kits)} kits in job {job}.")
    return kits[kit - 1].shown


MOST_KITS = 20
Forms = Literal["pdf", "svg", "html"]
Pages = Literal["A5", "A4", "A3", "Letter"]


def _planned_picture(library: Library, number: int) -> PictureFile:
    title = kept_plan(library, number).title
    return PictureFile(kept_file(library, number), f"{title}.plan", title)


def _named(asked: painting_tasks.PaintPlan) -> str:
    supplies = (asked.asking or Asking()).supplies
    own = supplies.kit or ", ".join(supplies.ranges)
    return (
        f"{asked.picture.title} from {', '.join(filter(None, [own, *asked.beside])) or 'the range'}"
    )


@starts(router, "/picture/recipes", "paint_plan", "/picture/recipes", _named)
def paint(
    library: AtLibrary,
    asking: ask.AskingSent,
    number: ask.NumberSent,
    beside: ask.Line = "",
    values_only: Annotated[bool, Form()] = False,
) -> painting_tasks.PaintPlan:
    """Find recipes for a plan that is kept, from one kit or from two side by side."""
    others = (beside,) if beside else ()
    return painting_tasks.PaintPlan(_planned_picture(library, number), asking, others, values_only)


def _plan_painted(library: AtLibrary, jobs: AtJobs, job: ask.Number) -> int | None:
    return plan_views.number_of(library, _made_by(jobs, job)[1])


shows(router, "/picture/recipes", "picture_recipes.html.j2", beside=_plan_painted)(
    finds(tuple, TASK, "paint_plan", part=0)
)
hands(
    router,
    "/picture/preview",
    plan_made,
    lambda found: found[2],  # original, plan and kits side by side
    "{0[0].title}.png",
)


@starts(router, "/picture/print", "print_plan", "/picture/printed", "A print of {0.picture.title}")
def print_one(
    *,
    library: AtLibrary,
    jobs: AtJobs,
    number: ask.CountSent = 0,
    job: ask.CountSent = 0,
    kit: Annotated[int, Form(ge=1, le=MOST_KITS)] = 1,
    form: Annotated[Forms, Form()] = "pdf",
    page: Annotated[Pages, Form()] = "A4",
) -> painting_tasks.PaintPlan:
    """Print a plan that is kept, or one with the recipes that a job found."""
    if number:
        return painting_tasks.PaintPlan(_planned_picture(library, number), form=form, page=page)
    asked = asked_by(jobs, job, painting_tasks.PaintPlan)
    kits = painting_tasks.askings(library, asked.asking or Asking(), asked.beside)
    if kit > len(kits):
        raise UnknownNameError(f"There are {len(kits)} kits in job {job}.")
    return painting_tasks.PaintPlan(
        asked.picture, kits[kit - 1], values_only=asked.values_only, form=form, page=page
    )


shows(router, "/picture/printed", "picture_printed.html.j2", beside=asks(painting_tasks.PaintPlan))(
    finds(tuple, "print_plan", part=0)
)


@router.get("/picture/printed/file", response_class=Response)
def printed_file(jobs: AtJobs, job: ask.Number) -> Response:
    """Hand over a print."""
    _, document = found_by(jobs, job, tuple, "print_plan")
    asked = asked_by(jobs, job, painting_tasks.PaintPlan)
    return file_of(document, f"{asked.picture.title}.{asked.form}")
