"""Find trials: by a color, a colorant, or words of their remarks."""

from dataclasses import dataclass

import numpy as np

from laydown.app.targets import Wanted, settle_targets
from laydown.app.trial_words import TrialShown, shown
from laydown.color.difference import ciede2000
from laydown.color.lab import lab_from_reflectance
from laydown.errors import BadColorError, UnknownNameError
from laydown.store.library import Library
from laydown.store.trial_records import StoredTrial


@dataclass(frozen=True, slots=True)
class FindTrials:
    """What to look for; all that is given must hold.

    Parameters
    ----------
    color, within
        A color in any form that `match` knows, and how far from it (CIEDE2000) is near.
    colorant
        That the recipe uses.
    words
        That stand in the remark, or in the name of paper or kit.
    """

    color: str = ""
    within: float = 5.0
    colorant: str = ""
    words: str = ""


@dataclass(frozen=True, slots=True, eq=False)
class TrialFound:
    """A trial, and how far it is from the color; None where no color was asked for."""

    trial: TrialShown
    distance: float | None


@dataclass(frozen=True, slots=True, eq=False)
class TrialsFound:
    """Trials, nearest first, or by number."""

    found: tuple[TrialFound, ...]


def find_trials(library: Library, request: FindTrials) -> TrialsFound:
    """Find trials, nearest to a color first.

    Raises
    ------
    BadColorError
        When nothing to look for was given, or the color can't be read.
    """
    if not (request.color or request.colorant or request.words):
        raise BadColorError(
            "Nothing to look for was named.",
            hint="Give a color, a colorant or words.",
            command="COLOR, --colorant or --words",
        )
    with library.look() as work:
        stored = work.notebook.latest()
        label = work.find_colorant(request.colorant).label if request.colorant else ""
    kept = [t for t in stored if _has(t, label, request.words)]
    if not request.color:
        return TrialsFound(tuple(TrialFound(shown(t), None) for t in kept))
    return _nearest(library, request, kept)


def _has(trial: StoredTrial, label: str, words: str) -> bool:
    entry = trial.entry
    text = f"{entry.remark} {entry.paper} {entry.kit} {entry.wanted}".casefold()
    return (not label or label in {c.label for c in entry.recipe.colorants}) and all(
        word in text for word in words.casefold().split()
    )


def _nearest(library: Library, request: FindTrials, kept: list[StoredTrial]) -> TrialsFound:
    if not kept:
        return TrialsFound(())
    try:
        (target,) = settle_targets(library, [Wanted(request.color)], paper=kept[0].entry.paper)
    except UnknownNameError as error:
        message = f"“{request.color}” is no color here."
        raise BadColorError(message, hint=error.hint, command=error.command) from error
    labs = lab_from_reflectance(np.array([t.entry.reflectance for t in kept]))
    far = ciede2000(labs, target.lab)
    order = [int(i) for i in np.argsort(far, kind="stable") if far[i] <= request.within]
    return TrialsFound(tuple(TrialFound(shown(kept[i]), float(far[i])) for i in order))
