"""From one color to another: what lies between when the two are laid over each other."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from laydown.color.difference import ciede2000
from laydown.match.mud import chroma_lost
from laydown.match.search.repertoire import Repertoire
from laydown.media.kit.fit import AnyFit
from laydown.media.recipe import Recipe, Step, format_recipe, order_troubles
from laydown.plan.run.runs import GRAY, Shade, shade
from laydown.reference.thresholds import thresholds

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
    """Whether that is as much as is called mud."""
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

    Parameters
    ----------
    first, second
        One coat of each.
    fit
        The kit on its paper.
    together
        The short recipes of these two alone.
    others
        One coat of each that is at hand, to go by way of.
    count
        How many steps between are looked for; fewer come where one recipe is nearest to several.

    Examples
    --------
    ``gradient(kelp, dune, fit=fit, together=repertoire(fit, limits=of_these)).words``
    """
    between = _between(first, second, together, count)
    lost = max((chroma_lost(fit, one.recipe) for one in between if one.recipe), default=0.0)
    muddy = lost >= thresholds()["mud"]
    way = _by_way_of(first, second, others, fit) if muddy else ""
    return Gradient(first, second, between, lost, muddy, way)


def _between(first: Shade, second: Shade, together: Repertoire, count: int) -> tuple[Shade, ...]:
    """Return for even steps of the straight line the nearest recipe of both, each once."""
    both = [p for p in range(len(together)) if len(together.recipe(p).colorants) == 2]
    found: list[int] = []
    for part in np.linspace(0.0, 1.0, count + 2)[1:-1] if both else ():
        wanted = first.lab + part * (second.lab - first.lab)
        place = both[int(np.argmin(ciede2000(wanted, together.lab[both])))]
        if place not in found:
            found.append(place)
    recipes = [(together.recipe(place), together.lab[place]) for place in found]
    return tuple(shade(format_recipe(recipe), lab, recipe) for recipe, lab in recipes)


def _by_way_of(first: Shade, second: Shade, others: Sequence[Shade], fit: AnyFit) -> str:
    """Return the most vivid third color that goes muddy with neither; empty where none is.

    A gray goes muddy with nothing, and is no way from red to green.
    """
    for other in sorted(others, key=lambda shade: (-shade.chroma, shade.name)):
        if other.name not in {first.name, second.name} and other.chroma >= GRAY:
            lost = max(_lost(fit, first, other), _lost(fit, other, second))
            if lost < thresholds()["mud"]:
                return other.name
    return ""


def _lost(fit: AnyFit, one: Shade, other: Shade) -> float:
    """Return the chroma lost where one coat lies over another, the paler first where it may."""
    paler, darker = sorted((one, other), key=lambda s: -s.value)
    steps = tuple(Step(c) for s in (paler, darker) if s.recipe for c in s.recipe.colorants)
    laid = next((r for r in (Recipe(steps), Recipe(steps[::-1])) if not order_troubles(r)), None)
    return chroma_lost(fit, laid) if laid else np.inf
