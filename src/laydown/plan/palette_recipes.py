"""The recipes that may stand for each color of a lesson, and the choice among them."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.match.found import NOTHING
from laydown.match.outcome import Target
from laydown.match.ranking import VALUE_FIRST
from laydown.match.repertoire import Repertoire
from laydown.media.kit_fit import AnyFit, predict
from laydown.media.recipe import Recipe
from laydown.plan.kit_problem import Places
from laydown.plan.palette_cost import Palette, palette_of
from laydown.plan.palette_optimum import Optimum, best_palette

YIELDS = 8.0
"""How much further off than its nearest recipe [CIEDE2000 at kL 0.5] a color may come out for the
sake of the others (chosen: beyond it a color is no longer the one that was asked for)."""


@dataclass(frozen=True, slots=True, eq=False)
class Options:
    """For each color the recipes that may stand for it.

    Parameters
    ----------
    repertoire
        The short recipes of the kit.
    places
        For each color their places in it.
    more
        For each color further recipes, such as longer ones found for it alone.
    palette
        The colors of all of them, those of `more` last.
    """

    repertoire: Repertoire
    places: tuple[Places, ...]
    more: tuple[tuple[Recipe, ...], ...]
    palette: Palette

    def recipe(self, color: int, place: int) -> Recipe:
        """Return one of a color's recipes."""
        short = self.places[color]
        if place < len(short):
            return self.repertoire.recipe(int(short[place]))
        return self.more[color][place - len(short)]

    def recipes(self, choice: Sequence[int]) -> tuple[Recipe, ...]:
        """Return the recipes of a choice of one for each color."""
        return tuple(self.recipe(color, place) for color, place in enumerate(choice))

    def first_of_more(self, color: int) -> int:
        """Return the place of a color's first further recipe."""
        return len(self.places[color])


def options(
    targets: Sequence[Target],
    repertoire: Repertoire,
    weights: FloatArray,
    *,
    fit: AnyFit | None = None,
    more: Sequence[Sequence[Recipe]] = (),
    over: Recipe = NOTHING,
) -> Options:
    """Gather the recipes that may stand for each color.

    Parameters
    ----------
    targets
        The colors wanted.
    repertoire
        The short recipes of the kit.
    weights
        Shape (targets,), how much each color counts.
    fit
        The kit on its paper; needed where there are more recipes.
    more
        For each color further recipes.
    over
        What lies on the paper already, over which all of them are laid.

    Returns
    -------
    Options
        Every short recipe that is no more than `YIELDS` further off than the nearest.
    """
    further = tuple(tuple(m) for m in more) or ((),) * len(targets)
    places, labs = [], []
    for target, known in zip(targets, further, strict=True):
        off = VALUE_FIRST.difference(target.lab, repertoire.lab)
        near = np.flatnonzero(off <= float(off.min()) + YIELDS)
        places.append(near)
        seen = [predict(fit, over.then(recipe)).lab for recipe in known] if fit is not None else []
        labs.append(np.concatenate([repertoire.lab[near], np.array(seen).reshape(-1, 3)]))
    return Options(repertoire, tuple(places), further, palette_of(targets, labs, weights))


def nearest(found: Options) -> tuple[int, ...]:
    """Return the choice of the nearest recipe color by color."""
    return tuple(int(np.argmin(cost)) for cost in found.palette.costs)


def together(found: Options, start: Sequence[int] = ()) -> Optimum:
    """Return the best choice for the palette as a whole."""
    return best_palette(found.palette, start=start or nearest(found))
