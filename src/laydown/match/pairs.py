"""The best recipe of each pair of colorants for a color, however far off, for all pairs at once.

Far from a color nearly every pair does better than either of its colorants alone, so there is
hardly a pair that a page which answers for any kit could leave out. A recipe's color, and what is
left open of it, is the same whatever is wanted: it is worked out once for all colors wanted, and
judged in arrays.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from laydown.color.arrays import FloatArray
from laydown.match.acceptance import acceptances
from laydown.match.minimal import LEAST_DOUBT, Members
from laydown.match.pairing import without_alike
from laydown.match.question import Question, added_by_doubt, are_far, left_open
from laydown.match.search.repertoire import repertoire
from laydown.match.search.sense import sense_of
from laydown.match.search.shelves import Ints
from laydown.media.recipe import Colorant, Recipe

MOST_DOUBT = 1.5
"""No more than so many times the doubt of one recipe of a pair is taken to be in another, or than
that in proportion to their coats."""
APART = 0.5
"""Where a recipe of the supplies' own is wanted, so much of what is left open of it is taken to be
no pair's, too. A match puts both side by side for each, which takes thousands of times as long:
beside it costs of pairs were .08 too low on the mean without that, .03 too high with all of it, and
.3 and .6 off at most (120 pairs at random for one color of the demo)."""
AT_ONCE = 1024
"""So many recipes are worked out together, to bound what is in memory."""


@dataclass(frozen=True, slots=True, eq=False)
class BestPairs:
    """The best recipe of each pair of colorants that does better than either alone, n of them."""

    recipes: tuple[Recipe, ...]
    costs: FloatArray
    """Shape (n,), as `laydown.match.question.Way` has them."""
    labs: FloatArray
    """Shape (n, 3)."""
    chances: FloatArray
    """Shape (n,), that an observer accepts each; 0 where it is out of reach of the one wanted."""


NO_PAIRS = BestPairs((), np.zeros(0), np.zeros((0, 3)), np.zeros(0))


class Pairs:
    """All recipes of two steps of two colorants, with what was worked out of them so far."""

    def __init__(self, question: Question) -> None:
        two = question.with_limits(steps=2)
        held = repertoire(two.fit, limits=two.limits, ranking=two.ranking, over=two.over)
        both = np.flatnonzero(held.members.min(axis=1) >= 0)
        members = np.sort(held.members[both], axis=1)
        order = np.lexsort((held.numbers[both], members[:, 0], members[:, 1]))
        both, members = both[order], members[order]
        self.space, self.over, self.fit = held.space, two.over, two.fit
        self.numbers, self.labs = held.numbers[both], held.lab[both]
        self.pairs, self.pair = np.unique(members, axis=0, return_inverse=True)
        self.digits = held.space.digits(self.numbers)
        laid = np.array([0, *(step.laydown.coats for step in held.space.steps)])
        self.coats = laid[self.digits].sum(axis=1)
        self.covariances = np.zeros((len(both), 3, 3))
        self.known = np.zeros(len(both), dtype=np.bool_)

    @property
    def colorants(self) -> tuple[Colorant, ...]:
        """Those of the supplies."""
        return self.space.colorants

    def best(
        self, question: Question, known: Iterable[tuple[Sequence[Colorant], float]]
    ) -> BestPairs:
        """Return the best recipe of each pair that costs less than what is known already.

        `question`: of the same supplies, or of some of them. `known`: sets of colorants, and what
        each costs; of one colorant at most, or of two that do better already than either alone.

        Costs are those of a match, but where a recipe of the supplies' own is wanted: see `APART`.
        """
        search = _Search(self, question, self._least(known))
        while len(search.left):
            search.look()
        found, target = search.chosen >= 0, question.target
        places = search.chosen[found]
        near = places[~search.missed[places]]
        open_ = without_alike(self.covariances[near], target.alike) + target.covariance
        chances = np.zeros(len(places))
        chances[~search.missed[places]] = acceptances(
            target.lab, self.labs[near], open_, tolerance=question.tolerance
        )
        recipes = tuple(map(self.recipe, places.tolist()))
        return BestPairs(recipes, search.costs[found], self.labs[places], chances)

    def _least(self, known: Iterable[tuple[Sequence[Colorant], float]]) -> FloatArray:
        """Return what each pair must cost less than, shape (pairs,)."""
        places = {colorant: place for place, colorant in enumerate(self.colorants)}
        costs = {Members(places[one] for one in some): cost for some, cost in known}
        single = np.array([costs.get(Members({n}), np.inf) for n in range(len(places))])
        both = np.array([costs.get(Members(pair), np.inf) for pair in self.pairs.tolist()])
        bare = costs.get(Members(), np.inf)
        either = single[self.pairs].min(axis=1, initial=np.inf)
        return np.asarray(np.minimum(np.minimum(both, either), bare))

    def efforts(self, question: Question, places: Ints) -> FloatArray:
        """Return what recipes add to their cost beside the difference, shape (n,)."""
        steps = [question.ranking.effort(Recipe((step,))) for step in self.space.steps]
        digits = self.digits[places]
        effort = np.array([0.0, *steps])[digits].sum(axis=1)
        if not question.ranking.sense or self.space.traits is None:
            return np.asarray(effort)
        sense = sense_of(question.fit, question.limits.without, question.over)
        against = sense.cost(self.space.traits, digits, question.target.lab)
        return np.asarray(effort + against)

    def allowed(self, without: frozenset[str]) -> Ints:
        """Return the places of recipes that need none of some colorants."""
        held = np.array([not {c.name, c.label} & without for c in self.colorants], dtype=np.bool_)
        both = held[self.pairs[:, 0]] & held[self.pairs[:, 1]]
        return np.flatnonzero(both[self.pair])

    def learn(self, places: Ints) -> None:
        """Work out what is left open of recipes, as far as that isn't known."""
        new = places[~self.known[places]]
        for start in range(0, len(new), AT_ONCE):
            some = new[start : start + AT_ONCE]
            piles = [self.over.then(self.recipe(place)) for place in some.tolist()]
            labs, covariances = zip(*left_open(self.fit, piles), strict=True)
            self.labs[some], self.covariances[some] = labs, covariances
        self.known[new] = True

    def recipe(self, place: int) -> Recipe:
        """Return one recipe, what lies below it not counted in."""
        return self.space.recipe(int(self.numbers[place]))


class _Search:
    """The best recipe of each pair so far, for one color."""

    def __init__(self, pairs: Pairs, question: Question, alone: FloatArray) -> None:
        count = len(pairs.numbers)
        self.all, self.question, self.costs = pairs, question, alone
        self.chosen = np.full(len(alone), -1)
        self.doubts, self.coats = np.zeros(len(alone)), np.ones(len(alone))
        """What doubt adds in squares to the first that was looked at of a pair, and its coats."""
        self.far, self.missed = np.zeros((2, count), dtype=np.bool_)
        """Which are out of reach, as far as it is sure before and after a look."""
        self.offs, self.efforts = np.zeros((2, count))
        self.left = pairs.allowed(question.limits.without)
        self.offs[self.left] = question.ranking.difference(
            question.target.lab, pairs.labs[self.left]
        )
        self.efforts[self.left] = pairs.efforts(question, self.left)
        self._keep_what_may_be_better()

    def look(self) -> None:
        """Look at the best left of each pair."""
        order = np.lexsort((self._least(self.left), self.all.pair[self.left]))
        self.left = self.left[order]
        first = np.unique(self.all.pair[self.left], return_index=True)[1]
        places, self.left = self.left[first], np.delete(self.left, first)
        pair, coats = self.all.pair[places], self.all.coats[places]
        off, doubt = self._judge(places)
        costs = self.efforts[places] + off + self.question.tolerance * self.missed[places]
        better = costs < self.costs[pair]
        self.costs[pair[better]], self.chosen[pair[better]] = costs[better], places[better]
        first = self.doubts[pair] == 0.0
        self.doubts[pair[first]], self.coats[pair[first]] = doubt[first], coats[first]
        self._keep_what_may_be_better()
        doubt, more = self._doubt(self.left)
        self.far[self.left] |= self._are_far(self.left, MOST_DOUBT * doubt * np.maximum(1.0, more))
        self._keep_what_may_be_better()

    def _judge(self, places: Ints) -> tuple[FloatArray, FloatArray]:
        """Return the differences to expect of recipes, and doubt; note which are out of reach."""
        self.all.learn(places)
        target = self.question.target
        labs, own = self.all.labs[places], self.all.covariances[places]
        own = without_alike(own, target.alike)
        apart = own if target.own_recipe is None else own + APART * target.covariance
        off = self.question.ranking.expected(target.lab, labs, apart)
        doubt = added_by_doubt(off, self.offs[places])
        missed = self._are_far(places, doubt)
        open_ = np.flatnonzero(~missed)
        missed[open_] = self.question.misses(labs[open_], own[open_] + target.covariance)
        self.missed[places] = missed
        return off, doubt

    def _doubt(self, places: Ints) -> tuple[FloatArray, FloatArray]:
        """Return the doubt of the first of each one's pair, and how many times its coats it has."""
        pair = self.all.pair[places]
        return self.doubts[pair], self.all.coats[places] / self.coats[pair]

    def _least(self, places: Ints) -> FloatArray:
        """Return what recipes cost at least."""
        doubt, more = self._doubt(places)
        off = np.hypot(self.offs[places], LEAST_DOUBT * doubt * np.minimum(1.0, more))
        return np.asarray(self.efforts[places] + off + self.question.tolerance * self.far[places])

    def _are_far(self, places: Ints, doubt: FloatArray) -> NDArray[np.bool_]:
        wanted, labs = self.question.target.lab, self.all.labs[places]
        return are_far(wanted, labs, doubt, self.question.tolerance)

    def _keep_what_may_be_better(self) -> None:
        best = self.costs[self.all.pair[self.left]]
        self.left = self.left[self._least(self.left) < best]
