"""What another light does to matches, and how it is said."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.color.lab import lab_from_reflectance, lab_from_xyz
from laydown.color.light_names import NamedLight
from laydown.color.metamerism import corrected_for_mismatch, metamerism_index
from laydown.color.tristimulus import xyz_from_reflectance
from laydown.match.acceptance import acceptance
from laydown.match.outcome import Difference
from laydown.match.words import difference
from laydown.media.beside import Pair
from laydown.media.recipe import Recipe
from laydown.plan.light.steadiest import Steadiest
from laydown.plan.notebook import difference_range
from laydown.reference.thresholds import thresholds

APART = 0.1
"""Share of what no spectrum stands for (standard deviation) that a light does not do to both alike;
calibrated on the simulated bench, see docs/decisions/light.md."""


class Holding(StrEnum):
    """What becomes of a match under another light, in a word."""

    HOLDS = "holds"
    DRIFTS = "drifts"
    BREAKS = "breaks"


@dataclass(frozen=True, slots=True, eq=False)
class UnderLight:
    """A pair, the color wanted and the match, as an eye used to one light sees it."""

    light: NamedLight
    """Which."""
    wanted: FloatArray
    lab: FloatArray
    """Shape (3,), CIELAB of the color wanted and of the match, against this light's white."""
    difference: Difference
    """Of the two, at kL 1, in numbers and words: all that is off, whatever the reason."""
    acceptance: float
    """The chance, 0 to 1, that an observer accepts the match there."""
    index: float
    """The metamerism index from daylight to this light, in CIEDE2000."""
    index_range: tuple[float, float]
    """What holds the index 80 times in 100."""
    apart: str
    """What the light alone does to the pair, in words; what is off by day is taken out."""
    holding: Holding
    """The verdict."""


@dataclass(frozen=True, slots=True, eq=False)
class LightedMatch:
    """A recipe against its target, by day and under other lights, in the order asked for."""

    recipe: Recipe
    by_day: UnderLight
    lights: tuple[UnderLight, ...]

    @property
    def holding(self) -> Holding:
        """The worst of the verdicts."""
        found = {seen.holding for seen in self.lights}
        return next((h for h in (Holding.BREAKS, Holding.DRIFTS) if h in found), Holding.HOLDS)

    def where(self, holding: Holding) -> tuple[UnderLight, ...]:
        """Return the lights of a verdict."""
        return tuple(seen for seen in self.lights if seen.holding is holding)


def under_lights(
    pair: Pair, recipe: Recipe, *, day: NamedLight, lights: Sequence[NamedLight], tolerance: float
) -> LightedMatch:
    """See a recipe beside the color wanted under several lights.

    Parameters
    ----------
    pair
        The color wanted and the match, see `laydown.match.pairing`.
    recipe
        The whole of what lies there.
    day
        The light that the match was made for.
    lights
        The others.
    tolerance
        CIEDE2000 at which half of observers accept.
    """
    by_day = _seen(day, pair, tolerance, None)
    others = tuple(_seen(one, pair, tolerance, by_day) for one in lights)
    return LightedMatch(recipe, by_day, others)


def holding(by_day: float, there: float, index: float, *, tolerance: float) -> Holding:
    """Judge what a light does to a match.

    *Holds*: the light alone does nothing that an eye would notice. *Breaks*: it does, and the match
    is out of the tolerance there though by day it was within, or, where it was out by day too,
    noticeably further off. *Drifts*: what lies between, a change to be seen and to be borne.

    Parameters
    ----------
    by_day, there
        CIEDE2000 of the match from the color wanted, by day and under the light.
    index
        The metamerism index.
    tolerance
        CIEDE2000 at which half of observers accept.

    Examples
    --------
    >>> [holding(0.5, d, d, tolerance=2.25).value for d in (0.6, 1.5, 2.4)]
    ['holds', 'drifts', 'breaks']
    """
    noticeable = thresholds()["noticeable"]
    if index < noticeable:
        return Holding.HOLDS
    borne = tolerance if by_day <= tolerance else by_day + noticeable
    return Holding.BREAKS if there > borne else Holding.DRIFTS


def _seen(light: NamedLight, pair: Pair, tolerance: float, by_day: UnderLight | None) -> UnderLight:
    weights = light.weights

    def see(spectra: FloatArray) -> FloatArray:
        return lab_from_reflectance(spectra, weights=weights)

    target, lab = see(pair.wanted[0]), see(pair.given[0])
    covariance = pair.covariance(lambda wanted, given: see(given) - see(wanted))
    off = difference(target, lab)
    index, spread, apart = _coming_apart(weights, pair)
    first = off if by_day is None else by_day.difference
    return UnderLight(
        light=light,
        wanted=target,
        lab=lab,
        difference=off,
        acceptance=acceptance(target, lab, covariance, tolerance=tolerance),
        index=index,
        index_range=spread,
        apart=apart,
        holding=holding(first.delta_e, off.delta_e, index, tolerance=tolerance),
    )


def _coming_apart(weights: FloatArray, pair: Pair) -> tuple[float, tuple[float, float], str]:
    """Return the metamerism index, the range that holds it, and what the light does in words.

    What is left open moves the pair by day and under the light together, so each thing is tried
    under both; what no spectrum stands for does nearly the same under both and mostly falls out.
    """
    white = weights.sum(axis=0)

    def apart(target: FloatArray, obtained: FloatArray) -> FloatArray:
        corrected = corrected_for_mismatch(
            xyz_from_reflectance(obtained, weights=weights),
            wanted_reference=xyz_from_reflectance(target),
            xyz_reference=xyz_from_reflectance(obtained),
        )
        there = lab_from_reflectance(target, weights=weights)
        return np.asarray(lab_from_xyz(corrected, white=white) - there)

    target, obtained = pair.wanted[0], pair.given[0]
    index = metamerism_index(
        wanted_reference=xyz_from_reflectance(target),
        xyz_reference=xyz_from_reflectance(obtained),
        wanted_test=xyz_from_reflectance(target, weights=weights),
        xyz_test=xyz_from_reflectance(obtained, weights=weights),
        white_test=white,
    )
    there = lab_from_reflectance(target, weights=weights)
    corrected = there + apart(target, obtained)
    moved = APART**2 * pair.rest + pair.moved(apart)
    spread = difference_range(there, corrected, moved)
    return float(index), spread, difference(there, corrected).words


NOTHING = "no difference worth naming"


def listed(words: Sequence[str]) -> str:
    """Join words as a person would.

    Examples
    --------
    >>> listed(["lamp"]), listed(["lamp", "tubes", "window"])
    ('lamp', 'lamp, tubes and window')
    """
    return " and ".join([", ".join(words[:-1]), words[-1]] if len(words) > 1 else words)


def light_names(seen: Iterable[UnderLight]) -> str:
    """Name lights in a sentence."""
    return listed([f"the {one.light.short}" for one in seen])


def verdict_words(check: LightedMatch) -> str:
    """Say under which lights a match breaks, drifts and holds.

    Examples
    --------
    ``verdict_words(check)`` may be “breaks under the evening lamp, drifts under the home LED”.
    """
    said = [
        f"{holding} under {light_names(check.where(holding))}"
        for holding in (Holding.BREAKS, Holding.DRIFTS)
        if check.where(holding)
    ]
    return ", ".join(said) or f"{Holding.HOLDS} under all lights asked for"


def verdict_sentence(check: LightedMatch) -> str:
    """Return the same as a sentence without its stop."""
    words = verdict_words(check)
    return words[0].upper() + words[1:]


def change_words(seen: UnderLight) -> str:
    """Say what a light does to the match, beside the color wanted.

    Examples
    --------
    ``change_words(seen)`` may be “turns a little redder” or “stays”.
    """
    if seen.holding is Holding.HOLDS:
        return "stays"
    if seen.apart == NOTHING:
        return "moves, in no one direction"
    return f"turns {seen.apart.replace(' too light', ' lighter').replace(' too dark', ' darker')}"


def index_words(seen: UnderLight) -> str:
    """Write the metamerism index with what holds it 80 times in 100."""
    low, high = seen.index_range
    return f"{seen.index:.1f} ({low:.1f} to {high:.1f})"


def instead_words(found: Steadiest) -> str:
    """Say what a kit can do about a match that does not hold.

    Examples
    --------
    >>> print(instead_words(Steadiest(None, 2.8, 2.8, 2.6, 40, proven=True)).partition(":")[0])
    Nothing here holds better
    """
    how = (
        "of all recipes none comes"
        if found.proven
        else f"of the {found.seen:,} recipes nearest by day none comes"
    )
    if found.recipe is None:
        return (
            f"Nothing here holds better: {how} closer than {found.least:.1f} at its worst, this is"
            f" {found.worst:.1f}."
        )
    return (
        f"At its worst it is {found.worst_instead:.1f} off, instead of {found.worst:.1f};"
        f" {how} closer than {found.least:.1f}."
    )


def summary_words(checks: Sequence[LightedMatch]) -> str:
    """Count how many matches hold, drift and break.

    Examples
    --------
    ``summary_words(checks)`` may be “Of 25 matches 20 hold under all lights, 3 drift and 2 break.”
    """
    counts = {one: sum(check.holding is one for check in checks) for one in Holding}
    said = [f"{counts[Holding.HOLDS]} hold under all lights"]
    said += [
        f"{count} {word}{'s' if count == 1 else ''} under one or more"
        for word, count in (("drift", counts[Holding.DRIFTS]), ("break", counts[Holding.BREAKS]))
        if count
    ]
    return f"Of {len(checks)} matches {listed(said)}."
