"""One trial: what was noted of it, noted otherwise, taken back; its photograph; why it came so."""

from dataclasses import dataclass
from typing import Annotated

from fastapi import APIRouter, Depends, Form, Query, Response

from laydown.app.edit_trial import EditTrial, edit_trial
from laydown.app.explain_trial import ExplainTrial, TrialExplained
from laydown.app.list_papers import Papers, list_papers
from laydown.app.promises import Promise, promises_of
from laydown.app.show_trial import TrialTold, photograph_of, show_trial
from laydown.app.trial_photograph import shown_photograph
from laydown.app.trial_words import TrialShown
from laydown.app.undo_trial import UndoTrial, undo_trial
from laydown.media.recipe import format_recipe
from laydown.media.trial import Fill
from laydown.web.asking import LONGEST, LONGEST_RECIPE
from laydown.web.choices import Choices, choices_of
from laydown.web.desk import AtJobs, AtLibrary
from laydown.web.downloads import file_of
from laydown.web.faces import changes, shows
from laydown.web.long_work import LARGEST, JobNumber, found_by, starts
from laydown.web.pages.notebook import MOST_REMARK, trial_address

router = APIRouter()
WHY = "/trial/why"
Number = Annotated[int, Query(ge=1, le=LARGEST)]
NumberSent = Annotated[int, Form(ge=1, le=LARGEST)]
Changed = Annotated[str | None, Form(max_length=LONGEST)]
ChangedRecipe = Annotated[str | None, Form(max_length=LONGEST_RECIPE)]


@dataclass(frozen=True, slots=True, eq=False)
class Around:
    """What the page of a trial shows besides.

    Parameters
    ----------
    choices, papers
        Names to choose from; papers with their colors, for patches to lie on.
    promise
        What was promised of it; None where that can't be told any more.
    """

    choices: Choices
    papers: Papers
    promise: Promise | None


def trial(library: AtLibrary, number: Number) -> TrialTold:
    """Show a trial with all that was ever noted of it."""
    return show_trial(library, number)


def _around(library: AtLibrary, told: Annotated[TrialTold, Depends(trial)]) -> Around:
    promises = promises_of(library, [told.trial])
    return Around(choices_of(library), list_papers(library), promises.get(told.trial.number))


shows(router, "/trial", "trial.html.j2", beside=_around)(trial)


@router.get("/trial/photograph", response_class=Response)
def photograph(library: AtLibrary, number: Number) -> Response:
    """Show the photograph of a trial."""
    return file_of(shown_photograph(library, number), f"trial {number}.jpg", shown=True)


@router.get("/trial/photograph/file", response_class=Response)
def photograph_file(library: AtLibrary, number: Number) -> Response:
    """Hand the photograph of a trial over as it was sent."""
    kept = photograph_of(library, number)
    return file_of(kept.content, kept.name)


@changes(
    router,
    "/trial/edit",
    leads_to=lambda made: trial_address(made.number),
    says=lambda made: "Noted anew; what was noted before is kept below.",
)
def edit(
    *,
    library: AtLibrary,
    number: NumberSent,
    recipe: ChangedRecipe = None,
    color: Changed = None,
    wanted: ChangedRecipe = None,
    remark: Annotated[str | None, Form(max_length=MOST_REMARK)] = None,
    done: Changed = None,
    fill: Annotated[Fill | None, Form()] = None,
    kit: Changed = None,
    paper: Changed = None,
) -> TrialShown:
    """Note something else of a trial; a field left as it was changes nothing."""
    old = show_trial(library, number).trial
    request = EditTrial(
        number,
        recipe=_new(recipe, format_recipe(old.recipe, with_range=True)),
        color=color or None,
        wanted=_new(wanted, old.wanted),
        remark=_new(remark, old.remark),
        done=_new(done, old.done),
        fill=None if fill is old.fill else fill,
        kit=_new(kit, old.kit),
        paper=_new(paper, old.paper),
    )
    return edit_trial(library, request)


def _new(sent: str | None, old: str) -> str | None:
    """Return what a field says where it says something new; browsers send line ends as CR LF."""
    said = None if sent is None else sent.replace("\r\n", "\n").strip()
    return None if said == old.strip() else said


@changes(
    router,
    "/trial/undo",
    leads_to=lambda made: trial_address(made.number),
    says=lambda made: (
        "Taken back: it stays in the notebook, but nothing is learned from it."
        if made.withdrawn
        else "Brought in again."
    ),
)
def undo(
    library: AtLibrary, number: NumberSent, *, bring_back: Annotated[bool, Form()] = False
) -> TrialShown:
    """Take a trial back, or bring it in again."""
    return undo_trial(library, UndoTrial(number, bring_back))


@starts(
    router,
    WHY,
    task="explain_trial",
    shown_at=WHY,
    title=lambda asked: f"Why trial {asked.number} came out so",
)
def ask_why(number: NumberSent) -> ExplainTrial:
    """Look for the causes of what came of a trial."""
    return ExplainTrial(number)


def _papers(library: AtLibrary) -> Papers:
    return list_papers(library)


@shows(router, WHY, "trial_why.html.j2", beside=_papers)
def why(jobs: AtJobs, job: JobNumber) -> TrialExplained:
    """Show the likely causes of what came of a trial, and a test that would tell them apart."""
    return found_by(jobs, job, TrialExplained)
