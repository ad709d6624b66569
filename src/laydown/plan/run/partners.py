"""For one colorant: which others make its highlight and shadow, and what their blend becomes."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from laydown.match.mud import chroma_lost
from laydown.media.kit.fit import AnyFit, predict
from laydown.media.prediction import Prediction
from laydown.media.recipe import Recipe, Step, order_troubles
from laydown.plan.run.runs import CHROMA_FLOOR, CHROMA_JUMP, Shade, drift, shade
from laydown.reference.thresholds import thresholds

NEAREST, FARTHEST = 0.5, 3.0
"""Value steps that a partner may be off (common practice, no source)."""
BEST_STEP = 1.5
"""Value steps that a partner is off at the best (common practice, no source)."""
FREEDOM = 8.0
"""Hue difference [IPT degrees] that costs as much as `CHROMA_JUMP`."""


GOOD = 1.0
"""A partner that costs less is a good one (chosen)."""


@dataclass(frozen=True, slots=True, eq=False)
class Partner:
    """A highlight or shadow for a colorant.

    Parameters
    ----------
    role
        "highlight" or "shadow".
    shade
        One coat of the partner.
    step
        Value steps from the colorant, above 0 for lighter.
    turn
        Hue difference [IPT degrees, fading out towards gray].
    cost
        What partners are ranked by; below `GOOD` is a good one.
    blend
        The two laid over each other where they meet, the paler first, but for media that can lie
        in one order only.
    between
        Whether the blend's value lies between theirs; where they overlap it is mostly darker.
    mud
        The warning where the blend turns muddy; else empty.
    """

    role: str
    shade: Shade
    step: float
    turn: float
    cost: float
    blend: Prediction
    between: bool
    mud: str

    @property
    def is_good(self) -> bool:
        """Whether hue, chroma and value fit as well as in a usual run; else it is a makeshift."""
        return self.cost < GOOD


def partners(
    own: Shade, others: Sequence[Shade], fit: AnyFit, *, count: int = 3
) -> tuple[Partner, ...]:
    """Propose highlight and shadow partners.

    Parameters
    ----------
    own
        One coat of the colorant.
    others
        One coat of each that is at hand, itself included or not.
    fit
        The kit on its paper.
    count
        How many of each to propose at most.

    Returns
    -------
    tuple of Partner
        Highlights first, each the best first.

    Examples
    --------
    ``partners(kelp, one_coats(fit), fit)[0].blend.lab`` is the color where the two overlap.
    """
    found = []
    for role, sign in (("highlight", 1.0), ("shadow", -1.0)):
        fitting = [o for o in others if NEAREST <= sign * (o.value - own.value) <= FARTHEST]
        ranked = sorted(fitting, key=lambda o: (_cost(own, o), o.name))
        found += [_partner(role, own, other, fit) for other in ranked[:count]]
    return tuple(found)


def _cost(own: Shade, other: Shade) -> float:
    hue = drift([own.hue, other.hue], [own.chroma, other.chroma])[0, 1]
    chroma = np.log((own.chroma + CHROMA_FLOOR) / (other.chroma + CHROMA_FLOOR))
    step = abs(own.value - other.value) - BEST_STEP
    return float((hue / FREEDOM) ** 2 + (chroma / CHROMA_JUMP / 2.0) ** 2 + step**2)


def _partner(role: str, own: Shade, other: Shade, fit: AnyFit) -> Partner:
    pair = sorted((own, other), key=lambda s: -s.value)
    steps = tuple(Step(c) for s in pair if s.recipe for c in s.recipe.colorants)
    sound = not order_troubles(Recipe(steps))
    seen = predict(fit, Recipe(steps if sound else steps[::-1]))
    met = shade("", seen.lab)
    low, high = sorted((own.value, other.value))
    return Partner(
        role=role,
        shade=other,
        step=other.value - own.value,
        turn=float(drift([own.hue, other.hue], [own.chroma, other.chroma])[0, 1]),
        cost=_cost(own, other),
        blend=seen,
        between=low <= met.value <= high,
        mud=_mud(fit, seen.recipe, pair),
    )


def _mud(fit: AnyFit, recipe: Recipe, pair: Sequence[Shade]) -> str:
    lost = chroma_lost(fit, recipe)
    if lost < thresholds()["mud"]:
        return ""
    return (
        f"{pair[0].name} and {pair[1].name} turn muddy where they meet (chroma {lost:.0f} lost);"
        " leave a gap, or lay a step of the run between them."
    )
