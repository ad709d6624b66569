"""The notebook: trials noted, listed and found; printed, handed out whole and taken in."""

from dataclasses import dataclass, replace
from typing import Annotated, Literal
from urllib.parse import urlencode

from fastapi import APIRouter, Depends, File, Form, Query, Response, UploadFile
from pydantic import Field

from laydown.app.add_trial import AddTrial, Picture, TrialsAdded, add_trial
from laydown.app.export_trials import export_trials
from laydown.app.find_trials import FindTrials, TrialsFound, find_trials
from laydown.app.import_trials import ImportTrials, TrialsImported, import_trials
from laydown.app.list_papers import Papers, list_papers
from laydown.app.list_trials import ListTrials, Trials, list_trials
from laydown.app.print_trials import PrintTrials, print_trials
from laydown.app.promises import Promise, promises_of
from laydown.app.trial_words import TrialShown
from laydown.media.recipe import format_recipe
from laydown.media.trial import Fill
from laydown.web.asking import LONGEST, LONGEST_RECIPE, Name
from laydown.web.choices import Choices, choices_of
from laydown.web.desk import AtLibrary
from laydown.web.downloads import file_of
from laydown.web.faces import changes, enter, json_of, shows
from laydown.web.long_work import LARGEST
from laydown.web.rendering import count_words
from laydown.web.uploads import sent_file, sent_files

router = APIRouter()
ON_A_PAGE = 10
MOST_DRAWN = 10
"""Trials of a search that are drawn, the nearest first; the others are only named."""
MOST_REMARK = 10_000
MOST_PRINTED = 400
Line = Annotated[str, Form(max_length=LONGEST)]
RecipeLine = Annotated[str, Form(max_length=LONGEST_RECIPE)]
Remark = Annotated[str, Form(max_length=MOST_REMARK)]
Skip = Annotated[int, Query(ge=0, le=LARGEST)]
Most = Annotated[int, Query(ge=1, le=100)]


def trial_address(number: int) -> str:
    """Return the page of a trial."""
    return f"/trial?number={number}"


@dataclass(frozen=True, slots=True, eq=False)
class Around:
    """What the page of the notebook shows besides.

    Parameters
    ----------
    choices, papers
        Names to choose from; papers with their colors, for patches to lie on.
    asked
        Which trials are listed.
    promises
        What was promised of them, by number.
    """

    choices: Choices
    papers: Papers
    asked: ListTrials
    promises: dict[int, Promise]

    def link(self, skip: int) -> str:
        """Return the address of the part of this list that begins at one."""
        asked = self.asked
        fields = {"kit": asked.kit, "paper": asked.paper, "all": "true" if asked.withdrawn else ""}
        named = {name: text for name, text in fields.items() if text}
        return f"/notebook?{urlencode({**named, 'skip': skip, 'most': asked.most})}"


@dataclass(frozen=True, slots=True, eq=False)
class Besides:
    """What the page of a search shows besides: papers, what was promised, what was looked for."""

    papers: Papers
    promises: dict[int, Promise]
    asked: FindTrials
    drawn: int


def _asked(
    kit: Name = "",
    paper: Name = "",
    *,
    withdrawn: Annotated[bool, Query(alias="all")] = False,
    skip: Skip = 0,
    most: Most = ON_A_PAGE,
    latest_first: bool = True,
) -> ListTrials:
    return ListTrials(kit, paper, withdrawn, skip, most, latest_first)


AskedFor = Annotated[ListTrials, Depends(_asked)]


def notebook(library: AtLibrary, asked: AskedFor) -> Trials:
    """List the trials, the latest first."""
    return list_trials(library, asked)


def _around(
    library: AtLibrary, asked: AskedFor, listed: Annotated[Trials, Depends(notebook)]
) -> Around:
    promises = promises_of(library, listed.trials)
    return Around(choices_of(library), list_papers(library), asked, promises)


shows(router, "/notebook", "notebook.html.j2", beside=_around)(notebook)


def _sought(
    color: Annotated[str, Query(max_length=LONGEST_RECIPE)] = "",
    within: Annotated[float, Query(ge=0, le=100, allow_inf_nan=False)] = 5.0,
    colorant: Name = "",
    words: Name = "",
) -> FindTrials:
    return FindTrials(color.strip(), within, colorant.strip(), words.strip())


Sought = Annotated[FindTrials, Depends(_sought)]


def found(library: AtLibrary, asked: Sought) -> TrialsFound:
    """Find trials near a color, with a colorant, or by words."""
    return find_trials(library, asked)


def _besides(
    library: AtLibrary, asked: Sought, found: Annotated[TrialsFound, Depends(found)]
) -> Besides:
    shown = [one.trial for one in found.found[:MOST_DRAWN]]
    return Besides(list_papers(library), promises_of(library, shown), asked, len(shown))


shows(router, "/notebook/found", "trials_found.html.j2", beside=_besides)(found)


@dataclass(frozen=True, slots=True)
class Begun:
    """A trial that is about to be noted: what is known of it already."""

    recipe: str
    kit: str
    paper: str
    wanted: str


@shows(router, "/notebook/new", "trial_new.html.j2", beside=choices_of)
def begun(
    recipe: Annotated[str, Query(max_length=LONGEST_RECIPE)] = "",
    kit: Name = "",
    paper: Name = "",
    wanted: Annotated[str, Query(max_length=LONGEST_RECIPE)] = "",
) -> Begun:
    """Show the form of a trial, with what a match said of it."""
    return Begun(recipe, kit, paper, wanted)


def _noted(made: TrialsAdded) -> str:
    numbers = [trial.number for trial in made.trials]
    told = count_words(
        "Noted: trial %(first)s.",
        "Noted: trials %(first)s to %(last)s.",
        len(numbers),
        first=numbers[0],
        last=numbers[-1],
    )
    return " ".join([told, *map(_before, made.tried_before)])


def _before(trial: TrialShown) -> str:
    return f"You came as near before: trial {trial.number}, {format_recipe(trial.recipe)}."


def _leads_to(made: TrialsAdded) -> str:
    return trial_address(made.trials[0].number) if len(made.trials) == 1 else "/notebook"


def about(
    *,
    kit: Line = "",
    paper: Line = "",
    wanted: RecipeLine = "",
    remark: Remark = "",
    done: Line = "",
    fill: Annotated[Fill, Form()] = Fill.USUAL,
    noise: Annotated[float, Form(ge=0, le=20, allow_inf_nan=False)] = 0.0,
) -> AddTrial:
    """Read what every form of a trial says of it."""
    return AddTrial(
        kit=kit,
        paper=paper,
        wanted=wanted.strip(),
        remark=remark.strip(),
        done=done,
        fill=fill,
        noise=noise,
    )


About = Annotated[AddTrial, Depends(about)]


@changes(router, "/notebook", leads_to=_leads_to, says=_noted)
def note(
    *,
    library: AtLibrary,
    said: About,
    recipe: Annotated[str, Form(min_length=1, max_length=LONGEST_RECIPE)],
    color: Annotated[str, Form(min_length=1, max_length=LONGEST)],
    photograph: UploadFile | None = None,
) -> TrialsAdded:
    """Note a trial: what was laid, and what came of it."""
    sent = next(iter(sent_files([photograph] if photograph else [])), None)
    kept = Picture(sent.name, sent.content) if sent else None
    return add_trial(library, replace(said, recipe=recipe, color=color.strip(), photograph=kept))


@changes(router, "/notebook/measured", leads_to=_leads_to, says=_noted)
def note_file(library: AtLibrary, said: About, file: Annotated[UploadFile, File()]) -> TrialsAdded:
    """Note every measured swatch of a file as a trial: all of them or none."""
    sent = sent_file(file)
    return add_trial(library, replace(said, file=sent.content, source=sent.name))


def export_file(library: AtLibrary) -> Response:
    """Hand the whole notebook over: every entry of every trial, and photographs."""
    return file_of(f"{export_trials(library).text}\n".encode(), "notebook.json")


def export_data(library: AtLibrary) -> Response:
    """Hand the whole notebook over within its figures, as the command line does."""
    return json_of(export_trials(library))


enter(router, "GET", "/notebook/file", export_trials, page=export_file, data=export_data)


def _came(made: TrialsImported) -> str:
    return (
        f"{made.source}: {made.new_trials} new trials of {made.trials}, "
        f"{made.new_entries} new notes."
    )


@changes(router, "/notebook/import", leads_to=lambda _: "/notebook", says=_came)
def bring_in(library: AtLibrary, file: Annotated[UploadFile, File()]) -> TrialsImported:
    """Take in a notebook that was handed out; what is here already is left as it is."""
    sent = sent_file(file)
    return import_trials(library, ImportTrials(sent.content, sent.name))


@router.get("/notebook/print", response_class=Response)
def printed(
    library: AtLibrary,
    number: Annotated[
        list[Annotated[int, Field(ge=1, le=LARGEST)]], Query(max_length=MOST_PRINTED)
    ] = [],  # noqa: B006  FastAPI copies it
    page: Literal["A4", "Letter"] = "A4",
) -> Response:
    """Print trials, or all, with room for the real swatch beside each."""
    made = print_trials(library, PrintTrials(tuple(number), page))
    return file_of(made.pdf, "trials.pdf")
