"""What the trials of a kit on a paper have taught, kept until they or the swatches change.

Trials made with a kit teach that kit; those made with whole ranges teach whole ranges. Only those
on the same paper count, and only those whose colorants were all swatched on it. What somebody else
laid with a kit, a student with the teacher's, teaches it nothing.
"""

import hashlib
import json
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from laydown.app.fits.kept import sound
from laydown.app.kept_text import to_text
from laydown.color.lab import lab_from_reflectance
from laydown.media.inference.fit import Fit, OneFit
from laydown.media.inference.learning import Learned, learn
from laydown.media.kit.fit import AnyFit, MediumFit
from laydown.media.laydown import Medium
from laydown.media.recipe import Step, name_key
from laydown.media.swatch import Fill, Trial
from laydown.store.library import Library, Work
from laydown.store.records import FitKey, StoredTrial

Notes = tuple[str, ...]
LEARNING_VERSION = "hand 4"
"""Changes whenever the same trials would teach something else."""
ENOUGH_TRIALS = 20
"""With fewer, regions of 80 in 100 can't be told from those of 60 or 95 (chosen, no source)."""
NOT_YET_YOURS = "How sure this is was tested on simulations, not yet on your work."


@dataclass(frozen=True, slots=True, eq=False)
class OwnTrials:
    """The trials of a kit that a fit can learn from, in their order, and changed fills by label."""

    stored: tuple[StoredTrial, ...]
    fills: dict[str, Fill]

    @property
    def trials(self) -> tuple[Trial, ...]:
        """As the model takes them."""
        return tuple(as_trial(stored) for stored in self.stored)


def as_trial(stored: StoredTrial) -> Trial:
    """Return a trial as the model takes it."""
    entry = stored.entry
    lab = lab_from_reflectance(entry.reflectance)
    return Trial(
        stored.number,
        entry.recipe,
        lab,
        noise=entry.spread,
        fill=entry.fill,
        picture=entry.picture,
        shared=entry.shared,
    )


def own_trials(library: Library, fit: Fit, kit: str) -> OwnTrials:
    """Return the trials that count for a kit (or, for an empty name, for whole ranges)."""
    with library.look() as work:
        stored = tuple(t for t in work.notebook.latest() if _counts(t, fit, kit))
        return OwnTrials(stored, _fills(work, stored) if fit.medium is Medium.MARKER else {})


def _counts(trial: StoredTrial, fit: Fit, kit: str) -> bool:
    entry = trial.entry
    known = {c.label for c in fit.colorants}
    return (
        name_key(entry.kit) == name_key(kit)
        and not entry.made_by
        and name_key(entry.paper) == name_key(fit.paper.name)
        and bool(entry.recipe.colorants)
        and (
            fit.medium is not Medium.MARKER or all(isinstance(s, Step) for s in entry.recipe.steps)
        )
        and {c.label for c in entry.recipe.colorants} <= known
    )


def _fills(work: Work, stored: Sequence[StoredTrial]) -> dict[str, Fill]:
    """Return the fill of each colorant that was noted since it was last swatched."""
    noted = {
        c: (t.entry.fill, t.recorded, t.entry.paper)
        for t in stored
        for c in t.entry.recipe.colorants
    }
    changed = {c: told for c, told in noted.items() if told[0] is not Fill.USUAL}
    fills = {}
    for colorant, (fill, when, paper) in changed.items():
        swatches = work.swatches(colorant=colorant, paper=paper)
        if not any(s.when > when for s in swatches):
            fills[colorant.label] = fill
    return fills


def teach(fit: OneFit, own: OwnTrials) -> Learned[OneFit]:
    """Learn from a kit's trials of one medium."""
    return learn(fit, own.trials, fills=own.fills)


def taught_fit(
    library: Library, fit: AnyFit, kit: str, *, without: int = 0
) -> tuple[AnyFit, Notes]:
    """Return the fit as the trials of a kit have moved it, and notes that say so.

    Each medium learns for itself, from trials of that medium alone. Without trials it is the fit
    itself.

    Parameters
    ----------
    fit
        Of swatches.
    kit
        Whose trials; empty for those of whole ranges.
    without
        The number of a trial that is not to count; 0 for none.
    """
    notes: list[str] = []

    def taught(part: MediumFit) -> Any:
        named = "" if part is fit else f" with {part.medium.plural}"
        moved, said = _taught(library, part, kit, named, without)
        notes.extend(said)
        return moved

    return fit.mapped(taught), tuple(dict.fromkeys(notes))


def _taught(
    library: Library, fit: OneFit, kit: str, with_what: str, without: int
) -> tuple[OneFit, Notes]:
    own = own_trials(library, fit, kit)
    own = replace(own, stored=tuple(t for t in own.stored if t.number != without))
    if not own.stored:
        return fit, ()
    key = _key(fit, own, kit)
    with library.look() as work:
        text = work.fit(key)
    if kept := sound(text, type(fit), fit.colorants, fit.paper):
        return kept
    learned = teach(fit, own)
    notes = notes_on(learned, fit.paper.name + with_what, own.fills)
    if not without:
        library.keep_fit(key, to_text((learned.fit, notes)))
    return learned.fit, notes


def _key(fit: Fit, own: OwnTrials, kit: str) -> FitKey:
    rests_on = [
        to_text(fit),
        sorted((label, str(fill)) for label, fill in own.fills.items()),
        [[t.uid, t.version] for t in own.stored],
    ]
    digest = hashlib.sha256(json.dumps(rests_on).encode()).hexdigest()
    ranges = sorted({c.range for c in fit.colorants})
    version = f"{fit.model_version}, {LEARNING_VERSION}"
    return FitKey((f"trials of {kit}", *ranges), fit.paper.name, version, digest)


def notes_on(learned: Learned[Any], paper: str, fills: dict[str, Fill]) -> Notes:
    """Say what trials taught: how many counted, the hand, what was set aside, how far to trust it.

    Parameters
    ----------
    learned
        From `teach`.
    paper
        Its name, and where the kit has several media, with which of them.
    fills
        Of markers that have changed since they were swatched.
    """
    count = len(learned.numbers) - len(learned.flagged_numbers)
    trials = "1 trial" if count == 1 else f"{count} trials"
    notes = (
        [f"Learned from {trials} of yours on {paper}: {hand_in_words(learned)}."] if count else []
    )
    if learned.flagged_numbers:
        named = ", ".join(map(str, learned.flagged_numbers))
        notes.append(
            f"Set aside, since nothing else you did agrees with it: trial {named}. "
            "Ask why it came out so."
        )
    if fills:
        told = ", ".join(f"{label.partition('/')[2]} ({fill})" for label, fill in fills.items())
        notes.append(f"Less sure until swatched again: {told}.")
    if count < ENOUGH_TRIALS:
        notes.append(NOT_YET_YOURS)
    return tuple(notes)


def hand_in_words(learned: Learned[Any]) -> str:
    """Say how much a person lays against the swatches, with its uncertainty."""
    factor = float(np.exp(learned.amount))
    low, high = (np.exp(learned.amount + s * 1.28 * learned.amount_deviation) for s in (-1, 1))
    return f"you lay {factor:.2f} times what the swatches have ({low:.2f} to {high:.2f})"
