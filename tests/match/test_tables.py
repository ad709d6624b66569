"""Prepared tables against the brute force."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from laydown.match.ranking import Ranking
from laydown.match.search.exact import search_many
from laydown.match.search.found import Found
from laydown.match.search.prepared import prepare
from laydown.match.search.tables import can_be_tabled, make_table, search_table
from laydown.match.space import Limits
from laydown.media.laydown import Laydown
from laydown.media.marker.marker import MarkerFit
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
    prepared = prepare(fit, limits=limits, ranking=ranking, over=over)
    labs = np.random.default_rng(seed).uniform([0, -90, -90], [100, 90, 90], (4, 3))
    table = make_table(prepared)
    assert len(table.numbers) == prepared.kit.considered
    for found, lab in zip(search_table(table, prepared, labs), labs, strict=True):
        expected = brute_force(fit, lab, limits=limits, ranking=ranking, over=over)
        assert found.recipes == expected.recipes
        np.testing.assert_allclose(found.costs, expected.costs, atol=1e-9)


def test_many_colors_have_the_answers_of_one_pass(invented_kit: Maker) -> None:
    """With a table each color has its answer, on a glowing paper too, and the watch hears of it."""
    labs = np.random.default_rng(1).uniform([10, -60, -60], [95, 60, 60], (6, 3))
    for fit in (invented_kit(9, seed=2), replace(invented_kit(9), ceiling=np.full(36, 1.2))):
        prepared, heard = prepare(fit), []
        quick = search_table(
            make_table(prepared), prepared, labs, watch=lambda *told, to=heard: to.append(told)
        )
        for one, other in zip(quick, search_many(prepared, labs), strict=True):
            assert one.recipes == other.recipes
        assert heard[-1] == (6, 6)


def test_a_table_too_large_is_refused(invented_kit: Maker) -> None:
    """What doesn't fit is searched without a table."""
    fit = invented_kit(9)
    assert can_be_tabled(prepare(fit))
    assert not can_be_tabled(prepare(fit), most_bytes=1000)
    deep = prepare(fit, limits=Limits(steps=4))
    assert not can_be_tabled(deep)
    with pytest.raises(ValueError, match="without one"):
        make_table(deep)


def test_what_a_watch_raises_ends_a_search_in_a_table(invented_kit: Maker) -> None:
    """A search of many colors can be stopped midway."""
    prepared = prepare(invented_kit(5))

    def stop(done: int, total: int) -> None:
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        search_table(make_table(prepared), prepared, np.full((5, 3), 50.0), watch=stop)
