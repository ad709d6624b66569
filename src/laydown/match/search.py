"""The search by brute force: every recipe within the limits, scored one by one.

Slower than it need be and easy to trust: it is what a faster search must agree with.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.match import brute
from laydown.match.on_paper import KitOnPaper, kit_on_paper
from laydown.match.ranking import EQUAL, VALUE_FIRST, Ranking
from laydown.match.space import USUAL_LIMITS, Limits
from laydown.media.marker import MarkerFit
from laydown.media.recipe import Recipe

Watch = Callable[[int, int], None]
"""Told (done, total) between short chunks of work; may raise to cancel."""
NOTHING = Recipe()
ROOM = 4096


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


def search(
    fit: MarkerFit,
    lab: FloatArray,
    *,
    limits: Limits = USUAL_LIMITS,
    ranking: Ranking = VALUE_FIRST,
    top: int = 10,
    over: Recipe = NOTHING,
    watch: Watch | None = None,
) -> Found:
    """Find the best of all recipes within the limits, by trying every one.

    Neighboring steps differ in colorant; a colorant may return. The coats in all, with those in
    `over`, stay within the paper's limit. Colors are compared in a compiled loop that reads
    reflectances from a fine table (right to about 1e-8); everything within 1e-4 of the best is
    scored again by the model itself, and only that decides.

    Parameters
    ----------
    fit
        The kit's colorants on the paper.
    lab
        Shape (3,), the wanted color.
    limits, ranking
        Which recipes, and what they are ranked by.
    top
        How many to return, at least 1.
    over
        What lies on the paper already.
    watch
        Called between chunks of a few hundredths of a second, with how many are done.

    Returns
    -------
    Found
        Fewer than `top` where the limits leave fewer.

    Examples
    --------
    ``search(fit, wanted, limits=Limits(steps=2)).recipes[0]`` is the best of up to two steps.
    """
    kit = kit_on_paper(fit, limits, over, ranking)
    factors = np.array([ranking.k_L, ranking.k_C, ranking.k_H])
    wanted = np.array(lab, dtype=np.float64)
    task = brute.Task(wanted, factors, limits.steps, limits.coats)
    return ranked(kit, wanted, _shortlist(kit, task, top, watch), ranking=ranking, top=top)


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


def _shortlist(kit: KitOnPaper, task: brute.Task, top: int, watch: Watch | None) -> FloatArray:
    """Run over all recipes in chunks of one bottom colorant; return the numbers worth a look."""
    n = len(kit.colorants)
    piles = np.zeros((task.steps + 2, brute.WIDTH))
    piles[0] = kit.ground
    best = brute.empty_shortlist(top, ROOM)
    brute.offer(brute.score(piles[0], kit.numbers, task, np.empty(3)), 0.0, best)
    first = 0
    while first < n and task.steps > 0:
        before = best.with_room(len(best.kept))
        if brute.run(first, first + 1, kit.budget, piles, kit.numbers, task, best):
            first += 1
            if watch:
                watch(first, n)
        else:
            best = before.with_room(2 * len(before.kept))
    return best.numbers()
