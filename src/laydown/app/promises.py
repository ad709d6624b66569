"""What was promised of trials: the color that swatches alone led to expect, and whether it held."""

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from laydown.app.color_in_words import ColorInWords, in_words
from laydown.app.explain_trial import supplies_of
from laydown.app.supplies import Supplies, set_up
from laydown.app.trial_words import TrialShown
from laydown.errors import NotMeasuredError, UnknownNameError
from laydown.match.outcome import Difference
from laydown.match.words import difference
from laydown.media.kit_fit import AnyFit, predict
from laydown.plan.calibration import REGIONS
from laydown.store.library import Library

PROMISED = 80
"""The region that is promised, in 100."""


@dataclass(frozen=True, slots=True, eq=False)
class Promise:
    """What swatches alone led to expect of a trial.

    Parameters
    ----------
    color
        That was expected.
    off
        How the color obtained differs from it.
    held
        Whether that lies in the region of which 80 in 100 was said.
    """

    color: ColorInWords
    off: Difference
    held: bool


def promises_of(library: Library, trials: Iterable[TrialShown]) -> dict[int, Promise]:
    """Return what was promised of each trial, by its number.

    A trial is left out whose kit, paper or swatches are not there any more.
    """
    fits: dict[Supplies, AnyFit | None] = {}
    found = {}
    for trial in trials:
        supplies = supplies_of(trial)
        if supplies not in fits:
            fits[supplies] = _fit_of(library, supplies)
        fit = fits[supplies]
        if fit is not None and _knows(fit, trial):
            found[trial.number] = _promise(fit, trial)
    return found


def _fit_of(library: Library, supplies: Supplies) -> AnyFit | None:
    try:
        return set_up(library, supplies, by_trials=False).whole
    except (UnknownNameError, NotMeasuredError):
        return None


def _knows(fit: AnyFit, trial: TrialShown) -> bool:
    return {c.label for c in trial.recipe.colorants} <= {c.label for c in fit.colorants}


def _promise(fit: AnyFit, trial: TrialShown) -> Promise:
    seen = predict(fit, trial.recipe)
    away = trial.color.lab - seen.lab
    square = away @ np.linalg.solve(seen.covariance + trial.noise**2 * np.eye(3), away)
    return Promise(
        in_words(seen.lab),
        difference(seen.lab, trial.color.lab),
        held=bool(square <= REGIONS[PROMISED]),
    )
