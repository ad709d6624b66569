"""A plan that is kept: looked at, its regions changed by hand, handed over as files."""

import re
from dataclasses import dataclass, replace
from typing import Annotated, Literal

import numpy as np
from fastapi import APIRouter, Form, Query, Response

from laydown.app import plan_views
from laydown.app.jobs import Jobs
from laydown.app.keep_lesson import KeepLesson, KeptLesson, keep_lesson
from laydown.app.lesson_from_plan import LessonFromPlan, lesson_from_plan
from laydown.app.match_color import Asking
from laydown.app.new_lesson import LessonMade
from laydown.app.opening import Library
from laydown.app.paint_plan import PlanPainted
from laydown.app.plan_shelf import (
    KEPT,
    ChangePlan,
    KeptPlan,
    change_plan,
    forget_plan,
    kept_file,
    kept_plan,
    opened,
    text_of,
    told,
)
from laydown.app.show_plan import PlanMade, PlanShown
from laydown.color.value import grays
from laydown.errors import BadEditError, UnknownNameError
from laydown.plan.picture_edits import Assign, Edit, Merge, Split
from laydown.web.asking import LONGEST, Name
from laydown.web.choices import Choices, choices_of
from laydown.web.desk import AtDesk, AtLibrary, Desk
from laydown.web.downloads import file_of
from laydown.web.faces import changes, shows
from laydown.web.long_work import LARGEST
from laydown.web.pages.lessons import lesson_address
from laydown.web.pages.pictures import Line, plan_address

router = APIRouter()
MOST_NUMBERS = 20_000
USUAL_STEPS = 2
"""Of a picture's recipes, as at the command line."""
Number = Annotated[int, Query(ge=1, le=LARGEST)]
Sent = Annotated[int, Form(ge=1, le=LARGEST)]
Either = Annotated[int, Query(ge=0, le=LARGEST)]
Ways = Literal["merge", "split", "passage", "role"]
Roles = Literal["", "highlight", "light", "midtone", "shadow", "accent"]
Views = Literal["picture", "steps", "colors", "numbers", "map"]


@dataclass(frozen=True, slots=True)
class AtPlan:
    """What the page of a plan shows besides.

    Parameters
    ----------
    kept
        What is known of it.
    choices
        Names to make it from.
    asking
        How recipes are looked for, unless something else is said.
    """

    kept: KeptPlan
    choices: Choices
    asking: Asking


def _at_plan(library: AtLibrary, number: Number) -> AtPlan:
    asking = replace(Asking(), steps=USUAL_STEPS)
    return AtPlan(kept_plan(library, number), choices_of(library), asking)


@shows(router, "/picture", "picture.html.j2", beside=_at_plan)
def plan(library: AtLibrary, number: Number) -> PlanShown:
    """Show a plan that is kept."""
    return told(kept_file(library, number))


@changes(
    router,
    "/picture/change",
    leads_to=lambda kept: f"{plan_address(kept)}#regions",
    says=lambda kept: f"Done: {kept.changes[-1]}.",
)
def change(
    *,
    library: AtLibrary,
    number: Sent,
    revision: Annotated[int, Form(ge=0, le=LARGEST)],
    do: Annotated[Ways, Form()],
    regions: Annotated[str, Form(max_length=MOST_NUMBERS)] = "",
    at: Annotated[float | None, Form(ge=0, le=10, allow_inf_nan=False)] = None,
    passage: Annotated[str, Form(max_length=LONGEST)] = "",
    role: Annotated[Roles, Form()] = "",
) -> KeptPlan:
    """Merge regions of a plan, split one, or say which passage or role they are of."""
    numbers = numbers_in(regions)
    edits: dict[str, Edit] = {
        "merge": Merge(numbers),
        "split": Split(numbers[0], at),
        "passage": Assign(numbers, passage=passage),
        "role": Assign(numbers, role=role),
    }
    if do == "split" and len(numbers) > 1:
        raise BadEditError(
            f"{len(numbers)} regions are chosen.",
            hint="Choose one to split.",
        )
    return change_plan(library, ChangePlan(number, revision, edits[do]))


def numbers_in(text: str) -> tuple[int, ...]:
    """Read the numbers of regions.

    Raises
    ------
    BadEditError
        For what is no number, or none at all.

    Examples
    --------
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
    router,
    "/picture/back",
    leads_to=lambda kept: f"{plan_address(kept)}#regions",
    says=lambda _: "The last change is taken back.",
)
def back(
    library: AtLibrary, number: Sent, revision: Annotated[int, Form(ge=0, le=LARGEST)]
) -> KeptPlan:
    """Take back what was changed last in a plan."""
    return change_plan(library, ChangePlan(number, revision, None))


@changes(
    router,
    "/picture/remove",
    leads_to=lambda _: "/pictures",
    says=lambda kept: f"“{kept.title}” is put away.",
)
def remove(library: AtLibrary, number: Sent) -> KeptPlan:
    """Put a plan away."""
    return forget_plan(library, number)


@router.get("/picture/file", response_class=Response)
def file(library: AtLibrary, number: Number) -> Response:
    """Hand a plan over as a file, to be opened again here or at the command line."""
    return file_of(kept_file(library, number), f"{kept_plan(library, number).title}.plan")


@router.get("/picture/changes", response_class=Response)
def changes_file(library: AtLibrary, number: Number) -> Response:
    """Hand over what was changed in a plan, as a text."""
    kept = kept_plan(library, number)
    return file_of(text_of(kept.changes), f"{kept.title} changes.txt")


def _lesson(library: Library, number: int, title: str, paper: str) -> LessonMade:
    return lesson_from_plan(LessonFromPlan(kept_file(library, number), KEPT, title, paper))


@router.get("/picture/lesson", response_class=Response)
def lesson(library: AtLibrary, number: Number, title: Name = "", paper: Name = "") -> Response:
    """Make a lesson of a plan, as a file."""
    made = _lesson(library, number, title, paper)
    return file_of(made.text.encode(), f"{made.lesson.title}.txt")


@changes(
    router,
    "/picture/lesson",
    leads_to=lambda kept: lesson_address(kept.number),
    says=lambda kept: f"“{kept.title}” is among your lessons.",
)
def to_lessons(library: AtLibrary, number: Sent, title: Line = "", paper: Line = "") -> KeptLesson:
    """Make a lesson of a plan, and keep it among the others."""
    made = _lesson(library, number, title, paper)
    return keep_lesson(library, KeepLesson(made.text.encode(), made.lesson.title))


@router.get("/picture/view", response_class=Response)
def view(
    *,
    desk: AtDesk,
    what: Views,
    number: Either = 0,
    job: Either = 0,
    kit: Annotated[int, Query(ge=0, le=20)] = 0,
    values: bool = False,
) -> Response:
    """Show a plan's picture: the original, its steps, its colors, a kit's colors, its numbers.

    The plan is one that is kept, or that of a job; a kit is one of a job, counted from 1.
    """
    plan = opened(_file(desk, number, job))
    if what == "picture":
        return file_of(plan_views.picture_itself(plan, values_only=values), "it.webp", shown=True)
    drawn = {
        "steps": lambda: plan_views.in_steps(plan),
        "numbers": lambda: plan_views.with_numbers(plan, values_only=values),
        "map": lambda: plan_views.map_of_regions(plan),
        "colors": lambda: plan_views.in_colors(
            plan, _kits_colors(desk.jobs, job, kit) if kit else None, values_only=values
        ),
    }
    return file_of(drawn[what](), f"{what}.png", shown=True)


def _file(desk: Desk, number: int, job: int) -> bytes:
    if number:
        return kept_file(desk.library, number)
    found = desk.jobs.result(job)
    if not isinstance(found, PlanMade | PlanPainted):
        raise UnknownNameError(
            f"Job {job} planned no picture.",
            hint="Look for it under Long work.",
        )
    return found.file


def _kits_colors(jobs: Jobs, job: int, kit: int) -> np.ndarray:
    found = jobs.result(job)
    kits = found.shown.kits if isinstance(found, PlanPainted) else ()
    if kit > len(kits):
        raise UnknownNameError(f"There are {len(kits)} kits in job {job}.")
    labs = np.array([part.color.lab for part in kits[kit - 1].parts])
    return grays(labs) if kits[kit - 1].values_only else labs
