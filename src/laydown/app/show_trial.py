"""Show a trial with all that was ever noted of it."""

from dataclasses import dataclass

from laydown.app.trial_words import TrialShown, shown
from laydown.errors import NotMeasuredError
from laydown.store.library import Library
from laydown.store.trial_records import Photograph


@dataclass(frozen=True, slots=True, eq=False)
class TrialTold:
    """A trial as it was last noted, and its earlier entries, oldest first."""

    trial: TrialShown
    earlier: tuple[TrialShown, ...]


def photograph_of(library: Library, number: int) -> Photograph:
    """Return the photograph that is kept with a trial.

    Raises
    ------
    UnknownNameError
        Where there is no such trial.
    NotMeasuredError
        Where none was kept.
    """
    with library.look() as work:
        entry = work.notebook.history(number)[-1].entry
        if not entry.photograph:
            raise NotMeasuredError(
                f"Trial {number} has no photograph.",
                hint="Keep one with the next trial as you note it.",
                command="laydown trial add --photo",
            )
        return work.notebook.photograph(entry.photograph)


def show_trial(library: Library, number: int) -> TrialTold:
    """Show the trial of that number.

    Raises
    ------
    UnknownNameError
        Where there is none.
    """
    with library.look() as work:
        history = tuple(map(shown, work.notebook.history(number)))
    return TrialTold(history[-1], history[:-1])
