"""The notebook: trials, and what they teach."""

from collections.abc import Callable
from dataclasses import replace
from typing import Annotated, Literal

from fastapi import APIRouter, Depends, File, Form, Query, Response, UploadFile
from pydantic import Field

from laydown.app.fits import Supplies
from laydown.app.jobs import Job
from laydown.app.library import Library
from laydown.app.notebook import asking as asking_tasks
from laydown.app.notebook import trials as trial_tasks
from laydown.app.notebook.asking import CalibrationShown, promises_of
from laydown.app.notebook.trials import (
    TrialShown,
    export_trials,
    import_trials,
    print_trials,
)
from laydown.app.supplies.papers import PaperInWords, list_papers
from laydown.errors import BadColorError, NotMeasuredError
from laydown.media.recipe import format_recipe
from laydown.media.swatch import Fill
from laydown.sheet.sheet import Sheet
from laydown.web import asking as ask
from laydown.web.desk import AtJobs, AtLibrary
from laydown.web.faces import Beside, changes, enter, json_of, shows
from laydown.web.files import file_of, sent_file, sent_files, sent_pictures
from laydown.web.long_work import finds, found_by, jobs_of, starts
from laydown.web.pages.light import ColorsOf
from laydown.web.pages.sheets import sheet_address
from laydown.web.rendering import count_words

router = APIRouter()
ON_A_PAGE = 10
MOST_DRAWN = 10
"""Trials of a search that are drawn, the nearest first; the others are only named."""
SMALL_SIDE = 480
"""The longer side of a photograph in a list [pixels]."""
MOST_REMARK = 10_000
MOST_PRINTED = 400
RecipeLine = Annotated[str, Form(max_length=ask.LONGEST_RECIPE)]
Remark = Annotated[str, Form(max_length=MOST_REMARK)]
Most = Annotated[int, Query(ge=1, le=100)]


def trial_address(number: int) -> str:
    """Return the page of a trial."""
    return f"/trial?number={number}"


def _asked(
    kit: ask.Name = "",
    paper: ask.Name = "",
    *,
    withdrawn: Annotated[bool, Query(alias="all")] = False,
    skip: ask.Count = 0,
    most: Most = ON_A_PAGE,
    latest_first: bool = True,
) -> Beside:
    return {
        "kit": kit,
        "paper": paper,
        "withdrawn": withdrawn,
        "skip": skip,
        "most": most,
        "latest_first": latest_first,
    }


AskedFor = Annotated[Beside, Depends(_asked)]


def notebook(library: AtLibrary, asked: AskedFor) -> tuple[tuple[TrialShown, ...], int]:
    """List the trials, the latest first."""
    return trial_tasks.list_trials(library, **asked)


def _around_notebook(
    library: AtLibrary,
    asked: AskedFor,
    listed: Annotated[tuple[tuple[TrialShown, ...], int], Depends(notebook)],
) -> Beside:
    return {
        "choices": ask.choices_of(library),
        "papers": list_papers(library),
        "asked": asked,
        "promises": promises_of(library, listed[0]),
    }


shows(router, "/notebook", "notebook.html.j2", beside=_around_notebook, under="trials total")(
    notebook
)


def _sought(
    color: Annotated[str, Query(max_length=ask.LONGEST_RECIPE)] = "",
    within: Annotated[float, Query(ge=0, le=100, allow_inf_nan=False)] = 5.0,
    colorant: ask.Name = "",
    words: ask.Name = "",
) -> Beside:
    return {
        "color": color.strip(),
        "within": within,
        "colorant": colorant.strip(),
        "words": words.strip(),
    }


Sought = Annotated[Beside, Depends(_sought)]


def found(library: AtLibrary, asked: Sought) -> tuple[TrialShown, ...]:
    """Find trials near a color, with a colorant, or by words."""
    return trial_tasks.find_trials(library, **asked)


def _besides(
    library: AtLibrary,
    asked: Sought,
    found: Annotated[tuple[TrialShown, ...], Depends(found)],
) -> Beside:
    shown = found[:MOST_DRAWN]
    return {
        "papers": list_papers(library),
        "promises": promises_of(library, shown),
        "asked": asked,
        "drawn": len(shown),
    }


shows(router, "/notebook/found", "trials_found.html.j2", beside=_besides, under="found")(found)


@shows(router, "/notebook/new", "trial_new.html.j2", beside=ask.around_box)
def begun(
    recipe: Annotated[str, Query(max_length=ask.LONGEST_RECIPE)] = "",
    kit: ask.Name = "",
    paper: ask.Name = "",
    wanted: Annotated[str, Query(max_length=ask.LONGEST_RECIPE)] = "",
) -> Beside:
    """Show the form of a trial, with what a match said of it."""
    return {"recipe": recipe, "kit": kit, "paper": paper, "wanted": wanted}


def _noted(made: trial_tasks.TrialsAdded) -> str:
    trials, before = made
    numbers = [trial.number for trial in trials]
    told = count_words(
        "Noted: trial %(first)s.",
        "Noted: trials %(first)s to %(last)s.",
        len(numbers),
        first=numbers[0],
        last=numbers[-1],
    )
    return " ".join([told, *map(_before_notebook, before)])


def _before_notebook(trial: TrialShown) -> str:
    return f"You came as near before: trial {trial.number}, {format_recipe(trial.recipe)}."


def _leads_to(made: trial_tasks.TrialsAdded) -> str:
    return trial_address(made[0][0].number) if len(made[0]) == 1 else "/notebook"


def about(
    *,
    kit: ask.Line = "",
    paper: ask.Line = "",
    wanted: RecipeLine = "",
    remark: Remark = "",
    made_by: ask.Line = "",
    done: ask.Line = "",
    fill: Annotated[Fill, Form()] = Fill.USUAL,
    noise: Annotated[float, Form(ge=0, le=20, allow_inf_nan=False)] = 0.0,
) -> trial_tasks.AddTrial:
    """Read what every form of a trial says of it."""
    return trial_tasks.AddTrial(
        kit=kit,
        paper=paper,
        wanted=wanted.strip(),
        remark=remark.strip(),
        made_by=made_by.strip(),
        done=done,
        fill=fill,
        noise=noise,
    )


About = Annotated[trial_tasks.AddTrial, Depends(about)]


AS_ADDED = "trials tried_before"


@changes(router, "/notebook", leads_to=_leads_to, says=_noted, under=AS_ADDED)
def note(
    *,
    library: AtLibrary,
    said: About,
    recipe: Annotated[str, Form(min_length=1, max_length=ask.LONGEST_RECIPE)],
    color: ask.FullLine,
    photograph: UploadFile | None = None,
) -> trial_tasks.TrialsAdded:
    """Note a trial: what was laid, and what came of it."""
    sent = next(iter(sent_files([photograph] if photograph else [])), None)
    return trial_tasks.add_trial(
        library, replace(said, recipe=recipe, color=color.strip(), photograph=sent)
    )


@changes(router, "/notebook/measured", leads_to=_leads_to, says=_noted, under=AS_ADDED)
def note_file(
    library: AtLibrary, said: About, file: Annotated[UploadFile, File()]
) -> trial_tasks.TrialsAdded:
    """Note every measured swatch of a file as a trial: all of them or none."""
    sent = sent_file(file)
    return trial_tasks.add_trial(library, replace(said, file=sent.content, source=sent.source))


def export_file(library: AtLibrary) -> Response:
    """Hand the whole notebook over: every entry of every trial, and photographs."""
    return file_of(f"{export_trials(library)}\n".encode(), "notebook.json")


def export_data(library: AtLibrary) -> Response:
    """Hand the whole notebook over as a text, as the command line does."""
    return json_of(export_trials(library), under="text")


enter(router, "GET", "/notebook/file", export_trials, page=export_file, data=export_data)


def _came(made: tuple[str, int, int, int]) -> str:
    source, trials, new, entries = made
    return f"{source}: {new} new trials of {trials}, {entries} new notes."


@changes(
    router,
    "/notebook/import",
    leads_to=lambda _: "/notebook",
    says=_came,
    under="source trials new_trials new_entries",
)
def bring_in(library: AtLibrary, file: Annotated[UploadFile, File()]) -> tuple[str, int, int, int]:
    """Take in a notebook that was handed out; what is here already is left as it is."""
    sent = sent_file(file)
    return import_trials(library, sent.content, sent.source)


@router.get("/notebook/print", response_class=Response)
def printed(
    library: AtLibrary,
    number: Annotated[
        list[Annotated[int, Field(ge=1, le=ask.LARGEST)]], Query(max_length=MOST_PRINTED)
    ] = [],  # noqa: B006  FastAPI copies it
    page: Literal["A4", "Letter"] = "A4",
) -> Response:
    """Print trials, or all, with room for the real swatch beside each."""
    _, pdf = print_trials(library, number, page=page)
    return file_of(pdf, "trials.pdf")


WHY, AS_EXPLAINED = "/trial/why", "trial expected off diagnosis"
Changed = Annotated[str | None, Form(max_length=ask.LONGEST)]
ChangedRecipe = Annotated[str | None, Form(max_length=ask.LONGEST_RECIPE)]


def trial(library: AtLibrary, number: ask.Number) -> tuple[TrialShown, ...]:
    """Show a trial with all that was ever noted of it."""
    return trial_tasks.show_trial(library, number)


def _around_trials(
    library: AtLibrary, entries: Annotated[tuple[TrialShown, ...], Depends(trial)]
) -> Beside:
    last = entries[-1]
    return {
        "choices": ask.choices_of(library),
        "papers": list_papers(library),
        "promise": promises_of(library, [last]).get(last.number),
    }


shows(router, "/trial", "trial.html.j2", beside=_around_trials, under="entries")(trial)


def hands_photographs(
    router: APIRouter,
    path: str,
    fetch: Callable[[Library, int], tuple[str, bytes]],
    what: str,
) -> None:
    """Show the photographs of kept things, small or not, and hand them over as they are kept."""

    @router.get(path, response_class=Response, name=path)
    def photograph(library: AtLibrary, number: ask.Number, *, small: bool = False) -> Response:
        """Show the photograph of something kept."""
        side = SMALL_SIDE if small else trial_tasks.SHOWN_SIDE
        content = trial_tasks.shown_photograph(*fetch(library, number), side=side)
        return file_of(content, f"{what} {number}.jpg", shown=True)

    @router.get(f"{path}/file", response_class=Response, name=f"{path}/file")
    def photograph_file(library: AtLibrary, number: ask.Number) -> Response:
        """Hand the photograph of something kept over, without what told of place and time."""
        name, content = fetch(library, number)
        return file_of(content, name)


hands_photographs(router, "/trial/photograph", trial_tasks.photograph_of, "trial")


@changes(
    router,
    "/trial/edit",
    leads_to=lambda made: trial_address(made.number),
    says=lambda made: "Noted anew; what was noted before is kept below.",
)
def edit(
    *,
    library: AtLibrary,
    number: ask.NumberSent,
    recipe: ChangedRecipe = None,
    color: Changed = None,
    wanted: ChangedRecipe = None,
    remark: Annotated[str | None, Form(max_length=MOST_REMARK)] = None,
    made_by: Changed = None,
    done: Changed = None,
    fill: Annotated[Fill | None, Form()] = None,
    kit: Changed = None,
    paper: Changed = None,
) -> TrialShown:
    """Note something else of a trial; a field left as it was changes nothing."""
    old = trial_tasks.show_trial(library, number)[-1]
    return trial_tasks.edit_trial(
        library,
        number,
        recipe=_new(recipe, format_recipe(old.recipe, with_range=True)),
        color=color or None,
        wanted=_new(wanted, old.wanted),
        remark=_new(remark, old.remark),
        made_by=_new(made_by, old.made_by),
        done=_new(done, old.done),
        fill=None if fill is old.fill else fill,
        kit=_new(kit, old.kit),
        paper=_new(paper, old.paper),
    )


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
    library: AtLibrary, number: ask.NumberSent, *, bring_back: Annotated[bool, Form()] = False
) -> TrialShown:
    """Take a trial back, or bring it in again."""
    return trial_tasks.undo_trial(library, number, bring_back=bring_back)


@changes(
    router,
    "/trial/erase",
    leads_to=lambda made: "/notebook" if made[1] else trial_address(made[0]),
    says=lambda made: (
        f"Erased for good: {'' if made[1] else 'the photograph of '}trial {made[0]}."
        " Backups that you made before still hold it."
    ),
    under="number whole photographs",
)
def erase(
    library: AtLibrary,
    number: ask.NumberSent,
    *,
    sure: Annotated[bool, Form()] = False,
    photograph_only: Annotated[bool, Form()] = False,
) -> tuple[int, bool, int]:
    """Erase a trial or its photograph for good, where that was ticked."""
    if not sure:
        raise NotMeasuredError(
            "Nothing was erased: the box was not ticked.",
            hint="Tick “I am sure”, for nothing brings it back.",
        )
    gone = trial_tasks.erase_trial(library, number, photograph_only=photograph_only)
    return number, not photograph_only, gone


@starts(
    router,
    WHY,
    task="explain_trial",
    shown_at=WHY,
    title=lambda number: f"Why trial {number} came out so",
    under=AS_EXPLAINED,
)
def ask_why(number: ask.NumberSent) -> int:
    """Look for the causes of what came of a trial."""
    return number


shows(router, "/muddy", "muddy.html.j2", beside=ask.around_box)(begun)


@starts(
    router,
    "/muddy",
    task="explain_trial",
    shown_at=WHY,
    title=lambda number: f"Why trial {number} came out so",
    under=AS_EXPLAINED,
)
def ask_what_went_wrong(trial: Annotated[trial_tasks.TrialsAdded, Depends(note)]) -> int:
    """Note what came out, and look for its causes."""
    return trial[0][0].number


def _papers(library: AtLibrary) -> tuple[PaperInWords, ...]:
    return list_papers(library)


why = finds(tuple, "explain_trial")
shows(router, WHY, "trial_why.html.j2", beside=_papers, under=AS_EXPLAINED)(why)


# Trials on a colored sheet


@starts(
    router,
    "/notebook/sheet",
    task="add_trial",
    shown_at="/notebook/added",
    title=lambda asked: f"Trials from {_names(asked)}",
    once=True,
    under=AS_ADDED,
)
def note_sheet(
    said: About,
    pictures: Annotated[list[UploadFile], File()] = [],  # noqa: B006  FastAPI copies it
    picture: UploadFile | None = None,
) -> trial_tasks.AddTrial:
    """Note every sound cell of a colored sheet as a trial."""
    sent = sent_pictures([*pictures, picture])
    return replace(said, pictures=sent)


def _names(asked: trial_tasks.AddTrial) -> str:
    return ", ".join(file.source for file in asked.pictures)


added = finds(tuple, "add_trial")


def _added_beside(
    library: AtLibrary, made: Annotated[trial_tasks.TrialsAdded, Depends(added)]
) -> Beside:
    return {"papers": list_papers(library), "promises": promises_of(library, made[0])}


shows(router, "/notebook/added", "trials_added.html.j2", beside=_added_beside, under=AS_ADDED)(
    added
)


# How good predictions have been


@starts(
    router,
    "/notebook/calibration",
    task="show_calibration",
    shown_at="/notebook/calibration",
    title=lambda supplies: f"How good predictions were: {ask.named(supplies)}",
)
def compare(supplies: ask.SuppliesSent) -> Supplies:
    """Compare every trial of a kit on a paper with what was promised."""
    return supplies


calibration = finds(CalibrationShown)
shows(router, "/notebook/calibration", "calibration.html.j2")(calibration)


# What to try next


@shows(router, "/notebook/next", "trials_next.html.j2", beside=ask.choices_of, under="jobs")
def asked_next(jobs: AtJobs) -> tuple[Job, ...]:
    """Ask which trials would make a lesson surest."""
    return jobs_of(jobs, "suggest_trials")


@starts(
    router,
    "/notebook/next",
    task="suggest_trials",
    shown_at="/notebook/suggested",
    title=lambda asked: f"What to try next: {ask.named(asked.asking.supplies)}",
)
def suggest(
    asking: ask.AskingSent,
    colors: ColorsOf,
    recipes: ask.Lines = "",
    most: Annotated[int, Form(ge=1, le=50)] = 6,
) -> asking_tasks.SuggestTrials:
    """Look for the few trials that would make a lesson's colors surest."""
    typed = ask.names_of(recipes)
    if not (colors or typed):
        raise BadColorError(
            "No color of the lesson was named.", hint="Type colors or recipes, or choose a list."
        )
    return asking_tasks.SuggestTrials(
        typed, colors.colors, colors.file, colors.source, most, asking
    )


def _printing(jobs: AtJobs, job: ask.Number) -> Beside:
    asked = jobs.request(job)
    return {
        "job": job,
        "kit": asked.asking.supplies.kit if isinstance(asked, asking_tasks.SuggestTrials) else "",
    }


suggested = finds(asking_tasks.TrialsSuggested)
shows(router, "/notebook/suggested", "trials_suggested.html.j2", beside=_printing)(suggested)


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
    job: ask.NumberSent,
    page: Annotated[Literal["A4", "Letter"], Form()] = "A4",
) -> Sheet:
    """Make a sheet to color the suggested trials on."""
    found = found_by(jobs, job, asking_tasks.TrialsSuggested)
    if not found.trials:
        raise BadColorError("Nothing is worth trying, so there is nothing to print.")
    return asking_tasks.sheet_of(library, found, page=page)


# One's hand against another's


@shows(router, "/hand", "hand.html.j2", beside=ask.choices_of, under="jobs")
def hand(jobs: AtJobs) -> tuple[Job, ...]:
    """Ask how much one lays against someone else."""
    return jobs_of(jobs, "compare_hands")


@starts(
    router,
    "/hand",
    task="compare_hands",
    shown_at="/hand/compared",
    title=lambda asked: f"My hand against {asked.source}",
)
def compare_with(
    supplies: ask.SuppliesSent,
    file: Annotated[UploadFile, File()],
    recipes: ask.Lines = "",
    lesson: UploadFile | None = None,
) -> asking_tasks.CompareHands:
    """Compare one's hand with that of whoever colored the swatches of a file."""
    theirs = sent_file(file)
    listed = next(iter(sent_files([lesson] if lesson else [])), None)
    return asking_tasks.CompareHands(
        theirs.content,
        theirs.source,
        supplies,
        ask.names_of(recipes),
        listed.content if listed else None,
        listed.source if listed else "",
    )


compared = finds(asking_tasks.HandsCompared)
shows(router, "/hand/compared", "hand_compared.html.j2")(compared)
