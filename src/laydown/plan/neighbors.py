"""Colorants that no run goes on from, and gaps in runs: what recipe or purchase would mend them."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.color.difference import ciede2000
from laydown.color.value import value_from_lab
from laydown.match.repertoire import Repertoire
from laydown.media.recipe import Recipe
from laydown.plan.runs import Run
from laydown.plan.shades import Shade, at_value

GAP = 1.5
"""A step of a run this many times its mean is a gap (common practice, no source)."""
USUAL_STEP = 1.25
"""Value step from a colorant to the highlight and shadow it lacks (common practice, no source)."""
LIGHTEST, DARKEST = 9.3, 1.5
"""No highlight is looked for above, no shadow below."""


@dataclass(frozen=True, slots=True, eq=False)
class Mending:
    """A shade that is missing, and what would stand in for it.

    Parameters
    ----------
    place
        What it would be: "highlight of Kelp", "between Kelp and Dune".
    lab, value
        The shade wanted.
    recipe, recipe_off
        The nearest recipe from what is at hand, and its CIEDE2000.
    purchase, purchase_off
        The nearest single colorant that could be bought, and its CIEDE2000; empty where nothing
        was offered.
    """

    place: str
    lab: FloatArray
    value: float
    recipe: Recipe
    recipe_off: float
    purchase: str
    purchase_off: float


def lonely(shades: Sequence[Shade], runs: Sequence[Run]) -> tuple[Shade, ...]:
    """Return the shades that belong to no run, in their order."""
    used = {id(s) for run in runs for s in run.shades}
    names = {s.name for run in runs for s in run.shades}
    return tuple(s for s in shades if id(s) not in used and s.name not in names)


def mend_lonely(
    alone: Shade, repertoire: Repertoire, shop: Sequence[Shade] = ()
) -> tuple[Mending, ...]:
    """Return the highlight and the shadow that a colorant lacks.

    Parameters
    ----------
    alone
        The colorant.
    repertoire
        The short recipes from what is at hand.
    shop
        What could be bought.
    """
    ways = (("highlight of", alone.value + USUAL_STEP), ("shadow of", alone.value - USUAL_STEP))
    return tuple(
        mending(f"{word} {alone.name}", at_value(alone.lab, value), repertoire, shop)
        for word, value in ways
        if DARKEST <= value <= LIGHTEST
    )


def mend_gaps(run: Run, repertoire: Repertoire, shop: Sequence[Shade] = ()) -> tuple[Mending, ...]:
    """Return the shade that is missing in each gap of a run, halfway between its neighbors."""
    return tuple(
        mending(f"between {a.name} and {b.name}", (a.lab + b.lab) / 2.0, repertoire, shop)
        for a, b in pairwise(run.shades)
        if a.value - b.value > GAP * run.step
    )


def mending(place: str, lab: FloatArray, repertoire: Repertoire, shop: Sequence[Shade]) -> Mending:
    """Return what would stand in for one missing shade."""
    places, off = repertoire.nearest(lab, 1)
    purchase, purchase_off = "", float("nan")
    if shop:
        all_off = ciede2000(lab, np.array([s.lab for s in shop]))
        best = int(np.argmin(all_off))
        purchase, purchase_off = shop[best].name, float(all_off[best])
    recipe = repertoire.recipe(int(places[0]))
    value = float(value_from_lab(lab))
    return Mending(place, lab, value, recipe, float(off[0]), purchase, purchase_off)
