"""List the trials of the notebook."""

from dataclasses import dataclass

from laydown.app.trial_words import TrialShown, shown
from laydown.media.labels import name_key
from laydown.store.library import Library
from laydown.store.trial_records import StoredTrial


@dataclass(frozen=True, slots=True)
class ListTrials:
    """Which trials.

    Parameters
    ----------
    kit, paper
        Empty for all.
    withdrawn
        Whether those that were taken back are wanted, too.
    skip, most
        How many of them to pass over first, and how many to list at most; None is all.
    latest_first
        Whether the highest number stands first.
    """

    kit: str = ""
    paper: str = ""
    withdrawn: bool = False
    skip: int = 0
    most: int | None = None
    latest_first: bool = False


@dataclass(frozen=True, slots=True, eq=False)
class Trials:
    """Trials by number, and how many of them there are in all."""

    trials: tuple[TrialShown, ...]
    total: int


def list_trials(library: Library, request: ListTrials) -> Trials:
    """List trials of a kit or on a paper."""
    with library.look() as work:
        paper = work.paper_name(request.paper) if request.paper else ""
        stored = work.notebook.latest(withdrawn=request.withdrawn)
    found = [trial for trial in stored if _is_of(trial, request.kit, paper)]
    if request.latest_first:
        found.reverse()
    end = None if request.most is None else request.skip + request.most
    return Trials(tuple(map(shown, found[request.skip : end])), len(found))


def _is_of(trial: StoredTrial, kit: str, paper: str) -> bool:
    entry = trial.entry
    return (not paper or name_key(entry.paper) == name_key(paper)) and (
        not kit or name_key(entry.kit) == name_key(kit)
    )
