"""Prepared tables against the brute force."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from laydown.match.ranking import Found, Limits, Ranking, Wanted
from laydown.match.search.recipes import recipe_space
from laydown.match.search.search import search_once
from laydown.match.search.tables import can_be_tabled, make_table, search_table
from laydown.media.laydown import Laydown
from laydown.media.marker.model import MarkerFit
from laydown.media.recipe import Recipe, Step

Maker = Callable[..., MarkerFit]
Search = Callable[..., Found]


@given(
    count=st.integers(1, 12),
    seed=st.integers(0, 10**6),
    scale=st.sampled_from([0.0, 0.1, 0.6, 1.0]),
    lift=st.sampled_from([0.0, 0.2]),
    steps=st.integers(0, 3),
    k_l=st.sampled_from([0.5, 1.0, 2.0]),
    price=st.sampled_from([0.0, 0.3]),
    laid=st.integers(0, 1),
)
@settings(max_examples=40, deadline=None)
def test_a_table_finds_what_brute_force_finds(
    invented_kit: Maker,
    brute_force: Search,
    count: int,
    seed: int,
    scale: float,
    lift: float,
    steps: int,
    k_l: float,
    price: float,
    laid: int,
) -> None:
    """On random kits and colors within and out of reach: the same recipes, costs and count."""
    fit = invented_kit(count, seed=seed, scale=scale, lift=lift)
    over = Recipe(tuple(Step(c, Laydown(coats=2)) for c in fit.colorants[:laid]))
    limits, ranking = Limits(steps=steps, coats=2), Ranking(k_L=k_l, step=price)
    space = recipe_space(fit, limits=limits, ranking=ranking, over=over)
    labs = np.random.default_rng(seed).uniform([0, -90, -90], [100, 90, 90], (4, 3))
    table = make_table(space)
    assert len(table.numbers) == space.considered
    for lab in labs:
        found = search_table(table, space, Wanted(lab))
        expected = brute_force(fit, lab, limits=limits, ranking=ranking, over=over)
        assert found.recipes == expected.recipes
        np.testing.assert_allclose(found.costs, expected.costs, atol=1e-9)


def test_a_table_has_the_answers_of_a_pass(invented_kit: Maker) -> None:
    """To the last digit, on a glowing paper too, and the watch hears of it."""
    labs = np.random.default_rng(1).uniform([10, -60, -60], [95, 60, 60], (6, 3))
    for fit in (invented_kit(9, seed=2), replace(invented_kit(9), ceiling=np.full(36, 1.2))):
        space, heard = recipe_space(fit), list[tuple[int, int]]()
        table = make_table(space, watch=lambda *told, to=heard: to.append(told))
        assert heard[-1] == (space.considered, space.considered)
        for wanted in map(Wanted, labs):
            quick, slow = search_table(table, space, wanted), search_once(space, wanted)
            assert quick.recipes == slow.recipes
            np.testing.assert_array_equal(quick.costs, slow.costs)


def test_a_table_too_large_is_refused(invented_kit: Maker) -> None:
    """What doesn't fit is searched without a table."""
    space = recipe_space(invented_kit(9))
    assert can_be_tabled(space)
    assert not can_be_tabled(space, most_bytes=1000)
    deep = recipe_space(invented_kit(90), limits=Limits(steps=4))
    assert not can_be_tabled(deep)
    with pytest.raises(ValueError, match="without one"):
        make_table(deep)


def test_what_a_watch_raises_ends_a_search_in_a_table(invented_kit: Maker) -> None:
    """A search can be stopped midway."""
    space = recipe_space(invented_kit(5))

    def stop(done: int, total: int) -> None:
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        search_table(make_table(space), space, Wanted(np.full(3, 50.0)), stop)
