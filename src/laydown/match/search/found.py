"""What a search hands over: the best recipes by the model itself, in one order."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.match.ranking import EQUAL, Ranking
from laydown.match.search.on_paper import KitOnPaper
from laydown.media.recipe import Recipe

Watch = Callable[[int, int], None]
"""Told (done, total) between short chunks of work; may raise to cancel."""
NOTHING = Recipe()


@dataclass(frozen=True, slots=True, eq=False)
class Found:
    """The best recipes for one color.

    Parameters
    ----------
    recipes
        What is to be laid (over what lies there already), best first; equal costs in the order of
        the recipes' keys.
    costs
        Shape (n,), what each was ranked by.
    considered
        How many recipes were searched, the one that adds nothing included.
    """

    recipes: tuple[Recipe, ...]
    costs: FloatArray
    considered: int


def ranked(
    kit: KitOnPaper,
    wanted: FloatArray,
    numbers: FloatArray,
    *,
    ranking: Ranking,
    top: int,
    within: float = 0.0,
) -> Found:
    """Score recipes by the model itself and put the best first, equal ones by their keys.

    Those that cost no more than `within` above the last of the best are kept besides.
    """
    recipes = [kit.recipe(int(number)) for number in numbers]
    costs = ranking.difference(wanted, kit.lab(numbers))
    costs = costs + np.array([ranking.effort(recipe) for recipe in recipes])
    order = in_order(costs, [recipe.key for recipe in recipes])
    if within > 0.0 and len(order) > top:
        top = int(np.sum(costs <= costs[order[top - 1]] + within))
    order = order[:top]
    return Found(tuple(recipes[i] for i in order), costs[order], kit.considered)


def in_order(costs: FloatArray, keys: list[tuple[tuple[str, ...], ...]]) -> list[int]:
    """Return the order of rising cost, in which costs within 1e-9 of a group's least are equal.

    Examples
    --------
    >>> in_order(np.array([2.0, 1.0 + 1e-12, 1.0]), [(), (("a",),), (("b",),)])
    [1, 2, 0]
    """
    rising = np.argsort(costs, kind="stable")
    groups: list[list[int]] = []
    for i in rising.tolist():
        if groups and costs[i] - costs[groups[-1][0]] <= EQUAL:
            groups[-1].append(i)
        else:
            groups.append([i])
    return [i for group in groups for i in sorted(group, key=lambda i: keys[i])]
