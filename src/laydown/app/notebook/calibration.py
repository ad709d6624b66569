"""What was promised of trials, and how good predictions have been."""

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from laydown.app.fits.at_hand import Supplies, set_up
from laydown.app.fits.learned import (
    ENOUGH_TRIALS,
    NOT_YET_YOURS,
    as_trial,
    hand_in_words,
    own_trials,
    teach,
)
from laydown.app.notebook import asking, shown
from laydown.app.words import ColorInWords, in_words
from laydown.documents.print.trials import calibration_svg
from laydown.errors import BadRecipeError, NotMeasuredError, UnknownNameError
from laydown.match.outcome import Difference
from laydown.match.words import difference
from laydown.media.kit.fit import AnyFit, predict
from laydown.media.legible import legible
from laydown.media.prediction import Prediction
from laydown.media.recipe import Recipe
from laydown.plan.calibration import REGIONS, Calibration, calibrate
from laydown.store.library import Library

PROMISED = 80
"""The region that is promised, in 100."""
UNFORETOLD = (UnknownNameError, NotMeasuredError, BadRecipeError)
"""What is wrong with a trial of which nothing can be foretold."""


@dataclass(frozen=True, slots=True, eq=False)
class Promise:
    """What swatches alone led to expect of a trial."""

    color: ColorInWords
    """That was expected."""
    off: Difference
    """How the color obtained differs from it."""
    held: bool
    """Whether that lies in the region of which 80 in 100 was said."""


def promises_of(library: Library, trials: Iterable[shown.TrialShown]) -> dict[int, Promise]:
    """Return what was promised of each trial, by its number.

    A trial is left out of which nothing can be foretold: its kit, its paper or a swatch is not
    there any more, or its steps are none that its medium knows.
    """
    fits: dict[Supplies, AnyFit | None] = {}
    found = {}
    for trial in trials:
        supplies = asking.supplies_of(trial)
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


def _promise(seen: Prediction, trial: shown.TrialShown) -> Promise:
    away = trial.color.lab - seen.lab
    square = away @ np.linalg.solve(seen.covariance + trial.noise**2 * np.eye(3), away)
    return Promise(
        in_words(seen.lab),
        difference(seen.lab, trial.color.lab),
        held=bool(square <= REGIONS[PROMISED]),
    )


@dataclass(frozen=True, slots=True, eq=False)
class CalibrationShown:
    """How good predictions have been."""

    kit: str
    paper: str
    """Of which."""
    recipes: tuple[Recipe, ...]
    """Of the trials, in their order."""
    calibration: Calibration
    """Each trial compared, and the scores before and after learning."""
    hand: str
    """How much the person lays, in words."""
    trust: str
    """How far the figures say something of this person's own work, in words."""
    svg: str
    """Values predicted against values measured, drawn."""


def show_calibration(library: Library, request: Supplies) -> CalibrationShown:
    """Compare every trial of these supplies with what was expected of it.

    Raises
    ------
    NotMeasuredError
        When there is no trial to compare.
    """
    bench = set_up(library, request, by_trials=False)
    whole = bench.whole
    told = [(part, own_trials(library, part, request.kit)) for part in whole.fits]
    told = [(part, own) for part, own in told if own.stored]
    if not told:
        raise NotMeasuredError(
            f"There is no trial of {bench.label} on {whole.paper.name} yet. {NOT_YET_YOURS}",
            hint="Note one first.",
            command='laydown trial add "Kelp*2" lab:40,-24,26 --kit mine',
        )
    learned = [teach(part, own) for part, own in told]
    stored = [trial for _, own in told for trial in own.stored]
    found = calibrate(
        [predict(whole, trial.entry.recipe) for trial in stored],
        [as_trial(trial) for trial in stored],
        residuals=np.concatenate([one.residuals for one in learned]),
        spreads=np.concatenate([one.spreads for one in learned]),
        flagged=np.concatenate([one.flagged for one in learned]),
    )
    title = f"Values predicted and measured: {bench.label} on {whole.paper.name}"
    return CalibrationShown(
        kit=bench.label,
        paper=whole.paper.name,
        recipes=tuple(trial.entry.recipe for trial in stored),
        calibration=found,
        hand="; ".join(map(hand_in_words, learned)),
        trust=_trust(len(stored) - sum(len(one.flagged_numbers) for one in learned)),
        svg=legible(calibration_svg(found.trials, title=title)),
    )


def _trust(count: int) -> str:
    if count < ENOUGH_TRIALS:
        return f"{NOT_YET_YOURS} {ENOUGH_TRIALS - count} more trials would tell."
    return f"Tested on {count} trials of your own."
