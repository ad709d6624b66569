"""Take a trial back, so that nothing is learned from it any more; or bring it in again."""

from dataclasses import dataclass

from laydown.app.trial_words import TrialShown, shown
from laydown.store.library import Library


@dataclass(frozen=True, slots=True)
class UndoTrial:
    """The number of the trial, and whether it is to be brought in again instead."""

    number: int
    bring_back: bool = False


def undo_trial(library: Library, request: UndoTrial) -> TrialShown:
    """Take a trial back: it stays in the notebook, but teaches nothing.

    Raises
    ------
    UnknownNameError
        For a number that no trial has.
    """
    label = "bring back" if request.bring_back else "take back"
    with library.work(f"{label} trial {request.number}") as work:
        made = work.notebook.withdraw(request.number, withdrawn=not request.bring_back)
    return shown(made)
