"""What a set of swatches can tell at all, by its recipes alone."""

from collections.abc import Sequence

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.media.priors import (
    EFFECTS,
    HELD,
    LATER_COAT,
    LIFT,
    QUICK,
    SCALE,
    SOAKED,
    WET,
    Priors,
)
from laydown.media.recipe import Recipe
from laydown.media.references import words_laid

PAIRS_NEEDED = 3
"""Fewer layered swatches than this don't part a later coat, lift and scale from each other."""


def layered_recipes(recipes: Sequence[Recipe]) -> frozenset[Recipe]:
    """Return those in which at least two different colorants, none a blender, lie over each other.

    Examples
    --------
    >>> len(layered_recipes([Recipe()]))
    0
    """
    return frozenset(r for r in recipes if len({c for c in r.colorants if not c.blender}) > 1)


def both_orders(recipes: Sequence[Recipe]) -> frozenset[frozenset[str]]:
    """Return the pairs of colorants that were laid over each other in both orders, by label."""
    ordered: set[tuple[str, str]] = set()
    for recipe in layered_recipes(recipes):
        labels = [c.label for c in recipe.colorants]
        if len(labels) == 2:
            ordered.add((labels[0], labels[1]))
    return frozenset(frozenset(pair) for pair in ordered if pair[::-1] in ordered)


def free_effects(recipes: Sequence[Recipe], priors: Priors) -> FloatArray:
    """Return shape (6,): 1 for effects that these swatches tell, 0 for those that keep their prior.

    Parameters
    ----------
    recipes
        Of the swatches.
    priors
        An effect held there stays held.
    """
    free = np.zeros(len(EFFECTS))
    layered = layered_recipes(recipes)
    free[SCALE] = float(any(recipe.coats > 1 for recipe in recipes))
    free[LATER_COAT] = float(len(layered) >= PAIRS_NEEDED)
    free[LIFT] = float(len(both_orders(recipes)) >= PAIRS_NEEDED)
    laid = frozenset().union(*(words_laid(recipe) for recipe in recipes))
    for effect in (QUICK, SOAKED, WET):
        free[effect] = float(EFFECTS[effect] in laid)
    return free * (priors.sd > 2.0 * HELD)
