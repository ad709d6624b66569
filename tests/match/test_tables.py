"""Prepared tables against the brute force."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from laydown.match.exact import search_many
from laydown.match.prepared import prepare
from laydown.match.ranking import Ranking
from laydown.match.search import search
from laydown.match.space import Limits
from laydown.match.tables import can_be_tabled, make_table, search_colors, search_table
from laydown.match.walk import gather_bits, spread_bits
from laydown.media.laydown import Laydown
from laydown.media.marker import MarkerFit
from laydown.media.recipe import Recipe, Step

Maker = Callable[..., MarkerFit]


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
    assert len(table.keys) == prepared.kit.considered
    for found, lab in zip(search_table(table, prepared, labs), labs, strict=True):
        expected = search(fit, lab, limits=limits, ranking=ranking, over=over)
        assert found.recipes == expected.recipes
        np.testing.assert_allclose(found.costs, expected.costs, atol=1e-9)


def test_many_colors_have_the_answers_of_one_pass(invented_kit: Maker) -> None:
    """With a table made on the way each color has its answer, and the watch hears of it."""
    prepared = prepare(invented_kit(9, seed=2))
    labs = np.random.default_rng(1).uniform([10, -60, -60], [95, 60, 60], (6, 3))
    heard: list[tuple[int, int]] = []
    quick = search_colors(prepared, labs, watch=lambda done, total: heard.append((done, total)))
    for one, other in zip(quick, search_many(prepared, labs), strict=True):
        assert one.recipes == other.recipes
    assert heard[-1] == (6, 6)


def test_a_few_colors_need_no_table(invented_kit: Maker) -> None:
    """Two colors are searched in one pass, with the same answer as alone."""
    prepared = prepare(invented_kit(6, seed=2))
    labs = np.array([[60.0, 10.0, 10.0], [40.0, -10.0, 5.0]])
    assert [f.recipes for f in search_colors(prepared, labs)] == (
        [search_many(prepared, lab[None])[0].recipes for lab in labs]
    )


def test_a_table_too_large_or_a_glowing_paper_is_refused(invented_kit: Maker) -> None:
    """What doesn't fit is searched without a table."""
    fit = invented_kit(9)
    assert can_be_tabled(prepare(fit))
    assert not can_be_tabled(prepare(fit), most_bytes=1000)
    glowing = prepare(replace(fit, ceiling=np.full(36, 1.2)))
    assert not can_be_tabled(glowing)
    with pytest.raises(ValueError, match="without one"):
        make_table(glowing)
    assert not can_be_tabled(prepare(fit, limits=Limits(steps=4)))


@given(st.integers(0, 2**13 - 1), st.integers(0, 2**13 - 1), st.integers(0, 2**13 - 1))
def test_interleaved_bits_come_apart_again(l: int, a: int, b: int) -> None:  # noqa: E741  L*
    """Each of three numbers is found again in the curve's place."""
    place = (spread_bits(l) << 2) | (spread_bits(a) << 1) | spread_bits(b)
    assert [gather_bits(place >> shift) for shift in (2, 1, 0)] == [l, a, b]
