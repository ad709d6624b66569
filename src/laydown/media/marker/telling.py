"""Which effects a recipe of markers depends on, and which some swatches tell."""

from collections.abc import Sequence

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.media.inference.priors import HELD, Priors
from laydown.media.marker.pile import laid_steps
from laydown.media.marker.priors import (
    BLENDER,
    EFFECTS,
    LATER_COAT,
    LIFT,
    QUICK,
    SCALE,
    SOAKED,
    WET,
)
from laydown.media.recipe import Recipe, Step

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


def blends(recipe: Recipe) -> bool:
    """Tell whether a colorless blender lies over a color somewhere in a recipe.

    Examples
    --------
    >>> from laydown.media.colorant import Colorant
    >>> kelp, rinse = Colorant("Kelp", "Estuary"), Colorant("Rinse", "Estuary", blender=True)
    >>> [blends(Recipe((Step(a), Step(b)))) for a, b in ((kelp, rinse), (rinse, kelp))]
    [True, False]
    """
    kinds = [step.colorant.blender for step in recipe.steps if isinstance(step, Step)]
    return False in kinds and True in kinds[kinds.index(False) :]


def bears_on(recipe: Recipe) -> frozenset[str]:
    """Return the effects that the color of a recipe of markers depends on.

    One even coat is known from its own swatch, whatever the effects are.

    Examples
    --------
    >>> from laydown.media.colorant import Colorant
    >>> kelp, dune = Step(Colorant("Kelp", "Estuary")), Step(Colorant("Dune", "Estuary"))
    >>> sorted(bears_on(Recipe((kelp,)))), sorted(bears_on(Recipe((kelp, dune))))
    ([], ['later coat', 'lift', 'scale'])
    """
    steps = [step for step in recipe.steps if isinstance(step, Step)]
    colored = [step for step in steps if not step.colorant.blender]
    found = set(words_laid(recipe))
    if sum(step.laydown.coats for step in colored) > 1:
        found |= {EFFECTS[SCALE], EFFECTS[LATER_COAT]}
    if layered_recipes([recipe]):
        found.add(EFFECTS[LIFT])
    if blends(recipe):
        found |= {EFFECTS[SCALE], EFFECTS[BLENDER]}
    return frozenset(found)


def free_effects(recipes: Sequence[Recipe], priors: Priors) -> FloatArray:
    """Return shape (7,): 1 for effects that these swatches tell, 0 for those that keep their prior.

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
    free[BLENDER] = float(any(blends(recipe) for recipe in recipes))
    laid = frozenset().union(*(words_laid(recipe) for recipe in recipes))
    for effect in (QUICK, SOAKED, WET):
        free[effect] = float(EFFECTS[effect] in laid)
    return free * (priors.sd > 2.0 * HELD)


def words_laid(recipe: Recipe) -> frozenset[str]:
    """Return the unusual strokes and waits of a recipe; a wait counts only over coats.

    Examples
    --------
    >>> from laydown.media.colorant import Colorant
    >>> from laydown.media.laydown import Laydown, Stroke, Wait
    >>> kelp = Colorant("Kelp", "Estuary")
    >>> sorted(words_laid(Recipe((Step(kelp, Laydown(stroke=Stroke.QUICK, wait=Wait.WET)),))))
    ['quick']
    """
    words: set[str] = set()
    for number, step in enumerate(laid_steps(recipe)):
        if step.stroke is not None:
            words.add(EFFECTS[step.stroke])
        if step.wet is not None and (number > 0 or step.coats > 1):
            words.add(EFFECTS[step.wet])
    return frozenset(words)
