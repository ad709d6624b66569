"""Print trials on pages with room for the real swatch beside each."""

from dataclasses import dataclass

from laydown.app.trial_words import TrialShown, shown
from laydown.documents.trial_pdf import TrialBox, write_trial_pdf
from laydown.errors import NotMeasuredError
from laydown.media.recipe import format_recipe
from laydown.store.library import Library
from laydown.store.trial_records import StoredTrial


@dataclass(frozen=True, slots=True)
class PrintTrials:
    """The numbers of trials, none for all, and the page: A4 or Letter."""

    numbers: tuple[int, ...] = ()
    page: str = "A4"


@dataclass(frozen=True, slots=True)
class TrialsPrinted:
    """The PDF, and how many trials are on it."""

    trials: int
    pdf: bytes


def print_trials(library: Library, request: PrintTrials) -> TrialsPrinted:
    """Lay trials out on pages.

    Raises
    ------
    UnknownNameError
        For a number that no trial has.
    NotMeasuredError
        When there is no trial at all.
    """
    with library.look() as work:
        stored: tuple[StoredTrial, ...] = (
            tuple(work.notebook.history(number)[-1] for number in request.numbers)
            or work.notebook.latest()
        )
    if not stored:
        raise NotMeasuredError(
            "There are no trials yet.",
            hint="Note one first.",
            command='laydown trial add "Kelp*2" lab:40,-24,26',
        )
    boxes = tuple(_box(shown(trial)) for trial in stored)
    return TrialsPrinted(len(boxes), write_trial_pdf(boxes, title="Trials", page=request.page))


def _box(trial: TrialShown) -> TrialBox:
    made = " · ".join(part for part in (trial.done, trial.kit, trial.paper) if part)
    lines = [made, f"came out {_color(trial)}"]
    if trial.off is not None:
        lines.append(f"wanted {trial.wanted}: {trial.off.words} ({trial.off.delta_e:.1f})")
    if trial.fill != "usual":
        lines.append(f"markers {trial.fill}")
    if trial.remark:
        lines.append(trial.remark)
    return TrialBox(
        title=f"{trial.number}  {format_recipe(trial.recipe)}",
        lines=tuple(lines),
        obtained=trial.color.screen,
        wanted=trial.intended.screen if trial.intended else "",
    )


def _color(trial: TrialShown) -> str:
    L, a, b = (round(float(x)) for x in trial.color.lab)
    return f"{trial.color.words}, value {trial.color.value:.1f}, L* {L} a* {a} b* {b}"
