"""Say why a trial came out as it did."""

from dataclasses import dataclass

from laydown.app.color_in_words import ColorInWords, in_words
from laydown.app.learned_fits import taught_fit
from laydown.app.supplies import Supplies, set_up
from laydown.app.trial_words import TrialShown, shown
from laydown.color.lab import lab_from_reflectance
from laydown.match.diagnosis import Diagnosis, explain
from laydown.match.outcome import Difference
from laydown.match.words import difference
from laydown.media.kit_fit import AnyFit
from laydown.store.library import Library
from laydown.store.trial_records import StoredTrial, TrialEntry


@dataclass(frozen=True, slots=True)
class ExplainTrial:
    """The number of the trial."""

    number: int


@dataclass(frozen=True, slots=True, eq=False)
class TrialExplained:
    """A trial, the color its recipe leads to expect, how far off it came, and likely causes."""

    trial: TrialShown
    expected: ColorInWords
    off: Difference
    diagnosis: Diagnosis


def explain_trial(library: Library, request: ExplainTrial) -> TrialExplained:
    """Rank the likely causes of what came of a trial.

    What this kit's *other* trials on the paper taught counts in what is expected.

    Raises
    ------
    UnknownNameError
        For a number that no trial has.
    NotMeasuredError
        Where a colorant of the recipe was not swatched on the paper.
    """
    with library.look() as work:
        stored = work.notebook.history(request.number)[-1]
        papers = work.papers()
    fit = _fit_by_others(library, stored)
    entry = stored.entry
    lab = lab_from_reflectance(entry.reflectance)
    found = explain(
        fit, entry.recipe, lab, wanted=entry.intended, papers=papers, noise=entry.spread
    )
    return TrialExplained(
        shown(stored), in_words(found.expected), difference(found.expected, lab), found
    )


def supplies_of(trial: TrialEntry | TrialShown) -> Supplies:
    """Return the supplies that a trial was made from."""
    ranges = () if trial.kit else tuple(sorted({c.range for c in trial.recipe.colorants}))
    return Supplies(kit=trial.kit, ranges=ranges, paper=trial.paper)


def _fit_by_others(library: Library, stored: StoredTrial) -> AnyFit:
    """Return the fit of the kit as all its trials but one have moved it."""
    whole = set_up(library, supplies_of(stored.entry), by_trials=False).whole
    return taught_fit(library, whole, stored.entry.kit, without=stored.number).fit
