"""For one colorant: which others make its highlight and shadow, and what their blend becomes."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.match.mud import chroma_lost, mud_in
from laydown.match.question import asked_of, best_of
from laydown.match.search.repertoire import Repertoire
from laydown.media.kit.fit import AnyFit, Prediction, predict
from laydown.media.recipe import Recipe, Step, format_recipe, order_troubles
from laydown.plan.run.runs import CHROMA_JUMP, GRAY, Shade, Tones, shade, steps_between, tones_of

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

    `own`: one coat of the colorant. `others`: one coat of each that is at hand, itself included or
    not. `count`: of each, at most. Returns highlights first, each the best first.
    """
    found = []
    every = tones_of(np.array([other.lab for other in others]).reshape(-1, 3))
    for role in ("highlight", "shadow"):
        costs = partner_costs(own, every, role)
        fitting = [place for place in range(len(others)) if np.isfinite(costs[place])]
        ranked = sorted(fitting, key=lambda place: (costs[place], others[place].name))
        found += [_partner(role, own, others[i], float(costs[i]), fit) for i in ranked[:count]]
    return tuple(found)


def partner_costs(own: Shade, others: Tones, role: str) -> FloatArray:
    """Return what each color costs as a highlight or shadow, shape (n,); infinite where it is none.

    None is what is too near or too far in value, of another hue, or much more or less vivid than
    paling or darkening leaves it; and no dark color has a shadow. `role`: "highlight" or "shadow".
    """
    one = tones_of(own.lab)
    up = role == "highlight"
    value, hue, chroma = steps_between(others, one) if up else steps_between(one, others)
    cost = (hue / FREEDOM) ** 2 + (chroma / CHROMA_JUMP / 2.0) ** 2 + (value - BEST_STEP) ** 2
    fits = (value >= NEAREST) & (value <= FARTHEST)
    fits &= (np.abs(hue) < OTHER_HUE) & (np.abs(chroma) < OTHER_STRENGTH)
    return np.where(fits & (up or own.value >= DARK), cost, np.inf)


def _partner(role: str, own: Shade, other: Shade, cost: float, fit: AnyFit) -> Partner:
    seen = predict(fit, _overlap(own, other))
    met = shade("", seen.lab)
    low, high = sorted((own.value, other.value))
    return Partner(
        role=role,
        shade=other,
        step=other.value - own.value,
        turn=float(steps_between(tones_of(own.lab), tones_of(other.lab))[1]),
        cost=cost,
        blend=seen,
        between=low <= met.value <= high,
        mud=_mud(fit, seen.recipe, own, other),
    )


def _overlap(one: Shade, other: Shade) -> Recipe:
    """Return one coat of each, the paler first where it may lie below the other."""
    pair = sorted((one, other), key=lambda s: -s.value)
    steps = tuple(Step(c) for s in pair if s.recipe for c in s.recipe.colorants)
    return Recipe(steps[::-1] if order_troubles(Recipe(steps)) else steps)


def _mud(fit: AnyFit, recipe: Recipe, own: Shade, other: Shade) -> str:
    lost = mud_in(fit, recipe)
    if not lost:
        return ""
    darker, paler = sorted((own, other), key=lambda s: s.value)
    return (
        f"{paler.name} and {darker.name} turn muddy where they meet (chroma {lost:.0f} lost);"
        " leave a gap, or lay a step of the run between them."
    )


# From one color to another: what lies between when the two are laid over each other.

DARKER = 1.0
"""Value steps below the darker of the two from which the middle of a gradient is called darker than
both (common practice, no source)."""


@dataclass(frozen=True, slots=True, eq=False)
class Gradient:
    """A gradient of two colors."""

    first: Shade
    second: Shade
    """One coat of each."""
    between: tuple[Shade, ...]
    """What they make together, from the first to the second; none where one can't lie on the
    other."""
    lost: float
    """The most chroma that any of these falls short of what the two have on average [CIELAB]."""
    muddy: bool
    """Whether any of them is called mud."""
    by_way_of: str
    """Where it is: the name of a vivid third color that goes muddy with neither; empty for none."""

    @property
    def shades(self) -> tuple[Shade, ...]:
        """All of it, from the first to the second."""
        return (self.first, *self.between, self.second)

    @property
    def darkens(self) -> bool:
        """Whether something between is darker than both."""
        darkest = min(self.first.value, self.second.value)
        return any(one.value < darkest - DARKER for one in self.between)

    @property
    def words(self) -> str:
        """What to expect, and what to do about it."""
        if not self.between:
            return "Nothing lies between: one of them can't lie on the other."
        if self.muddy:
            way = f"go by way of {self.by_way_of}" if self.by_way_of else "let one end at a line"
            return f"These two go muddy where they meet. Leave a gap, or {way}."
        if self.darkens:
            return (
                "It stays clean, but gets darker than both in the middle. Keep the overlap narrow."
            )
        return "It stays clean all the way."


def gradient(
    first: Shade,
    second: Shade,
    *,
    fit: AnyFit,
    together: Repertoire,
    others: Sequence[Shade] = (),
    count: int = 3,
) -> Gradient:
    """Return what lies between two colors.

    `together`: the short recipes of these two alone. `others`: one coat of each that is at hand, to
    go by way of. `count`: how many steps between are looked for; fewer come where one recipe is
    nearest to several.
    """
    between = _between(first, second, together, count)
    lost = max((chroma_lost(fit, one.recipe) for one in between if one.recipe), default=0.0)
    muddy = any(mud_in(fit, one.recipe) for one in between if one.recipe)
    way = _by_way_of(first, second, others, fit) if muddy else ""
    return Gradient(first, second, between, lost, muddy, way)


def _between(first: Shade, second: Shade, together: Repertoire, count: int) -> tuple[Shade, ...]:
    """Return for even steps of the straight line what a match gives of both, each once."""
    several = together.members != together.members[:, :1]
    both = np.flatnonzero((several & (together.members >= 0)).any(axis=1))
    found: list[int] = []
    for part in np.linspace(0.0, 1.0, count + 2)[1:-1] if len(both) else ():
        wanted = first.lab + part * (second.lab - first.lab)
        place = best_of(asked_of(together, wanted), together, both)
        if place not in found:
            found.append(place)
    found.sort(key=lambda place: float(together.lab[place] @ (second.lab - first.lab)))
    recipes = [(together.recipe(place), together.lab[place]) for place in found]
    return tuple(shade(format_recipe(recipe), lab, recipe) for recipe, lab in recipes)


def _by_way_of(first: Shade, second: Shade, others: Sequence[Shade], fit: AnyFit) -> str:
    """Return the most vivid third color that goes muddy with neither; empty where none is.

    A gray goes muddy with nothing, and is no way from red to green.
    """
    for other in sorted(others, key=lambda shade: (-shade.chroma, shade.name)):
        if other.name not in {first.name, second.name} and other.chroma >= GRAY:
            laid = _overlap(first, other), _overlap(other, second)
            if not any(order_troubles(both) or mud_in(fit, both) for both in laid):
                return other.name
    return ""
