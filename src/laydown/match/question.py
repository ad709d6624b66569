"""A wanted color with everything that bears on the answer, and the searches it leads to."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from laydown.color.arrays import FloatArray
from laydown.color.lab import ciede2000, lab_from_reflectance
from laydown.color.value import value_from_lab
from laydown.match.acceptance import may_each_pass
from laydown.match.outcome import Target, Verdict
from laydown.match.pairing import compare_each, covariance_of
from laydown.match.ranking import BY_EYE, Found, Limits, Ranking, Watch, in_order
from laydown.match.search.recipes import RecipeSpace, recipe_space
from laydown.match.search.repertoire import Repertoire
from laydown.match.search.search import Finder, search_kit
from laydown.match.search.sense import sense_of
from laydown.match.search.shelves import Ints
from laydown.media.kit.fit import AnyFit, expected_spectra, leeways
from laydown.media.recipe import Recipe
from laydown.reference.thresholds import thresholds

# Whether a color is out of reach of a recipe's, and what it is off by in value or in hue alone.

BoolArray = NDArray[np.bool_]

BLIND = 1e9
"""A parametric factor so large that its term of CIEDE2000 vanishes."""
HIDES = 0.5
"""By so many tolerances doubt may hide that a color is within the tolerance (chosen)."""


def hue_term(wanted: FloatArray, lab: FloatArray) -> FloatArray:
    """Return what hue alone adds to CIEDE2000."""
    return ciede2000(wanted, lab, k_L=BLIND, k_C=BLIND)


def doubt_of(wanted: FloatArray, lab: FloatArray, covariance: FloatArray) -> FloatArray:
    """Return how far off colors may be beside their own difference [CIEDE2000, kL 1]."""
    off = BY_EYE.expected(wanted, lab, covariance)
    return added_by_doubt(off, BY_EYE.difference(wanted, lab))


def added_by_doubt(off: FloatArray | float, own: FloatArray | float) -> FloatArray:
    """Return what doubt adds in squares to colors' own differences, where they come to `off`."""
    return np.asarray(np.sqrt(np.maximum(0.0, np.square(off) - np.square(own))))


def but_for_one(wanted: FloatArray, lab: FloatArray, tolerance: float) -> Verdict | None:
    """Say whether value or hue alone keeps a color from being the same, and by how little."""
    if _but_for_value(wanted, lab, tolerance):
        return Verdict.BUT_VALUE
    return Verdict.BUT_HUE if _but_for_hue(wanted, lab, tolerance) else None


def _but_for_value(wanted: FloatArray, lab: FloatArray, tolerance: float) -> BoolArray:
    off = np.abs(value_from_lab(lab) - value_from_lab(wanted))
    same = ciede2000(wanted, lab, k_L=BLIND) <= tolerance
    return np.asarray(same & (off <= thresholds()["value slack"]))


def _but_for_hue(wanted: FloatArray, lab: FloatArray, tolerance: float) -> BoolArray:
    same = ciede2000(wanted, lab, k_H=BLIND) <= tolerance
    return np.asarray(same & (hue_term(wanted, lab) <= thresholds()["hue slack"]))


def are_out_of_reach(
    wanted: FloatArray, lab: FloatArray, covariance: FloatArray, tolerance: float
) -> BoolArray:
    """Return which colors can't pass: not within the tolerance, nor but for value or hue.

    Within are those, too, of which doubt could hide that they are.

    `wanted`, `lab`: shapes (3,) and (…, 3), CIELAB D50. `covariance`: shape (…, 3, 3), of their
    difference. `tolerance`: CIEDE2000 at kL 1.
    """
    labs, covariances = lab.reshape(-1, 3), covariance.reshape(-1, 3, 3)
    off = ciede2000(wanted, labs) - tolerance
    within = off <= 0.0
    few = np.flatnonzero(~within & (off <= HIDES * tolerance))
    within[few] = off[few] <= doubt_of(wanted, labs[few], covariances[few])
    left = np.flatnonzero(~within)
    out = ~(within | _but_for_one(wanted, labs, left, tolerance))
    left = np.flatnonzero(out)
    out[left] = ~may_each_pass(wanted, labs[left], covariances[left], tolerance=tolerance)
    return np.asarray(out.reshape(lab.shape[:-1]))


def _but_for_one(wanted: FloatArray, labs: FloatArray, places: Ints, tolerance: float) -> BoolArray:
    """Return shape (n,), which of some of n colors value or hue alone keeps from being the same."""
    found = np.zeros(len(labs), dtype=np.bool_)
    some = labs[places]
    found[places] = _but_for_value(wanted, some, tolerance) | _but_for_hue(wanted, some, tolerance)
    return found


FAR, WIDE = 2.0, 2.5
"""So many tolerances and so many times its doubt away a color is out of reach, unless value or hue
alone keeps it: then hardly a fifth of what it may turn out as lies nearer than two tolerances
(Cantelli's inequality has 14 in 100), of which observers accept 9 in 100."""


def are_far(wanted: FloatArray, lab: FloatArray, doubt: FloatArray, tolerance: float) -> BoolArray:
    """Return which colors, shape (n,), are out of reach for certain, whatever their covariance.

    `wanted`, `lab`: shapes (3,) and (n, 3). `doubt`: shape (n,), how far off they may be beside
    their own difference [CIEDE2000]. `tolerance`: as above.
    """
    far = ciede2000(wanted, lab) >= FAR * tolerance + WIDE * doubt
    return far & ~_but_for_one(wanted, lab, np.flatnonzero(far), tolerance)


SHORTLIST, AHEAD = 64, 160
"""So many recipes at most are ranked with their doubt, the nearest as predicted first; and of so
many it is found out then whether they may be better all the same (chosen: to find them takes hardly
longer than 64, and mostly they are all that may be)."""

SURER = 0.8
"""No further recipe is taken to have less than so much of the least doubt among those ranked: of
101,000 of the demo's, seven in a thousand had (docs/decisions/search.md)."""

TOGETHER = 16
"""So many of those further ones are ranked before it is seen which are left (chosen)."""

SPARE = 2
"""So many times as many as are asked for are ranked with their doubt, so that the next best are no
mere next nearest (chosen)."""

PILES, FITS = 32_768, 4
"""So many piles stay at hand with what they leave open, of so many fits: those of a lesson's
colors, mostly, or of a page's pairs (chosen; thirty megabytes each)."""
Foreseen = tuple[FloatArray, FloatArray, float]


@dataclass(frozen=True, slots=True, eq=False)
class Way:
    """A recipe as an answer."""

    recipe: Recipe
    """What is laid over what lies there already."""
    cost: float
    """What it is ranked by: the difference to expect with its doubt, and effort."""
    off: float
    """The difference to expect in that, its doubt included."""
    lab: FloatArray
    """Shape (3,), the color of the whole pile."""
    covariance: FloatArray
    """Shape (3, 3), of its difference from what is wanted."""


@dataclass(frozen=True, slots=True, eq=False)
class Question:
    """What is asked of a kit."""

    target: Target
    """The wanted color."""
    fit: AnyFit
    """The kit on its paper."""
    limits: Limits
    ranking: Ranking
    """Which recipes, and what they are ranked by."""
    tolerance: float
    """CIEDE2000 at which half of observers accept."""
    over: Recipe
    """What lies on the paper already."""
    watch: Watch | None = None
    """Told how far the main search has come."""
    finder: Finder | None = None
    """Who searches the recipes, where the caller keeps tables."""
    swatched: AnyFit | None = None
    """What swatches alone tell of the kit, where trials have moved the fit."""

    def covariance(self, pile: Recipe, *, known: FloatArray | None = None) -> FloatArray:
        """Return the covariance of a pile's difference from what is wanted, as `covariance_of`."""
        return covariance_of(self.target, self.fit, pile, swatched=self.swatched, known=known)

    @property
    def space(self) -> RecipeSpace:
        """All recipes that are asked of."""
        return recipe_space(self.fit, limits=self.limits, ranking=self.ranking, over=self.over)

    def cost(self, recipe: Recipe) -> float:
        """Return what a recipe is ranked by, see `way_of`."""
        return way_of(self, recipe).cost

    def expected(self, lab: FloatArray, covariance: FloatArray) -> FloatArray:
        """Return the difference to expect by the ranking, with the doubt that lies in what is laid.

        How rough the wanted color itself is, is the same for every recipe and bears on how sure an
        answer is. It is no part of this: beside it a recipe that is off would hardly cost more than
        one that is near, and effort would decide alone.

        `lab`: shape (…, 3), the color that a recipe gives. `covariance`: shape (…, 3, 3), of its
        difference from the one wanted.
        """
        if self.target.own_recipe is None:
            covariance = covariance - self.target.covariance
        return self.ranking.expected(self.target.lab, lab, covariance)

    def missed(self, lab: FloatArray, covariance: FloatArray) -> FloatArray:
        """Return what colors add to a cost for being out of reach of the one wanted, shape (…).

        A tolerance: for being plain no recipe misses a color that one dearer by less reaches.
        Shapes are those of `expected`.
        """
        return np.asarray(self.tolerance * self.misses(lab, covariance))

    def misses(self, lab: FloatArray, covariance: FloatArray) -> BoolArray:
        """Return which colors are out of reach of the one wanted, shape (…)."""
        return are_out_of_reach(self.target.lab, lab, covariance, self.tolerance)

    def effort(self, recipe: Recipe) -> float:
        """Return what a recipe adds to the cost beside its difference."""
        return self._efforts([recipe])[0]

    def _efforts(self, recipes: Sequence[Recipe]) -> list[float]:
        efforts = [self.ranking.effort(recipe) for recipe in recipes]
        if not self.ranking.sense:
            return efforts
        sense = sense_of(self.fit, self.limits.without, self.over)
        against = sense.of_recipes(recipes, self.target.lab).tolist()
        return [effort + more for effort, more in zip(efforts, against, strict=True)]

    def find(self, top: int = 1) -> Found:
        """Return at least so many of the best recipes, ranked by what the hand will get.

        The nearest as predicted are proven by the search; doubt only adds to their cost, so they
        are taken in that order until none of the rest can be the best, and after `SHORTLIST` of
        them only those that may be by `SURER`. The others are the best of those that were
        taken, `SPARE` times as many as are asked for at least; all are returned.
        """
        nearest = self.nearest(AHEAD)
        ways = self._nearest_ways(nearest, SPARE * top)
        ways += self._further_ways(nearest, ways)
        if all(way.recipe.steps for way in ways):
            bare = way_of(self, Recipe())  # surer than any, since nothing is laid
            ways += [bare] if bare.cost < _least(ways) else []
        costs = np.array([way.cost for way in ways])
        order = in_order(costs, [way.recipe.key for way in ways])
        return Found(tuple(ways[i].recipe for i in order), costs[order], nearest.considered)

    def _nearest_ways(self, nearest: Found, count: int) -> list[Way]:
        """Rank so many of the nearest, and further ones as long as they may be the best."""
        ways = self._ways(nearest.recipes[:count])
        most = min(max(count, SHORTLIST), len(nearest.recipes))
        while len(ways) < most and nearest.costs[len(ways)] < _least(ways):
            ahead = slice(len(ways), min(2 * len(ways), most))
            more = self._ways(nearest.recipes[ahead])
            for way, least in zip(more, nearest.costs[ahead].tolist(), strict=True):
                if least < _least(ways):
                    ways.append(way)
        return ways

    def _further_ways(self, nearest: Found, ways: Sequence[Way]) -> list[Way]:
        """Rank those of the recipes that aren't ranked yet that may cost less than the best."""
        best = _least(ways)
        doubt = SURER * min((self._doubt(way) for way in ways if way.recipe.steps), default=0.0)
        effort = self.ranking.step + self.ranking.coat  # of one step of one coat, the least
        most = effort + float(np.sqrt(max(0.0, (best - effort) ** 2 - doubt**2)))
        if len(nearest.recipes) == AHEAD and nearest.costs[-1] < most:
            nearest = self._search(None, most=most)
        places = np.arange(len(ways), np.searchsorted(nearest.costs, most))
        if not len(places):
            return []
        efforts = np.array(self._efforts([nearest.recipes[place] for place in places.tolist()]))
        least = efforts + np.hypot(nearest.costs[places] - efforts, doubt)
        order = np.argsort(least, kind="stable")
        places, efforts, least = places[order], efforts[order], least[order]
        found = list[Way]()
        while len(found) < len(places) and least[len(found)] < best:
            ahead = slice(len(found), len(found) + TOGETHER)
            some = [nearest.recipes[place] for place in places[ahead].tolist()]
            found += ways_of(self, some, foresee(self, some), efforts[ahead].tolist())
            best = min(best, _least(found))
        return found

    def _doubt(self, way: Way) -> float:
        own = self.ranking.difference(self.target.lab, way.lab)
        return float(added_by_doubt(way.off, own))

    def _ways(self, recipes: Sequence[Recipe]) -> list[Way]:
        """Rank recipes together, see `way_of`."""
        return ways_of(self, recipes, foresee(self, recipes), self._efforts(recipes))

    def nearest(self, top: int = 1, *, within: float = 0.0) -> Found:
        """Return the best recipes as predicted, whatever their doubt, proven to be the best of all.

        Besides, all that cost no more than `within` above the last of them.
        """
        return self._search(top, within=within)

    def _search(self, top: int | None, *, within: float = 0.0, most: float = np.inf) -> Found:
        return search_kit(
            self.fit,
            self.target.lab,
            limits=self.limits,
            ranking=self.ranking,
            top=top,
            over=self.over,
            watch=self.watch,
            within=within,
            most=most,
            finder=self.finder,
        )

    def with_limits(
        self, *, steps: int | None = None, without: frozenset[str] = frozenset()
    ) -> "Question":
        """Return the same question under narrower limits."""
        limits = replace(self.limits, without=self.limits.without | without)
        limits = limits if steps is None else replace(limits, steps=steps)
        return replace(self, limits=limits, watch=None)


def asked_of(kit: Repertoire, lab: FloatArray) -> Question:
    """Return what a color, shape (3,), asks of a kit's short recipes at the usual tolerance."""
    space, usual = kit.space, thresholds()["tolerance class"]
    return Question(Target("", lab), kit.fit, space.limits, space.ranking, usual, Recipe())


def best_of(question: Question, kit: Repertoire, among: Ints | None = None) -> int:
    """Return the place of the recipe of the least cost, effort and doubt included, in a kit.

    `question`: what is asked; ranked as the kit's recipes are. `kit`: all its short recipes.
    `among`: the places of those that are asked of; None for all.
    """
    places, lab = np.arange(len(kit)) if among is None else among, question.target.lab
    least = question.ranking.difference(lab, kit.lab[places])
    least += kit.space.effort(kit.numbers[places], lab)
    best, cost = -1, np.inf
    for place in np.argsort(least, kind="stable")[:SHORTLIST].tolist():
        if least[place] >= cost:
            break
        own = question.cost(kit.recipe(int(places[place])))
        best, cost = (int(places[place]), own) if own < cost else (best, cost)
    return best


def _least(ways: Iterable[Way]) -> float:
    return min(way.cost for way in ways)


def way_of(question: Question, recipe: Recipe) -> Way:
    """Rank one recipe, laid over what lies there, against the color that is asked for."""
    seen = foresee(question, [recipe])
    return ways_of(question, [recipe], seen, [question.effort(recipe)])[0]


def ways_of(
    question: Question,
    recipes: Sequence[Recipe],
    foreseen: Sequence[Foreseen],
    efforts: Sequence[float],
) -> list[Way]:
    """Rank recipes of which it is known what is foreseen of each and what effort it asks."""
    if not recipes:
        return []
    labs, covariances, _ = zip(*foreseen, strict=True)
    missed = question.missed(np.array(labs), np.array(covariances)).tolist()
    return [
        Way(recipe, off + effort + out, off, lab, covariance)
        for recipe, (lab, covariance, off), effort, out in zip(
            recipes, foreseen, efforts, missed, strict=True
        )
    ]


def foresee(question: Question, recipes: Sequence[Recipe]) -> list[Foreseen]:
    """Return of each recipe color, covariance and difference to expect, as `Way` has them."""
    piles, fit = [question.over.then(recipe) for recipe in recipes], question.fit
    if not piles:
        return []
    if question.target.own_recipe is None:
        seen = left_open(fit, piles)
        labs = np.array([lab for lab, _ in seen])
        covariances = [
            question.covariance(pile, known=known)
            for pile, (_, known) in zip(piles, seen, strict=True)
        ]
    else:
        swatched = question.swatched or fit
        pairs = compare_each(swatched, question.target.own_recipe, fit, piles)
        labs = lab_from_reflectance(np.array([pair.given[0] for pair in pairs]))
        covariances = [pair.covariance() for pair in pairs]
    off = question.expected(labs, np.array(covariances)).tolist()
    return list(zip(labs, covariances, off, strict=True))


def left_open(fit: AnyFit, piles: Sequence[Recipe]) -> list[tuple[FloatArray, FloatArray]]:
    """Return piles' colors and their covariances, whatever is wanted."""
    at_hand = _at_hand(fit)
    found = {pile: one for pile in piles if (one := at_hand.get(pile))}
    new = [pile for pile in dict.fromkeys(piles) if pile not in found]
    open_ = leeways(fit, new, named=False)
    labs = lab_from_reflectance(expected_spectra(fit, new, open_))
    found |= {p: (lab, o.covariance()) for p, lab, o in zip(new, labs, open_, strict=True)}
    if len(at_hand) + len(new) > PILES:
        at_hand.clear()
    at_hand.update(found)
    return [found[pile] for pile in piles]


# Whatever is wanted, a pile looks and errs the same; the colors of a lesson ask for many of the
# same piles, and to work out what one leaves open is most of the time that an answer takes.
@lru_cache(FITS)
def _at_hand(fit: AnyFit) -> dict[Recipe, tuple[FloatArray, FloatArray]]:
    return {}
