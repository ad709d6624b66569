"""List the trials of the notebook."""

from dataclasses import dataclass

from laydown.app.trial_words import TrialShown, shown
from laydown.media.labels import name_key
from laydown.store.library import Library


@dataclass(frozen=True, slots=True)
class ListTrials:
    """Which trials; empty for all. Those taken back are left out unless asked for."""

    kit: str = ""
    paper: str = ""
    withdrawn: bool = False


@dataclass(frozen=True, slots=True, eq=False)
class Trials:
    """Trials by number."""

    trials: tuple[TrialShown, ...]


def list_trials(library: Library, request: ListTrials) -> Trials:
    """List trials of a kit or on a paper."""
    with library.look() as work:
        paper = work.paper(request.paper).name if request.paper else ""
        stored = work.notebook.latest(withdrawn=request.withdrawn)
    return Trials(
        tuple(
            shown(t)
            for t in stored
            if (not paper or name_key(t.entry.paper) == name_key(paper))
            and (not request.kit or name_key(t.entry.kit) == name_key(request.kit))
        )
    )
