"""What any part of the supplies can do for a color, found once: the minimal sets of colorants.

Of all recipes that one's colorants allow the cheapest is the answer. So for each set of colorants
its cheapest recipe is enough, and only where no part of the set does as well: whatever of the
supplies someone owns, the answer is the cheapest of these that needs nothing else.
"""

from collections.abc import Iterator, Mapping
from itertools import combinations

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.match.question import Question, Way, foresee, way_of
from laydown.match.search.found import Watch
from laydown.match.search.recipes import RecipeSpace, recipe_space
from laydown.match.search.search import all_within
from laydown.media.recipe import Recipe

LEAST_DOUBT = 0.7
"""Of the doubt of one recipe of a set, so much is taken to be in another of the same colorants."""
PAIRS_ABOVE = 2.0
"""Pairs are listed up to so many times as much above the best as longer recipes are."""
Members = frozenset[int]
"""Places of colorants in those of the supplies."""


def minimal_ways(question: Question, *, above: float) -> tuple[tuple[Way, ...], float]:
    """Return the best recipe of each set of colorants that no part of the set does as well as.

    Parameters
    ----------
    question
        What is asked, of all supplies together.
    above
        How much more than the cheapest of all, as predicted, a recipe may cost to be listed. Adding
        nothing and the best of each colorant alone are listed whatever they cost, recipes of two
        steps up to `PAIRS_ABOVE` times as much.

    Returns
    -------
    tuple
        The ways, cheapest first, equal costs in the order of the recipes' keys; and the cost up to
        which all are listed.

    Notes
    -----
    Doubt only adds to a cost, so recipes are taken in the order of their cost without it, and none
    is looked at that a part of its set does better than already. What the first recipe of a set
    shows of its doubt spares looking at most of the others (`_least_doubt`). The answer for any
    part of the supplies is the best as long as it costs no more than what is listed.
    """
    lab, kept = question.target.lab, dict[Members, Way]()
    least, doubts = float(question.nearest().costs[0]), dict[Members, tuple[float, int]]()
    rounds = (
        (question.with_limits(steps=1), np.inf),
        (question.with_limits(steps=2), least + PAIRS_ABOVE * above),
        (question, least + above),
    )
    for one, most in rounds:
        space = recipe_space(one.fit, limits=one.limits, ranking=one.ranking, over=one.over)
        for members, number, off, effort in _cheapest_first(space, lab, most, one.watch):
            better = min((kept[p].cost for p in _parts(members) if p in kept), default=np.inf)
            if effort + off >= better:
                continue
            recipe = space.recipe(number)
            if effort + np.hypot(off, _least_doubt(doubts.get(members), recipe)) >= better:
                continue
            foreseen = foresee(question, recipe)
            expected = foreseen[-1]
            doubt = float(np.sqrt(max(0.0, expected**2 - off**2)))
            doubts.setdefault(members, (doubt, recipe.coats))
            if effort + expected < better:
                way = way_of(question, recipe, foreseen=foreseen, effort=effort)
                if way.cost < better:
                    kept[members] = way
    ways = [way for members, way in kept.items() if _is_minimal(members, kept)]
    return tuple(sorted(ways, key=lambda way: (way.cost, way.recipe.key))), least + above


def _least_doubt(known: tuple[float, int] | None, recipe: Recipe) -> float:
    """Return what doubt surely adds in squares, from the doubt of a recipe of the same colorants.

    A doubt is hardly ever less than 0.7 of that of the first of its set with as many coats: of
    5,959 on the demo's larger range one in a thousand. With fewer coats (1,420 more) it falls as
    they do; before that is taken off, one in a hundred of them is less.
    """
    doubt, coats = known or (0.0, 1)
    return LEAST_DOUBT * doubt * min(1.0, recipe.coats / max(coats, 1))


def _cheapest_first(
    space: RecipeSpace, lab: FloatArray, most: float, watch: Watch | None
) -> Iterator[tuple[Members, int, float, float]]:
    """Go through recipes: their sets, numbers, differences without doubt, and efforts."""
    numbers, costs = all_within(space, lab, most, watch)
    efforts = space.effort(numbers, lab)
    each = (space.members(numbers), numbers, costs - efforts, efforts)
    for row, number, off, effort in zip(*(one.tolist() for one in each), strict=True):
        yield frozenset(place for place in row if place >= 0), number, off, effort


def _parts(members: Members) -> Iterator[Members]:
    """Go through all subsets, the set itself last."""
    for size in range(len(members) + 1):
        yield from map(frozenset, combinations(members, size))


def _is_minimal(members: Members, kept: Mapping[Members, Way]) -> bool:
    own = kept[members].cost
    return all(
        part == members or part not in kept or kept[part].cost > own for part in _parts(members)
    )
