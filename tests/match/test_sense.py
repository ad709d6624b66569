"""The rules of the trade within the exact search: weighed in the cost, and nothing lost by it."""

from collections.abc import Callable

import numpy as np
import pytest

from laydown.match.ranking import Found, Limits, Ranking, Wanted, usual_ranking
from laydown.match.search.recipes import recipe_space
from laydown.match.search.search import search_kit
from laydown.match.search.sense import for_area, sense_of
from laydown.match.search.tables import make_table, search_table
from laydown.media.laydown import Laydown
from laydown.media.marker.model import MarkerFit
from laydown.media.recipe import Recipe, Step

Maker = Callable[..., MarkerFit]
USUAL = usual_ranking("class")


@pytest.mark.parametrize("seed", range(4))
def test_the_search_with_rules_finds_what_trying_every_recipe_finds(
    invented_kit: Maker, brute_force: Callable[..., Found], seed: int
) -> None:
    """Pass and table give the ten that cost least of all, each recipe's rules scored one by one."""
    fit, limits = invented_kit(9, seed=seed, blenders=1), Limits(steps=3, coats=2)
    lab = np.random.default_rng(seed).normal((65, 0, 5), (12, 8, 12))
    sense = sense_of(fit, frozenset(), Recipe())
    every = brute_force(fit, lab, limits=limits, ranking=Ranking(), top=10**6)
    costs = [
        USUAL.effort(recipe) + float(sense.of_recipes([recipe], lab)[0]) + cost
        for recipe, cost in zip(every.recipes, every.costs, strict=True)
    ]
    least = sorted(costs)[:10]
    space = recipe_space(fit, limits=limits, ranking=USUAL)
    by_table = search_table(make_table(space), space, Wanted(lab, 10))
    once = search_kit(fit, lab, limits=limits, ranking=USUAL, top=10)
    assert once.costs == pytest.approx(least, abs=1e-9)
    assert by_table.costs == pytest.approx(least, abs=1e-9)


def test_a_blender_never_comes_first_and_seldom_over_an_area(invented_kit: Maker) -> None:
    """On bare paper it costs more than any color could gain; each further coat costs ever more."""
    fit = invented_kit(3, seed=4, blenders=1)
    blender, dye = Step(fit.colorants[0]), Step(fit.colorants[1])
    sense, lab = sense_of(fit, frozenset(), Recipe()), np.array([60.0, 30.0, 40.0])
    assert sense.of_recipes([Recipe((blender, dye))], lab)[0] > 20.0
    once, twice, thrice = (
        sense.of_recipes([Recipe((dye, Step(fit.colorants[0], Laydown(coats=n))))], lab)[0]
        for n in (1, 2, 3)
    )
    assert 0 < once < twice - once < thrice - twice
    lies = sense_of(fit, frozenset(), Recipe((dye,)))
    assert lies.of_recipes([Recipe((blender,))], lab)[0] == once


def test_a_small_area_is_worth_half_the_effort() -> None:
    """For 3 % of a picture steps and coats cost double, for 30 % they cost what they do."""
    assert for_area(USUAL, 3.0).step == 2.0 * USUAL.step
    assert for_area(USUAL, 30.0) == for_area(USUAL, None) == USUAL
    plain = usual_ranking("class", sense=False)
    assert for_area(plain, 3.0) == plain
