"""What any part of the supplies can do for a color is in one list of minimal sets."""

from collections.abc import Callable
from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest

from laydown.match.judge import TOLERANCES
from laydown.match.minimal import minimal_ways
from laydown.match.outcome import Target
from laydown.match.question import Question, way_of
from laydown.match.ranking import Limits, Ranking
from laydown.media.marker.model import MarkerFit
from laydown.media.recipe import Recipe

ABOVE = 6.0
WANTED = ([62.0, 12.0, 30.0], [45.0, -8.0, -12.0], [80.0, 2.0, 8.0])


@pytest.fixture(scope="module")
def fit(invented_kit: Callable[..., MarkerFit]) -> MarkerFit:
    """Ten invented markers and a blender."""
    return invented_kit(10)


def _question(fit: MarkerFit, lab: list[float]) -> Question:
    ranking = Ranking(step=1.0, coat=0.5)
    limits = Limits(steps=3, coats=2)
    target = Target("wanted", np.array(lab))
    return Question(target, fit, limits, ranking, TOLERANCES["class"], Recipe())


@pytest.mark.parametrize("lab", WANTED)
def test_the_first_way_within_a_kit_is_the_kits_best_recipe(
    fit: MarkerFit, lab: list[float]
) -> None:
    """Recipe and cost, for kits of any size that come within what is listed; the search says so."""
    question = _question(fit, lab)
    ways, exact = minimal_ways(question, above=ABOVE)
    rng, held, near = np.random.default_rng(3), len(fit.colorants), 0
    for size in (2, 4, 6, held):
        for _ in range(3):
            kit = {fit.colorants[i] for i in rng.choice(held, min(size, held), replace=False)}
            rest = frozenset(c.label for c in fit.colorants if c not in kit)
            best = question.with_limits(without=rest).find()
            mine = next(way for way in ways if set(way.recipe.colorants) <= kit)
            if best.costs[0] <= exact:
                near += 1
                assert mine.recipe == best.recipes[0]
                assert mine.cost == pytest.approx(best.costs[0], abs=1e-9)
            else:
                assert mine.cost > exact
    assert near >= 4


@pytest.mark.parametrize("lab", WANTED[:1])
def test_no_set_is_listed_that_a_part_of_it_does_as_well_as(
    fit: MarkerFit, lab: list[float]
) -> None:
    """They are minimal, cheapest first, and each costs what its recipe is ranked by."""
    question = _question(fit, lab)
    ways, _ = minimal_ways(question, above=ABOVE)
    costs = [way.cost for way in ways]
    assert costs == sorted(costs)
    cost = {frozenset(way.recipe.colorants): way.cost for way in ways}
    assert len(cost) == len(ways) > 10
    for members, own in cost.items():
        parts = (frozenset(p) for n in range(len(members)) for p in combinations(members, n))
        assert all(cost[part] > own for part in parts if part in cost)
    for way in ways[:5]:
        assert way_of(question, way.recipe).cost == way.cost == question.cost(way.recipe)


def test_bare_paper_and_every_single_colorant_are_listed_whatever_they_cost(
    fit: MarkerFit,
) -> None:
    """So that any kit has an answer; but a colorant no better than bare paper is not."""
    question = _question(fit, [20.0, 0.0, 0.0])
    ways, _ = minimal_ways(question, above=0.5)
    listed = {way.recipe.colorants[0] for way in ways if len(way.recipe.colorants) == 1}
    (bare,) = (way for way in ways if not way.recipe.steps)
    single = replace(question.limits, steps=1)
    for colorant in fit.colorants:
        rest = frozenset(c.label for c in fit.colorants if c != colorant)
        alone = replace(question, limits=replace(single, without=rest)).find()
        assert (colorant in listed) == (alone.costs[0] < bare.cost)
    assert listed
