"""What any part of the supplies can do for a color, found once: the minimal sets of colorants.

Of all recipes that one's colorants allow the cheapest is the answer. So for each set of colorants
its cheapest recipe is enough, and only where no part of the set does as well: whatever of the
supplies someone owns, the answer is the cheapest of these that needs nothing else.
"""

from collections.abc import Iterator
from copy import copy
from itertools import combinations

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.match.question import Question, Way, added_by_doubt, foresee, ways_of
from laydown.match.ranking import Wanted, Watch
from laydown.match.search.recipes import RecipeSpace
from laydown.match.search.search import all_within
from laydown.match.search.shelves import Ints
from laydown.media.recipe import Recipe

LEAST_DOUBT = 0.7
"""Of the doubt of one recipe of a set, so much is taken to be in another of the same colorants."""
PAIRS_ABOVE = 2.0
"""Where pairs are listed farther than longer recipes: up to so many times as far above the best."""
AT_ONCE = 256
"""So many recipes are looked at together, to bound what is in memory."""
Members = frozenset[int]
"""Places of colorants in those of the supplies."""


def minimal_ways(
    question: Question, *, above: float, pairs: float = 1.0
) -> tuple[tuple[Way, ...], float]:
    """Return the best recipe of each set of colorants that no part of the set does as well as.

    `question`: what is asked, of all supplies together. `above`: how much more than the cheapest of
    all, as predicted, a recipe may cost to be listed. Adding nothing and the best of each colorant
    alone are listed whatever they cost. `pairs`: recipes of two steps up to so many times as much;
    `laydown.match.pairs` has them all. Returns the ways, cheapest first, equal costs in the order
    of the recipes' keys; and the cost up to which all are listed.

    Doubt only adds to a cost, so recipes are taken in the order of their cost without it, and none
    is looked at that a part of its set does better than already. What the first recipe of a set
    shows of its doubt spares looking at most of the others. The best left of each set is looked at,
    of all sets at once, until none is left (`_Ways.add`). The answer for any part of the supplies
    is the best as long as it costs no more than what is listed.
    """
    lab, watch, space = question.target.lab, question.watch, question.space
    every = _Listed(space, Wanted(lab, 1, within=above), watch)
    least, ways, steps = every.least, _Ways(question), question.limits.steps
    one, two = (question.with_limits(steps=min(n, steps)).space for n in (1, 2))
    ways.add(_Listed(one, Wanted(lab, None), watch))
    if pairs > 1.0:
        ways.add(_Listed(two, Wanted(lab, None, most=least + pairs * above), watch))
    else:
        ways.add(every.of_steps(2))
    ways.add(every)
    minimal = [
        way
        for members, way in ways.kept.items()
        if all(part == members or ways.kept[part].cost > way.cost for part in ways.parts(members))
    ]
    return tuple(sorted(minimal, key=lambda way: (way.cost, way.recipe.key))), least + above


class _Listed:
    """Recipes of a space, n of them, cheapest first as predicted.

    By number; their differences without doubt, efforts, coats and steps, and which of all sets of
    colorants each is `of`, all of shape (n,).
    """

    def __init__(self, space: RecipeSpace, wanted: Wanted, watch: Watch | None) -> None:
        self.space = space
        self.numbers, costs = all_within(space, wanted, watch)
        self.least = float(costs[0])
        self.efforts = space.effort(self.numbers, wanted.lab)
        self.offs = costs - self.efforts
        coats = np.array([0, *(step.laydown.coats for step in space.steps)])
        digits = space.digits(self.numbers)
        self.coats, self.steps = coats[digits].sum(axis=1), np.count_nonzero(digits, axis=1)
        members = np.sort(space.members(self.numbers), axis=1)
        # one number a row: to sort rows of numbers takes far longer
        codes = (members + 1) @ (len(space.colorants) + 1) ** np.arange(members.shape[1])
        _, first, of = np.unique(codes, return_index=True, return_inverse=True)
        places = dict[Members, int]()
        same = [
            places.setdefault(frozenset(place for place in row if place >= 0), len(places))
            for row in members[first].tolist()
        ]
        self.sets, self.of = tuple(places), np.array(same, dtype=np.int64)[of]

    def of_steps(self, most: int) -> "_Listed":
        """Return those of no more steps."""
        few, found = np.flatnonzero(self.steps <= most), copy(self)
        for name in ("numbers", "offs", "efforts", "coats", "steps", "of"):
            setattr(found, name, getattr(self, name)[few])
        return found


class _Ways:
    """The best recipe of each set so far."""

    def __init__(self, question: Question) -> None:
        self.question = question
        self.kept: dict[Members, Way] = {}
        self.looked_at: set[Recipe] = set()
        self.doubts: dict[Members, tuple[float, int]] = {}
        """What doubt adds in squares to the first that was looked at of a set, and its coats."""

    def add(self, listed: _Listed) -> None:
        """Look at all recipes that may be better than those of their sets and of parts of them."""
        left = np.arange(len(listed.numbers))
        while len(left):
            left = left[self._may_be_better(listed, left)]
            first = np.unique(listed.of[left], return_index=True)[1]
            best = np.sort(left[first])
            left = np.delete(left, first)
            for start in range(0, len(best), AT_ONCE):
                self._look(listed, best[start : start + AT_ONCE])

    def _may_be_better(self, listed: _Listed, places: Ints) -> FloatArray:
        """Return shape (n,), which recipes may be.

        A doubt is hardly ever less than 0.7 of that of the first of its set with as many coats: of
        5,959 on the demo's larger range one in a thousand. With fewer coats (1,420 more) it falls
        as they do; before that is taken off, one in a hundred of them is less.
        """
        which, of = np.unique(listed.of[places], return_inverse=True)
        sets = [listed.sets[place] for place in which.tolist()]
        better = np.array([self._best(one) for one in sets])
        known = np.array([self.doubts.get(one, (0.0, 1)) for one in sets]).reshape(-1, 2)
        doubt, coats = known[of].T
        least = LEAST_DOUBT * doubt * np.minimum(1.0, listed.coats[places] / np.maximum(coats, 1))
        bound = listed.efforts[places] + np.hypot(listed.offs[places], least)
        return np.asarray(bound < better[of])

    def _best(self, members: Members) -> float:
        """Return what the best so far of a set or of a part of it costs."""
        return min((self.kept[part].cost for part in self.parts(members)), default=np.inf)

    def parts(self, members: Members) -> Iterator[Members]:
        """Go through all subsets that have a recipe so far, the set itself last."""
        for size in range(len(members) + 1):
            yield from (p for p in map(frozenset, combinations(members, size)) if p in self.kept)

    def _look(self, listed: _Listed, places: Ints) -> None:
        """Work out the doubt of recipes, no two of one set, and keep those that are better."""
        recipes = {listed.space.recipe(int(listed.numbers[at])): int(at) for at in places}
        new = [recipe for recipe in recipes if recipe not in self.looked_at]
        self.looked_at.update(new)
        sets = {recipe: listed.sets[listed.of[recipes[recipe]]] for recipe in new}
        effort = {recipe: float(listed.efforts[recipes[recipe]]) for recipe in new}
        seen = dict(zip(new, foresee(self.question, new), strict=True))
        for recipe, (_, _, off) in seen.items():
            doubt = float(added_by_doubt(off, listed.offs[recipes[recipe]]))
            self.doubts.setdefault(sets[recipe], (doubt, recipe.coats))
        new = [r for r in new if effort[r] + seen[r][-1] < self._best(sets[r])]
        known = [seen[r] for r in new], [effort[r] for r in new]
        for way in ways_of(self.question, new, *known):
            if way.cost < self._best(sets[way.recipe]):
                self.kept[sets[way.recipe]] = way
