"""What another light does to matches, and how it is said."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from enum import StrEnum

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.color.lab import ciede2000, lab_from_reflectance, lab_from_xyz, xyz_from_reflectance
from laydown.color.light import NamedLight, corrected_for_mismatch, metamerism_index
from laydown.match.acceptance import acceptance
from laydown.match.outcome import Difference
from laydown.match.question import Question
from laydown.match.ranking import BY_EYE
from laydown.match.words import difference
from laydown.media.inference.leeway import Pair
from laydown.media.kit.fit import reflectance
from laydown.media.legible import capital
from laydown.media.recipe import Recipe
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

    `pair`: see `laydown.match.pairing`. `recipe`: the whole of what lies there. `day`: the light
    that the match was made for. `tolerance`: CIEDE2000 at which half of observers accept.
    """
    by_day = _seen(day, pair, tolerance, None)
    others = tuple(_seen(one, pair, tolerance, by_day) for one in lights)
    return LightedMatch(recipe, by_day, others)


def holding(by_day: float, there: float, index: float, *, tolerance: float) -> Holding:
    """Judge what a light does to a match.

    *Holds*: the light alone does nothing that an eye would notice. *Breaks*: it does, and the match
    is out of the tolerance there though by day it was within, or, where it was out by day too,
    noticeably further off. *Drifts*: what lies between, a change to be seen and to be borne.

    `by_day`, `there`: CIEDE2000 of the match from the color wanted, by day and under the light.
    `index`: the metamerism index. `tolerance`: CIEDE2000 at which half of observers accept.

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


# The recipe that holds under all lights: the least of the worst, and proven to be that.
#
# No recipe is nearer to its target at its worst than it is by day. So all recipes that may hold
# better than the one recommended lie, by day, within that one's worst; the search hands over every
# one of those, and each is seen under each light. All at kL 1, where tolerances were measured.

MOST_SEEN = 2000
"""So many recipes are seen under the lights at most: some seconds for pencils."""
WIDEST = 6.0
"""How much farther off by day than the nearest [CIEDE2000] a recipe is looked at."""


@dataclass(frozen=True, slots=True, eq=False)
class Steadiest:
    """What a kit can do against a change of light."""

    recipe: Recipe | None
    """What to lay instead, over what lies there; None where nothing holds better."""
    worst: float
    """How far off the recommended recipe is under the light that is hardest on it, day included
    [CIEDE2000]."""
    worst_instead: float
    """The same of the recipe to lay instead, or of the recommended one where there is none."""
    least: float
    """The least such worst of all recipes that were seen."""
    seen: int
    """How many recipes were seen under all lights."""
    proven: bool
    """Whether no recipe within the limits has a lesser worst than `least`."""


def steadiest(
    question: Question, recommended: Recipe, wanted: FloatArray, lights: Sequence[NamedLight]
) -> Steadiest:
    """Find the recipe whose worst under several lights is least, and a plain one about as good.

    A recipe is offered that stays within the tolerance under all lights where the recommended one
    doesn't, or that is noticeably nearer at its worst. Of those whose worst is within what is just
    noticeable of the least, the one of fewest steps and coats is taken. What `question` ranks by
    does not count. `recommended`: the recipe recommended by day, over what lies there. `wanted`:
    shape (36,), a spectrum. `lights`: all that count, the one the match was made for first.
    """
    asked = replace(question, ranking=BY_EYE, watch=None)
    worst = float(_worst(asked, [recommended], wanted, lights)[0])
    room = worst - float(asked.nearest().costs[0])
    found = asked.nearest(1, within=float(np.clip(room, 1e-6, WIDEST)))
    recipes = found.recipes[:MOST_SEEN]
    worsts = _worst(asked, recipes, wanted, lights)
    least = float(worsts.min())
    cut = room > WIDEST or len(found.recipes) > MOST_SEEN
    chosen = _plainest(recipes, worsts, _enough(worst, least, question.tolerance))
    return Steadiest(
        recipe=None if chosen is None else recipes[chosen],
        worst=worst,
        worst_instead=worst if chosen is None else float(worsts[chosen]),
        least=least,
        seen=len(recipes),
        proven=not cut or least <= float(found.costs[len(recipes) - 1]),
    )


def worst_of(spectra: FloatArray, wanted: FloatArray, lights: Sequence[NamedLight]) -> FloatArray:
    """Return how far off each spectrum is under the light that is hardest on it [CIEDE2000].

    `spectra`: shape (n, 36). `wanted`: shape (36,). `lights`: at least one. Returns shape (n,).

    >>> from laydown.color.light import named_lights
    >>> gray = np.full(36, 0.5)
    >>> worst_of(gray[None], gray, named_lights()).tolist()
    [0.0]
    """
    off = [
        ciede2000(
            lab_from_reflectance(wanted, weights=light.weights),
            lab_from_reflectance(spectra, weights=light.weights),
        )
        for light in lights
    ]
    return np.asarray(np.max(off, axis=0), dtype=np.float64)


def _worst(
    question: Question, recipes: Sequence[Recipe], wanted: FloatArray, lights: Sequence[NamedLight]
) -> FloatArray:
    spectra = [reflectance(question.fit, question.over.then(recipe)) for recipe in recipes]
    return worst_of(np.array(spectra), wanted, lights)


def _enough(worst: float, least: float, tolerance: float) -> float:
    """Return the worst up to which a recipe is good enough to be offered."""
    noticeable = thresholds()["noticeable"]
    borne = tolerance if least <= tolerance < worst else worst - noticeable
    return min(borne, least + noticeable)


def _plainest(recipes: Sequence[Recipe], worsts: FloatArray, enough: float) -> int | None:
    """Return the place of the plainest recipe whose worst is no more than enough."""
    good = [int(i) for i in np.flatnonzero(worsts <= enough)]
    plainness = {i: (len(recipes[i].steps), recipes[i].coats, float(worsts[i])) for i in good}
    return min(good, key=lambda i: (plainness[i], i), default=None)


NOTHING = "no difference worth naming"


def listed(words: Sequence[str]) -> str:
    """Join words as a person would.

    >>> listed(["lamp"]), listed(["lamp", "tubes", "window"])
    ('lamp', 'lamp, tubes and window')
    """
    return " and ".join([", ".join(words[:-1]), words[-1]] if len(words) > 1 else words)


def verdict_words(check: LightedMatch) -> str:
    """Say under which lights a match breaks, drifts and holds."""
    said = []
    for holding in (Holding.BREAKS, Holding.DRIFTS):
        if seen := check.where(holding):
            said.append(f"{holding} under {listed([f'the {one.light.short}' for one in seen])}")
    return ", ".join(said) or f"{Holding.HOLDS} under all lights asked for"


def verdict_sentence(check: LightedMatch) -> str:
    """Return the same as a sentence without its stop."""
    return capital(verdict_words(check))


def change_words(seen: UnderLight) -> str:
    """Say what a light does to the match, beside the color wanted."""
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

    >>> print(instead_words(Steadiest(None, 2.8, 2.8, 2.6, 40, proven=True)).partition(":")[0])
    Nothing here holds better
    """
    of = "all recipes" if found.proven else f"the {found.seen:,} recipes nearest by day"
    how = f"of {of} none comes"
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
    """Count how many matches hold, drift and break."""
    counts = {one: sum(check.holding is one for check in checks) for one in Holding}
    said = [f"{counts[Holding.HOLDS]} hold under all lights"]
    said += [
        f"{count} {word}{'s' if count == 1 else ''} under one or more"
        for word, count in (("drift", counts[Holding.DRIFTS]), ("break", counts[Holding.BREAKS]))
        if count
    ]
    return f"Of {len(checks)} matches {listed(said)}."
