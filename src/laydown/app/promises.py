"""What was promised of trials: the color that swatches alone led to expect, and whether it held."""

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from laydown.app.color_in_words import ColorInWords, in_words
from laydown.app.explain_trial import supplies_of
from laydown.app.supplies import Supplies, set_up
from laydown.app.trial_words import TrialShown
from laydown.errors import BadRecipeError, NotMeasuredError, UnknownNameError
from laydown.match.outcome import Difference
from laydown.match.words import difference
from laydown.media.kit_fit import AnyFit, predict
from laydown.media.prediction import Prediction
from laydown.media.recipe import Recipe
from laydown.plan.calibration import REGIONS
from laydown.store.library import Library

PROMISED = 80
"""The region that is promised, in 100."""
UNFORETOLD = (UnknownNameError, NotMeasuredError, BadRecipeError)
"""What is wrong with a trial of which nothing can be foretold."""


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

    A trial is left out of which nothing can be foretold: its kit, its paper or a swatch is not
    there any more, or its steps are none that its medium knows.
    """
    fits: dict[Supplies, AnyFit | None] = {}
    found = {}
    for trial in trials:
        supplies = supplies_of(trial)
        if supplies not in fits:
            fits[supplies] = _fit_of(library, supplies)
        seen = _foretold(fits[supplies], trial.recipe)
        if seen is not None:
            found[trial.number] = _promise(seen, trial)
    return found


def _fit_of(library: Library, supplies: Supplies) -> AnyFit | None:
    try:
        return set_up(library, supplies, by_trials=False).whole
    except UNFORETOLD:
        return None


def _foretold(fit: AnyFit | None, recipe: Recipe) -> Prediction | None:
    known = {c.label for c in fit.colorants} if fit else set()
    if fit is None or not {c.label for c in recipe.colorants} <= known:
        return None
    try:
        return predict(fit, recipe)
    except UNFORETOLD:
        return None


def _promise(seen: Prediction, trial: TrialShown) -> Promise:
    away = trial.color.lab - seen.lab
    square = away @ np.linalg.solve(seen.covariance + trial.noise**2 * np.eye(3), away)
    return Promise(
        in_words(seen.lab),
        difference(seen.lab, trial.color.lab),
        held=bool(square <= REGIONS[PROMISED]),
    )
