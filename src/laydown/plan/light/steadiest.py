"""The recipe that holds under all lights: the least of the worst, and proven to be that.

No recipe is nearer to its target at its worst than it is by day. So all recipes that may hold
better than the one recommended lie, by day, within that one's worst; the search hands over every
one of those, and each is seen under each light. All at kL 1, where tolerances were measured.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.color.difference import ciede2000
from laydown.color.lab import lab_from_reflectance
from laydown.color.light_names import NamedLight
from laydown.match.question import Question
from laydown.match.ranking import BY_EYE
from laydown.media.kit.fit import reflectance
from laydown.media.recipe import Recipe
from laydown.reference.thresholds import thresholds

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
    noticeable of the least, the one of fewest steps and coats is taken.

    Parameters
    ----------
    question
        What is asked, with its limits; what it ranks by does not count here.
    recommended
        The recipe recommended by day, over what lies there.
    wanted
        Shape (36,), the target's spectrum.
    lights
        All that count, the one the match was made for first.
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

    Parameters
    ----------
    spectra
        Shape (n, 36).
    wanted
        Shape (36,).
    lights
        At least one.

    Returns
    -------
    FloatArray
        Shape (n,).

    Examples
    --------
    >>> from laydown.color.light_names import named_lights
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
