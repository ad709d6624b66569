"""What a chart uses up: its colorants, and how often each is laid."""

from collections.abc import Iterable
from dataclasses import dataclass

from laydown.match.outcome import Match
from laydown.media.colorant import Colorant
from laydown.media.recipe import Step


@dataclass(frozen=True, slots=True)
class Supply:
    """One colorant that a chart needs.

    Parameters
    ----------
    colorant
        Which.
    recipes
        In how many of the best recipes it is.
    coats
        How many coats they lay in all that have it in them, a color once each.
    """

    colorant: Colorant
    recipes: int
    coats: int


def supplies(matches: Iterable[Match]) -> tuple[Supply, ...]:
    """List the colorants of the best recipes, the most often used first, then by name.

    Examples
    --------
    >>> supplies([])
    ()
    """
    recipes: dict[Colorant, int] = {}
    coats: dict[Colorant, int] = {}
    for match in matches:
        recipe = match.best.prediction.recipe
        for colorant in recipe.colorants:
            recipes[colorant] = recipes.get(colorant, 0) + 1
        for step in recipe.steps:
            if isinstance(step, Step):
                for part in step.parts:
                    coats[part.colorant] = coats.get(part.colorant, 0) + step.laydown.coats
    found = [Supply(colorant, recipes[colorant], coats[colorant]) for colorant in recipes]
    return tuple(sorted(found, key=lambda s: (-s.recipes, -s.coats, s.colorant)))
