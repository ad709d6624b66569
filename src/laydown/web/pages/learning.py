"""What trials teach: how good predictions were, what to try next, one's hand against another's."""

from dataclasses import dataclass, replace
from typing import Annotated, Literal

from fastapi import APIRouter, Depends, File, Form, UploadFile

from laydown.app.add_trial import AddTrial, TrialsAdded
from laydown.app.compare_hands import CompareHands, HandsCompared
from laydown.app.jobs import Job
from laydown.app.list_papers import Papers, list_papers
from laydown.app.promises import Promise, promises_of
from laydown.app.read_sheet import PictureFile
from laydown.app.show_calibration import CalibrationShown, ShowCalibration
from laydown.app.suggest_trials import SuggestTrials, TrialsSheet, TrialsSuggested, sheet_of
from laydown.app.supplies import Supplies
from laydown.errors import BadColorError
from laydown.web.asking import AskingSent, SuppliesSent, named
from laydown.web.choices import choices_of
from laydown.web.colors_sent import ColorsOf
from laydown.web.desk import AtJobs, AtLibrary
from laydown.web.faces import changes, shows
from laydown.web.fields import names_of
from laydown.web.long_work import LARGEST, JobNumber, found_by, jobs_of, starts
from laydown.web.pages.notebook import About
from laydown.web.pages.sheets import sheet_address
from laydown.web.uploads import sent_file, sent_files, sent_pictures

router = APIRouter()
Lines = Annotated[str, Form(max_length=100_000)]


@dataclass(frozen=True, slots=True)
class Before:
    """What was asked with a form before, the latest first."""

    jobs: tuple[Job, ...]


@dataclass(frozen=True, slots=True, eq=False)
class Beside:
    """What a page of trials shows besides: papers with their colors, and what was promised."""

    papers: Papers
    promises: dict[int, Promise]


@dataclass(frozen=True, slots=True, eq=False)
class Printing:
    """What the page of suggested trials shows besides: the job, and the kit it was asked of."""

    job: int
    kit: str


def _before(jobs: AtJobs, task: str) -> Before:
    return Before(jobs_of(jobs, task))


def _from(supplies: Supplies) -> str:
    return named(supplies)


# Trials on a colored sheet


@starts(
    router,
    "/notebook/sheet",
    task="add_trial",
    shown_at="/notebook/added",
    title=lambda asked: f"Trials from {_names(asked)}",
    once=True,
)
def note_sheet(
    said: About,
    pictures: Annotated[list[UploadFile], File()] = [],  # noqa: B006  FastAPI copies it
    picture: UploadFile | None = None,
) -> AddTrial:
    """Note every sound cell of a colored sheet as a trial."""
    sent = sent_pictures([*pictures, picture])
    return replace(said, pictures=tuple(PictureFile(one.content, one.name) for one in sent))


def _names(asked: AddTrial) -> str:
    return ", ".join(file.source for file in asked.pictures)


def added(jobs: AtJobs, job: JobNumber) -> TrialsAdded:
    """Show the trials that a colored sheet gave."""
    return found_by(jobs, job, TrialsAdded)


def _added_beside(library: AtLibrary, made: Annotated[TrialsAdded, Depends(added)]) -> Beside:
    return Beside(list_papers(library), promises_of(library, made.trials))


shows(router, "/notebook/added", "trials_added.html.j2", beside=_added_beside)(added)


# How good predictions have been


@starts(
    router,
    "/notebook/calibration",
    task="show_calibration",
    shown_at="/notebook/calibration",
    title=lambda asked: f"How good predictions were: {_from(asked.supplies)}",
)
def compare(supplies: SuppliesSent) -> ShowCalibration:
    """Compare every trial of a kit on a paper with what was promised."""
    return ShowCalibration(supplies)


@shows(router, "/notebook/calibration", "calibration.html.j2")
def calibration(jobs: AtJobs, job: JobNumber) -> CalibrationShown:
    """Show how good predictions have been, and how often what came out lay inside the promise."""
    return found_by(jobs, job, CalibrationShown)


# What to try next


@shows(router, "/notebook/next", "trials_next.html.j2", beside=choices_of)
def asked_next(jobs: AtJobs) -> Before:
    """Ask which trials would make a lesson surest."""
    return _before(jobs, "suggest_trials")


@starts(
    router,
    "/notebook/next",
    task="suggest_trials",
    shown_at="/notebook/suggested",
    title=lambda asked: f"What to try next: {_from(asked.asking.supplies)}",
)
def suggest(
    asking: AskingSent,
    colors: ColorsOf,
    recipes: Lines = "",
    most: Annotated[int, Form(ge=1, le=50)] = 6,
) -> SuggestTrials:
    """Look for the few trials that would make a lesson's colors surest."""
    typed = names_of(recipes)
    if not (colors or typed):
        raise BadColorError(
            "No color of the lesson was named.",
            hint="Type colors or recipes, or choose a list.",
        )
    return SuggestTrials(typed, colors.colors, colors.file, colors.source, most, asking)


def _printing(jobs: AtJobs, job: JobNumber) -> Printing:
    asked = jobs.request(job)
    return Printing(job, asked.asking.supplies.kit if isinstance(asked, SuggestTrials) else "")


@shows(router, "/notebook/suggested", "trials_suggested.html.j2", beside=_printing)
def suggested(jobs: AtJobs, job: JobNumber) -> TrialsSuggested:
    """Show the trials that are worth making."""
    return found_by(jobs, job, TrialsSuggested)


@changes(
    router,
    "/notebook/suggested/sheet",
    leads_to=lambda made: sheet_address(made.number),
    says=lambda made: (
        f"Sheet {made.number} is ready. Color it, then take its picture in the notebook."
    ),
)
def suggested_sheet(
    library: AtLibrary,
    jobs: AtJobs,
    job: Annotated[int, Form(ge=1, le=LARGEST)],
    page: Annotated[Literal["A4", "Letter"], Form()] = "A4",
) -> TrialsSheet:
    """Make a sheet to color the suggested trials on."""
    found = found_by(jobs, job, TrialsSuggested)
    if not found.trials:
        raise BadColorError("Nothing is worth trying, so there is nothing to print.")
    return sheet_of(library, found, page=page)


# One's hand against another's


@shows(router, "/hand", "hand.html.j2", beside=choices_of)
def hand(jobs: AtJobs) -> Before:
    """Ask how much one lays against someone else."""
    return _before(jobs, "compare_hands")


@starts(
    router,
    "/hand",
    task="compare_hands",
    shown_at="/hand/compared",
    title=lambda asked: f"My hand against {asked.source}",
)
def compare_with(
    supplies: SuppliesSent,
    file: Annotated[UploadFile, File()],
    recipes: Lines = "",
    lesson: UploadFile | None = None,
) -> CompareHands:
    """Compare one's hand with that of whoever colored the swatches of a file."""
    theirs = sent_file(file)
    listed = next(iter(sent_files([lesson] if lesson else [])), None)
    return CompareHands(
        theirs.content,
        theirs.name,
        supplies,
        names_of(recipes),
        listed.content if listed else None,
        listed.name if listed else "",
    )


@shows(router, "/hand/compared", "hand_compared.html.j2")
def compared(jobs: AtJobs, job: JobNumber) -> HandsCompared:
    """Show how two hands compare, and how to lay their recipes."""
    return found_by(jobs, job, HandsCompared)
