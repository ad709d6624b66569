"""The fast search against the brute force."""

import os
import subprocess
import sys
from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from laydown.match.ranking import Found, Limits, Ranking, Wanted
from laydown.match.search.recipes import recipe_space
from laydown.match.search.search import lay_all, search_kit, search_many, search_once
from laydown.media.laydown import Laydown
from laydown.media.marker.model import MarkerFit
from laydown.media.recipe import Recipe, Step

Maker = Callable[..., MarkerFit]
Search = Callable[..., Found]


@st.composite
def kits(draw: st.DrawFn) -> dict[str, object]:
    """Draw what makes a kit."""
    return {
        "count": draw(st.integers(0, 20)),
        "seed": draw(st.integers(0, 10**6)),
        "scale": draw(st.sampled_from([0.0, 0.02, 0.1, 0.4, 0.8, 1.0])),
        "lift": draw(st.sampled_from([0.0, 0.1, 0.5, 1.0])),
        "later_coat": draw(st.sampled_from([0.6, 1.0, 1.1])),
        "blenders": draw(st.integers(0, 2)),
        "coats_limit": draw(st.integers(0, 8)),
    }


@given(
    kit=kits(),
    steps=st.integers(0, 3),
    coats=st.integers(1, 3),
    k_l=st.sampled_from([0.3, 0.5, 1.0, 2.0]),
    step=st.sampled_from([0.0, 0.4]),
    laid=st.integers(0, 2),
    data=st.data(),
)
@settings(max_examples=60, deadline=None)
def test_the_fast_search_finds_what_brute_force_finds(
    invented_kit: Maker,
    brute_force: Search,
    kit: dict[str, object],
    steps: int,
    coats: int,
    k_l: float,
    step: float,
    laid: int,
    data: st.DataObject,
) -> None:
    """On random kits, papers, starts, weights, prices and colors within and out of reach, recipes,
    costs and count are the same.
    """
    kit["count"] = max(int(str(kit["count"])), int(str(kit["blenders"])))
    fit = invented_kit(**kit)
    over = Recipe(tuple(Step(c, Laydown(coats=2)) for c in fit.colorants[-laid:] if laid))
    lab = np.array([data.draw(st.floats(0, 100)), *[data.draw(st.floats(-90, 90)) for _ in "ab"]])
    ranking = Ranking(k_L=k_l, step=step, coat=step / 3, prices=(("Estuary/Dune", 0.5),))
    options = {
        "limits": Limits(steps=steps, coats=coats),
        "ranking": ranking,
        "top": 8,
        "over": over,
    }
    expected = brute_force(fit, lab, **options)
    got = search_kit(fit, lab, **options)
    assert got.considered == expected.considered
    assert got.recipes == expected.recipes
    np.testing.assert_allclose(got.costs, expected.costs, atol=1e-9)


def test_a_color_of_the_kit_itself_is_found(invented_kit: Maker, brute_force: Search) -> None:
    """Targets that recipes hit exactly leave boxes of no width, and still lose nothing."""
    fit = invented_kit(9, seed=7, blenders=1)
    space = recipe_space(fit, limits=Limits(coats=2))
    for number in (3, 5 + space.base * 9, 11 + space.base * 4 + space.base**2 * 14):
        lab = space.lab(np.array([number]))[0]
        expected = brute_force(fit, lab, limits=Limits(coats=2))
        got = search_kit(fit, lab, limits=Limits(coats=2))
        assert got.recipes == expected.recipes
        assert got.costs[0] < 1e-9


def test_many_colors_at_once_are_each_found_as_alone(invented_kit: Maker) -> None:
    """One pass over all recipes gives every color its own answer, to the last digit."""
    space = recipe_space(invented_kit(10, seed=2))
    labs = np.random.default_rng(1).uniform([10, -60, -60], [95, 60, 60], (7, 3))
    many = [Wanted(lab, within=0.2) for lab in labs]
    for found, wanted in zip(search_many(space, many), many, strict=True):
        alone = search_once(space, wanted)
        assert found.recipes == alone.recipes
        np.testing.assert_array_equal(found.costs, alone.costs)


@pytest.mark.parametrize("threads", [1, 2, 3])
def test_the_answer_does_not_depend_on_threads(invented_kit: Maker, threads: int) -> None:
    """Work shared among threads gives the same recipes in the same order, to the last digit."""
    space, wanted = recipe_space(invented_kit(10, seed=2)), Wanted(np.array([60.0, 10.0, -10.0]))
    found, alone = (search_once(space, wanted, threads=n) for n in (threads, 1))
    assert found.recipes == alone.recipes
    np.testing.assert_array_equal(found.costs, alone.costs)


def test_what_was_laid_for_one_search_serves_the_next(invented_kit: Maker) -> None:
    """Steps laid once give the answers of a search that lays them, whatever recipes cost."""
    fit, lab = invented_kit(25, seed=6, lift=0.3, blenders=1), np.array([55.0, 12.0, 8.0])
    laid = lay_all(recipe_space(fit))
    for ranking in (
        Ranking(),
        Ranking(step=0.7, coat=0.35),
        Ranking(prices=(("Estuary/Dune", 2.0),)),
    ):
        space = recipe_space(fit, ranking=ranking)
        anew, again = search_once(space, Wanted(lab)), search_once(space, Wanted(lab), laid=laid)
        assert again.recipes == anew.recipes
        assert np.array_equal(again.costs, anew.costs)


def test_a_fourth_step_is_searched_exactly(invented_kit: Maker, brute_force: Search) -> None:
    """Brute force and the fast search agree on recipes of four steps, too."""
    fit, limits = invented_kit(5, seed=3), Limits(steps=4, coats=1)
    lab = np.array([35.0, 5.0, -5.0])
    expected = brute_force(fit, lab, limits=limits)
    got = search_kit(fit, lab, limits=limits)
    assert got.considered == expected.considered == 1 + 5 * (1 + 4 + 16 + 64)
    assert got.recipes == expected.recipes


def test_what_costs_little_more_than_the_last_is_kept_on_request(
    invented_kit: Maker, brute_force: Search
) -> None:
    """`within` returns all recipes up to so much above the last of the best, and no other."""
    fit, lab = invented_kit(10, seed=2), np.array([60.0, 10.0, -10.0])
    few = search_kit(fit, lab, top=3, within=1.5)
    many = brute_force(fit, lab, top=200)
    expected = int(np.sum(many.costs <= many.costs[2] + 1.5))
    assert 3 < expected == len(few.recipes)
    assert few.recipes == many.recipes[:expected]


def test_all_up_to_a_cost_are_listed(invented_kit: Maker, brute_force: Search) -> None:
    """Without a number of the best, every recipe that costs no more than `most` is returned."""
    fit, lab = invented_kit(10, seed=2), np.array([60.0, 10.0, -10.0])
    every = brute_force(fit, lab, top=400)
    most = float(every.costs[300]) + 1e-6
    assert search_kit(fit, lab, top=None, most=most).recipes == every.recipes[:301]
    assert search_kit(fit, lab, top=5, most=most).recipes == every.recipes[:5]
    assert search_kit(fit, lab, most=float(every.costs[2]) + 1e-6).recipes == every.recipes[:3]
    assert search_kit(fit, lab, top=None, most=0.5 * float(every.costs[0])).recipes == ()


def test_the_watch_is_told_and_may_cancel(invented_kit: Maker) -> None:
    """It is called between chunks, ends at the total, and what it raises ends the search."""
    heard: list[tuple[int, int]] = []
    search_kit(invented_kit(10), np.zeros(3), watch=lambda done, total: heard.append((done, total)))
    assert heard[-1][0] == heard[-1][1]

    def stop(done: int, total: int) -> None:
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        search_kit(invented_kit(10), np.zeros(3), watch=stop)


@pytest.mark.skipif(
    not hasattr(os, "sched_setaffinity"), reason="a process can't be held to a core here"
)
def test_a_search_uses_the_cores_that_the_process_may_use() -> None:
    """A process held to one core searches on one thread, however many there are."""
    told = (
        "import os; os.sched_setaffinity(0, {min(os.sched_getaffinity(0))});"
        "from laydown.match.search import search; print(search.get_num_threads())"
    )
    env = {name: value for name, value in os.environ.items() if name != "NUMBA_NUM_THREADS"}
    ran = subprocess.run(
        [sys.executable, "-c", told], capture_output=True, text=True, check=True, env=env
    )
    assert ran.stdout.strip() == "1"
