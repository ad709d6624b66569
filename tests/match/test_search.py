"""The search, and the brute force it is held to, against the plainest loop there is."""

from collections.abc import Callable
from math import isclose

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from laydown.color.lab import lab_from_reflectance
from laydown.match.ranking import EQUAL, Found, Limits, Ranking, in_order
from laydown.match.search.compiling import is_kept
from laydown.match.search.search import search_kit
from laydown.media.kit.fit import reflectance
from laydown.media.laydown import Laydown
from laydown.media.marker.model import MarkerFit
from laydown.media.recipe import Recipe, Step

Maker = Callable[..., MarkerFit]
Search = Callable[..., Found]


def naive(
    fit: MarkerFit,
    lab: np.ndarray,
    limits: Limits,
    ranking: Ranking,
    top: int,
    over: Recipe,
    laid_steps: Callable[..., list[tuple[tuple[int, int], ...]]],
) -> Found:
    """Go through all recipes one by one with the model's own functions."""
    most = fit.paper.coats_limit if limits.total_coats is None else limits.total_coats
    usable = [c for c in fit.colorants if not {c.name, c.label} & limits.without]
    rows = laid_steps(
        len(usable), steps=limits.steps, coats=limits.coats, budget=max(0, most - over.coats)
    )
    recipes = [Recipe(tuple(Step(usable[c], Laydown(coats=n)) for c, n in row)) for row in rows]
    labs = lab_from_reflectance(np.array([reflectance(fit, over.then(r)) for r in recipes]))
    costs = ranking.difference(lab, labs)
    order = in_order(costs, [r.key for r in recipes])[:top]
    return Found(tuple(recipes[i] for i in order), costs[order], len(recipes))


@given(
    seed=st.integers(0, 10**6),
    count=st.integers(1, 4),
    blenders=st.integers(0, 1),
    scale=st.sampled_from([0.0, 0.4, 1.0]),
    lift=st.sampled_from([0.0, 0.2, 0.9]),
    later_coat=st.sampled_from([0.7, 1.0]),
    coats_limit=st.integers(0, 5),
    k_l=st.sampled_from([0.5, 1.0, 2.0]),
    laid=st.integers(0, 2),
    data=st.data(),
)
@settings(max_examples=40, deadline=None)
def test_brute_force_finds_what_the_plain_loop_finds(
    invented_kit: Maker,
    brute_force: Search,
    laid_steps: Callable[..., list[tuple[tuple[int, int], ...]]],
    seed: int,
    count: int,
    blenders: int,
    scale: float,
    lift: float,
    later_coat: float,
    coats_limit: int,
    k_l: float,
    laid: int,
    data: st.DataObject,
) -> None:
    """On any small kit, paper, start and weighting: the same recipes, costs and count."""
    fit = invented_kit(
        count,
        seed=seed,
        blenders=blenders,
        scale=scale,
        lift=lift,
        later_coat=later_coat,
        coats_limit=coats_limit,
    )
    over = Recipe(tuple(Step(c, Laydown(coats=2)) for c in fit.colorants[:laid]))
    lab = np.array([data.draw(st.floats(low, high)) for low, high in ((0, 100), *[(-60, 60)] * 2)])
    limits = Limits(steps=data.draw(st.integers(0, 3)), coats=2)
    ranking = Ranking(k_L=k_l)
    expected = naive(fit, lab, limits, ranking, 6, over, laid_steps)
    got = brute_force(fit, lab, limits=limits, ranking=ranking, top=6, over=over)
    assert got.considered == expected.considered
    assert got.recipes == expected.recipes
    np.testing.assert_allclose(got.costs, expected.costs, atol=1e-9)


def test_a_color_of_the_kit_is_found_at_no_cost(invented_kit: Maker) -> None:
    """The color that a recipe gives is reached by that recipe, or one that gives the same."""
    fit = invented_kit(8, seed=3)
    wanted = Recipe(
        (
            Step(fit.colorants[2], Laydown(coats=2)),
            Step(fit.colorants[5]),
            Step(fit.colorants[2]),
        )
    )
    found = search_kit(fit, lab_from_reflectance(reflectance(fit, wanted)))
    assert found.costs[0] < 1e-9
    assert wanted in found.recipes[:3]


def test_equal_recipes_come_in_the_order_of_their_keys(invented_kit: Maker) -> None:
    """A blender on bare paper changes nothing, and the keys decide between such twins."""
    fit = invented_kit(3, blenders=1, lift=0.0)
    lab = lab_from_reflectance(reflectance(fit, Recipe((Step(fit.colorants[1]),))))
    found = search_kit(fit, lab, limits=Limits(steps=2, coats=1), top=3)
    assert [found.costs[i] < EQUAL for i in range(3)] == [True] * 3
    assert [r.key for r in found.recipes] == sorted(r.key for r in found.recipes)


def test_what_is_without_is_not_used(invented_kit: Maker) -> None:
    """A colorant excluded by name or by label stands in no recipe."""
    fit = invented_kit(4)
    limits = Limits(steps=2, without=frozenset({"Kelp", "Estuary/Dune"}))
    found = search_kit(fit, np.array([60.0, 0.0, 0.0]), limits=limits, top=50)
    names = {c.name for recipe in found.recipes for c in recipe.colorants}
    assert names == {"Shoal", "Tern"}


def test_an_empty_kit_leaves_the_paper_bare(invented_kit: Maker) -> None:
    """With nothing to lay there is one recipe, that of no steps."""
    fit = invented_kit(1)
    found = search_kit(fit, np.array([60.0, 0, 0]), limits=Limits(without=frozenset({"Kelp"})))
    assert (found.recipes, found.considered) == ((Recipe(),), 1)


def test_costs_within_a_billionth_are_equal() -> None:
    """Groups form from their least member, so that a chain of small steps doesn't join them."""
    costs = np.array([1.0 + 1.5e-9, 1.0, 1.0 + 0.9e-9])
    assert in_order(costs, [(("c",),), (("b",),), (("a",),)]) == [2, 1, 0]
    assert isclose(costs[0] - costs[2], 0.6e-9, rel_tol=1e-3)


def test_a_plain_function_is_not_kept() -> None:
    """What was never compiled is not ready."""
    assert not is_kept(len)
