"""Show a trial with all that was ever noted of it."""

from dataclasses import dataclass

from laydown.app.trial_words import TrialShown, shown
from laydown.store.library import Library


@dataclass(frozen=True, slots=True, eq=False)
class TrialTold:
    """A trial as it was last noted, and its earlier entries, oldest first."""

    trial: TrialShown
    earlier: tuple[TrialShown, ...]


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
