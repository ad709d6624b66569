"""The notebook: trials, and what they teach."""

from collections.abc import Callable
from dataclasses import replace
from typing import Annotated, Literal

from fastapi import APIRouter, Depends, File, Form, Query, Response, UploadFile
from pydantic import Field

from laydown.app.fits import Supplies
from laydown.app.library import Library
from laydown.app.notebook import asking as asking_tasks
from laydown.app.notebook import trials as trial_tasks
from laydown.app.notebook.trials import TrialShown
from laydown.errors import BadColorError, NotMeasuredError
from laydown.media.recipe import format_recipe
from laydown.media.swatch import Fill
from laydown.sheet.sheet import Sheet
from laydown.web import asking as ask
from laydown.web.desk import AtJobs, AtLibrary
from laydown.web.faces import Beside, changes, enter, json_of, of_library, shows
from laydown.web.files import file_of, file_sent, sent_file, sent_pictures
from laydown.web.long_work import finds, found_by, lists, starts
from laydown.web.pages.light import ColorsOf

router = APIRouter()
ON_A_PAGE = 10
SMALL_SIDE = 480
"""The longer side of a photograph in a list [pixels]."""
MOST_REMARK = 10_000
MOST_PRINTED = 400
RecipeLine = Annotated[str, Form(max_length=ask.LONGEST_RECIPE)]
Remark = Annotated[str, Form(max_length=MOST_REMARK)]


def _asked(
    kit: ask.Name = "",
    paper: ask.Name = "",
    *,
    withdrawn: Annotated[bool, Query(alias="all")] = False,
    skip: ask.Count = 0,
    most: Annotated[int, Query(ge=1, le=100)] = ON_A_PAGE,
    latest_first: bool = True,
) -> Beside:
    shown = {"kit": kit, "paper": paper, "withdrawn": withdrawn}
    return shown | {"skip": skip, "most": most, "latest_first": latest_first}


Listed = tuple[tuple[TrialShown, ...], int]


def notebook(library: AtLibrary, asked: Annotated[Beside, Depends(_asked)]) -> Listed:
    """List the trials, the latest first."""
    return trial_tasks.list_trials(library, **asked)


shows(router, "/notebook", "notebook.html.j2", beside=_asked, under="trials total")(notebook)


def _sought(
    color: Annotated[str, Query(max_length=ask.LONGEST_RECIPE)] = "",
    within: Annotated[float, Query(ge=0, le=100, allow_inf_nan=False)] = 5.0,
    colorant: ask.Name = "",
    words: ask.Name = "",
) -> Beside:
    texts = {"color": color, "colorant": colorant, "words": words}
    return {name: text.strip() for name, text in texts.items()} | {"within": within}


def found(library: AtLibrary, asked: Annotated[Beside, Depends(_sought)]) -> tuple[TrialShown, ...]:
    """Find trials near a color, with a colorant, or by words."""
    return trial_tasks.find_trials(library, **asked)


shows(router, "/notebook/found", "trials_found.html.j2", beside=_sought, under="found")(found)


@shows(router, "/notebook/new", "trial_new.html.j2", beside=ask.supplies_of)
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
    all_ = f"trials {numbers[0]} to {numbers[-1]}" if numbers[1:] else f"trial {numbers[0]}"
    near = (
        f"You came as near before: trial {trial.number}, {format_recipe(trial.recipe)}."
        for trial in before
    )
    return " ".join([f"Noted: {all_}.", *near])


def _leads_to(made: trial_tasks.TrialsAdded) -> str:
    return f"/trial?number={made[0][0].number}" if len(made[0]) == 1 else "/notebook"


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
    told = trial_tasks.AddTrial(kit=kit, paper=paper, done=done, fill=fill, noise=noise)
    return replace(told, wanted=wanted.strip(), remark=remark.strip(), made_by=made_by.strip())


About = Annotated[trial_tasks.AddTrial, Depends(about)]


AS_ADDED = "trials tried_before"


@changes(router, "/notebook", _leads_to, _noted, under=AS_ADDED)
def note(
    *,
    library: AtLibrary,
    said: About,
    recipe: Annotated[str, Form(min_length=1, max_length=ask.LONGEST_RECIPE)],
    color: ask.FullLine,
    photograph: UploadFile | None = None,
) -> trial_tasks.TrialsAdded:
    """Note a trial: what was laid, and what came of it."""
    kept = file_sent(photograph)
    return trial_tasks.add_trial(
        library, replace(said, recipe=recipe, color=color.strip(), photograph=kept)
    )


@changes(router, "/notebook/measured", _leads_to, _noted, under=AS_ADDED)
def note_file(
    library: AtLibrary, said: About, file: Annotated[UploadFile, File()]
) -> trial_tasks.TrialsAdded:
    """Note every measured swatch of a file as a trial: all of them or none."""
    sent = sent_file(file)
    return trial_tasks.add_trial(library, replace(said, file=sent.content, source=sent.source))


def export_file(library: AtLibrary) -> Response:
    """Hand the whole notebook over: every entry of every trial, and photographs."""
    return file_of(f"{trial_tasks.export_trials(library)}\n".encode(), "notebook.json")


def export_data(library: AtLibrary) -> Response:
    """Hand the whole notebook over as a text, as the command line does."""
    return json_of(trial_tasks.export_trials(library), under="text")


enter(
    router, "GET", "/notebook/file", trial_tasks.export_trials, page=export_file, data=export_data
)
CAME = "{0[0]}: {0[2]} new trials of {0[1]}, {0[3]} new notes."


AS_BROUGHT = "source trials new_trials new_entries"


@changes(router, "/notebook/import", "/notebook", CAME, under=AS_BROUGHT)
def bring_in(library: AtLibrary, file: Annotated[UploadFile, File()]) -> tuple[str, int, int, int]:
    """Take in a notebook that was handed out; what is here already is left as it is."""
    sent = sent_file(file)
    return trial_tasks.import_trials(library, sent.content, sent.source)


@router.get("/notebook/print", response_class=Response)
def printed(
    library: AtLibrary,
    number: Annotated[
        list[Annotated[int, Field(ge=1, le=ask.LARGEST)]], Query(max_length=MOST_PRINTED)
    ] = [],  # noqa: B006  FastAPI copies it
    page: Literal["A4", "Letter"] = "A4",
) -> Response:
    """Print trials, or all, with room for the real swatch beside each."""
    _, pdf = trial_tasks.print_trials(library, number, page=page)
    return file_of(pdf, "trials.pdf")


WHY, AS_EXPLAINED = "/trial/why", "trial expected off diagnosis"
Changed = Annotated[str | None, Form(max_length=ask.LONGEST)]
ChangedRecipe = Annotated[str | None, Form(max_length=ask.LONGEST_RECIPE)]
shows(router, "/trial", "trial.html.j2", under="entries")(
    of_library(trial_tasks.show_trial, number=ask.Number)
)


def hands_photographs(
    router: APIRouter, path: str, fetch: Callable[[Library, int], tuple[str, bytes]], what: str
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
    "/trial?number={0.number}",
    "Noted anew; what was noted before is kept below.",
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
    changed: Beside = {"wanted": wanted, "remark": remark, "made_by": made_by, "done": done}
    changed |= {"kit": kit, "paper": paper}
    return trial_tasks.edit_trial(
        library,
        number,
        recipe=_new(recipe, format_recipe(old.recipe, with_range=True)),
        color=color or None,
        fill=None if fill is old.fill else fill,
        **{name: _new(said, getattr(old, name)) for name, said in changed.items()},
    )


def _new(sent: str | None, old: str) -> str | None:
    """Return what a field says where it says something new; browsers send line ends as CR LF."""
    said = None if sent is None else sent.replace("\r\n", "\n").strip()
    return None if said == old.strip() else said


changes(
    router,
    "/trial/undo",
    "/trial?number={0.number}",
    lambda made: (
        "Taken back: it stays in the notebook, but nothing is learned from it."
        if made.withdrawn
        else "Brought in again."
    ),
)(of_library(trial_tasks.undo_trial, number=ask.NumberSent, bring_back=ask.YesSent))


@changes(
    router,
    "/trial/erase",
    lambda made: "/notebook" if made[1] else f"/trial?number={made[0]}",
    lambda made: (
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


@starts(router, WHY, "explain_trial", WHY, "Why trial {0} came out so", under=AS_EXPLAINED)
def ask_why(number: ask.NumberSent) -> int:
    """Look for the causes of what came of a trial."""
    return number


shows(router, "/muddy", "muddy.html.j2", beside=ask.supplies_of)(begun)


@starts(router, "/muddy", "explain_trial", WHY, "Why trial {0} came out so", under=AS_EXPLAINED)
def ask_what_went_wrong(trial: Annotated[trial_tasks.TrialsAdded, Depends(note)]) -> int:
    """Note what came out, and look for its causes."""
    return trial[0][0].number


why = finds(tuple, "explain_trial")
shows(router, WHY, "trial_why.html.j2", under=AS_EXPLAINED)(why)


# Trials on a colored sheet


@starts(
    router,
    "/notebook/sheet",
    "add_trial",
    "/notebook/added",
    lambda asked: f"Trials from {', '.join(file.source for file in asked.pictures)}",
    once=True,
    under=AS_ADDED,
)
def note_sheet(
    said: About,
    pictures: Annotated[list[UploadFile], File()] = [],  # noqa: B006  FastAPI copies it
    picture: UploadFile | None = None,
) -> trial_tasks.AddTrial:
    """Note every sound cell of a colored sheet as a trial."""
    return replace(said, pictures=sent_pictures([*pictures, picture]))


added = finds(tuple, "add_trial")
shows(router, "/notebook/added", "trials_added.html.j2", under=AS_ADDED)(added)


# How good predictions have been


@starts(
    router,
    "/notebook/calibration",
    "show_calibration",
    "/notebook/calibration",
    lambda supplies: f"How good predictions were: {ask.named(supplies)}",
)
def compare(supplies: ask.SuppliesSent) -> Supplies:
    """Compare every trial of a kit on a paper with what was promised."""
    return supplies


calibration = finds(asking_tasks.CalibrationShown)
shows(router, "/notebook/calibration", "calibration.html.j2")(calibration)


# What to try next


shows(router, "/notebook/next", "trials_next.html.j2", under="jobs")(lists("suggest_trials"))


@starts(
    router,
    "/notebook/next",
    "suggest_trials",
    "/notebook/suggested",
    lambda asked: f"What to try next: {ask.named(asked.asking.supplies)}",
)
def suggest(
    asking: ask.AskingSent,
    colors: ColorsOf,
    recipes: ask.Lines = "",
    most: Annotated[int, Form(ge=1, le=50)] = 6,
) -> asking_tasks.SuggestTrials:
    """Look for the few trials that would make a lesson's colors surest."""
    typed = ask.names_of(recipes)
    if not (colors.colors or colors.file or typed):
        raise BadColorError(
            "No color of the lesson was named.", hint="Type colors or recipes, or choose a list."
        )
    return asking_tasks.SuggestTrials(
        typed, colors.colors, colors.file, colors.source, most, asking
    )


def _kit_asked(jobs: AtJobs, job: ask.Number) -> str:
    asked = jobs.request(job)
    return asked.asking.supplies.kit if isinstance(asked, asking_tasks.SuggestTrials) else ""


suggested = finds(asking_tasks.TrialsSuggested)
shows(router, "/notebook/suggested", "trials_suggested.html.j2", beside=_kit_asked)(suggested)


@changes(
    router,
    "/notebook/suggested/sheet",
    "/sheet?number={0.number}",
    "Sheet {0.number} is ready. Color it, then take its picture in the notebook.",
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


shows(router, "/hand", "hand.html.j2", under="jobs")(lists("compare_hands"))


@starts(router, "/hand", "compare_hands", "/hand/compared", "My hand against {0.source}")
def compare_with(
    supplies: ask.SuppliesSent,
    file: Annotated[UploadFile, File()],
    recipes: ask.Lines = "",
    lesson: UploadFile | None = None,
) -> asking_tasks.CompareHands:
    """Compare one's hand with that of whoever colored the swatches of a file."""
    theirs = sent_file(file)
    listed = file_sent(lesson)
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
