"""Every pair of colorants has its best recipe for any color, however far off."""

from collections.abc import Callable
from itertools import combinations

import numpy as np
import pytest

from laydown.match.judge import TOLERANCES
from laydown.match.minimal import minimal_ways
from laydown.match.outcome import Target
from laydown.match.pairs import Pairs
from laydown.match.question import Question, are_far, are_out_of_reach
from laydown.match.ranking import Limits, Ranking
from laydown.match.search.recipes import recipe_space
from laydown.media.marker.model import MarkerFit
from laydown.media.recipe import Colorant, Recipe

WANTED = ([20.0, 30.0, -40.0], [45.0, -8.0, -12.0], [55.0, 2.0, 4.0])
"""Far, nearer, and so quiet that the sense of the trade asks what is at hand."""


@pytest.fixture(scope="module")
def fit(invented_kit: Callable[..., MarkerFit]) -> MarkerFit:
    """Seven invented markers and a blender."""
    return invented_kit(8, blenders=1)


def _question(fit: MarkerFit, lab: list[float], without: frozenset[str] = frozenset()) -> Question:
    ranking = Ranking(step=1.0, coat=0.5, sense=True)
    limits = Limits(steps=3, coats=2, without=without)
    return Question(
        Target("wanted", np.array(lab)), fit, limits, ranking, TOLERANCES["class"], Recipe()
    )


def _brute(question: Question) -> dict[frozenset[Colorant], tuple[float, Recipe]]:
    """Cost every recipe of two steps by itself, and keep the cheapest of each set."""
    space = recipe_space(
        question.fit, limits=question.with_limits(steps=2).limits, ranking=question.ranking
    )
    numbers = np.concatenate([block.numbers for block in space.levels()])
    best: dict[frozenset[Colorant], tuple[float, Recipe]] = {}
    for recipe in map(space.recipe, numbers.tolist()):
        members, cost = frozenset(recipe.colorants), question.cost(recipe)
        if members not in best or cost < best[members][0]:
            best[members] = cost, recipe
    return best


@pytest.mark.parametrize("lab", WANTED)
def test_each_pair_has_the_recipe_that_trying_all_finds(fit: MarkerFit, lab: list[float]) -> None:
    """Where it does better than either colorant alone and than the bare paper; others aren't there.

    Of some of the supplies, too, where what is near to a quiet color isn't at hand.
    """
    pairs = Pairs(_question(fit, lab))
    for without in (frozenset[str](), frozenset({fit.colorants[-1].label})):
        question = _question(fit, lab, without)
        tried = _brute(question)
        alone = [(tuple(one), cost) for one, (cost, _) in tried.items() if len(one) < 2]
        found = pairs.best(question, alone)
        best = {frozenset(r.colorants): n for n, r in enumerate(found.recipes)}
        single = {frozenset(one): cost for one, cost in alone}
        least = single[frozenset()]
        held = [c for c in fit.colorants if c.label not in without]
        there = 0
        for one, other in combinations(held, 2):
            cost, recipe = tried[frozenset({one, other})]
            parts = min(least, single[frozenset({one})], single[frozenset({other})])
            assert (frozenset({one, other}) in best) == (cost < parts)
            if cost < parts:
                there += 1
                place = best[frozenset({one, other})]
                assert found.costs[place] == pytest.approx(cost, abs=1e-9)
                assert found.recipes[place] == recipe
        assert there == len(best) >= 1


def test_pairs_that_are_known_are_left_out(fit: MarkerFit) -> None:
    """What a list of ways has already isn't found again, unless two steps of it cost less."""
    question = _question(fit, WANTED[0])
    ways, exact = minimal_ways(question, above=6.0)
    known = [(way.recipe.colorants, way.cost) for way in ways]
    found = Pairs(question).best(question, known)
    listed = {frozenset(colorants) for colorants, _ in known}
    assert len(found.recipes) > 3
    assert not listed & {frozenset(recipe.colorants) for recipe in found.recipes}
    assert found.costs.min() > exact


@pytest.mark.parametrize("sd", [0.5, 2.0, 4.0])
def test_what_is_far_is_out_of_reach(sd: float) -> None:
    """Whatever is taken to be out of reach before the chance is worked out."""
    rng, wanted, tolerance = np.random.default_rng(4), np.array([50.0, 20.0, 10.0]), 4.5
    labs = wanted + rng.normal(size=(400, 3)) * [12.0, 15.0, 15.0]
    roots = rng.normal(size=(400, 3, 3)) * sd / np.sqrt(3.0)
    covariances = roots @ roots.swapaxes(1, 2)
    ranking = Ranking()
    off = ranking.expected(wanted, labs, covariances)
    doubt = np.sqrt(np.maximum(0.0, off**2 - ranking.difference(wanted, labs) ** 2))
    far = are_far(wanted, labs, doubt, tolerance)
    assert 20 < far.sum() < 400
    assert are_out_of_reach(wanted, labs, covariances, tolerance)[far].all()
