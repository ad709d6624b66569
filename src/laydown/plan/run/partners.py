"""For one colorant: which others make its highlight and shadow, and what their blend becomes."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.match.mud import chroma_lost
from laydown.media.kit.fit import AnyFit, predict
from laydown.media.prediction import Prediction
from laydown.media.recipe import Recipe, Step, order_troubles
from laydown.plan.run.runs import CHROMA_JUMP, Shade, Tones, shade, steps_between
from laydown.reference.thresholds import thresholds

NEAREST, FARTHEST = 0.5, 3.5
"""Value steps that a partner may be off (common practice, no source)."""
BEST_STEP = 1.5
"""Value steps that a partner is off at the best (common practice, no source)."""
FREEDOM = 8.0
"""Hue difference [IPT degrees] that costs as much as `CHROMA_JUMP`."""
OTHER_HUE = 2.0 * FREEDOM
"""From this hue difference on a color is another hue, and no highlight or shadow (chosen)."""
OTHER_STRENGTH = float(np.log(2.0))
"""Nor is one whose chroma is off by more than twice, over what paling or darkening explains."""
DARK = 2.5
"""Value below which a color has no shadow: it is the dark of others. The ISCC-NBS blacks end there
(from memory)."""
GOOD = 1.0
"""A partner that costs less is a good one (chosen)."""


@dataclass(frozen=True, slots=True, eq=False)
class Partner:
    """A highlight or shadow for a colorant."""

    role: str
    """"highlight" or "shadow"."""
    shade: Shade
    """One coat of the partner."""
    step: float
    """Value steps from the colorant, above 0 for lighter."""
    turn: float
    """Hue difference [IPT degrees, fading out towards gray]."""
    cost: float
    """What partners are ranked by; below `GOOD` is a good one."""
    blend: Prediction
    """The two laid over each other where they meet, the paler first, but for media that can lie in
    one order only."""
    between: bool
    """Whether the blend's value lies between theirs; where they overlap it is mostly darker."""
    mud: str
    """The warning where the blend turns muddy; else empty."""

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
    every = Tones.of(np.array([other.lab for other in others]).reshape(-1, 3))
    for role in ("highlight", "shadow"):
        costs = partner_costs(own, every, role)
        fitting = [place for place in range(len(others)) if np.isfinite(costs[place])]
        ranked = sorted(fitting, key=lambda place: (costs[place], others[place].name))
        found += [_partner(role, own, others[i], float(costs[i]), fit) for i in ranked[:count]]
    return tuple(found)


def partner_costs(own: Shade, others: Tones, role: str) -> FloatArray:
    """Return what each color costs as a highlight or shadow, shape (n,); infinite where it is none.

    None is what is too near or too far in value, of another hue, or much more or less vivid than
    paling or darkening leaves it; and no dark color has a shadow.

    Parameters
    ----------
    own
        The color to be shaded.
    others
        Of shape (n,).
    role
        "highlight" or "shadow".
    """
    one = Tones.of(own.lab)
    up = role == "highlight"
    off = steps_between(others, one) if up else steps_between(one, others)
    cost = (off.hue / FREEDOM) ** 2 + (off.chroma / CHROMA_JUMP / 2.0) ** 2
    cost = cost + (off.value - BEST_STEP) ** 2
    fits = (off.value >= NEAREST) & (off.value <= FARTHEST)
    fits &= (np.abs(off.hue) < OTHER_HUE) & (np.abs(off.chroma) < OTHER_STRENGTH)
    return np.where(fits & (up or own.value >= DARK), cost, np.inf)


def _partner(role: str, own: Shade, other: Shade, cost: float, fit: AnyFit) -> Partner:
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
        turn=float(steps_between(Tones.of(own.lab), Tones.of(other.lab)).hue),
        cost=cost,
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
