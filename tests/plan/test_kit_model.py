"""Small choices against trying every purchase, and large ones against what must hold."""

from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest

from laydown.plan.kit.branch import solved
from laydown.plan.kit.problem import Aim, KitProblem, Offer, Ways, costs_of, holding, reduced
from laydown.plan.kit.swaps import exchanged, judged, swapped

SEEDS = range(6)


def standing_still() -> float:
    """Tell a time that is never over: what is found must not depend on the computer's haste."""
    return 0.0


def _problem(seed: int, aim: Aim, **more: object) -> KitProblem:
    """Return a small problem of seven colorants, singly and in two sets, and eight colors."""
    rng = np.random.default_rng(seed)
    rows = [(t, *sorted(rng.choice(7, 2, replace=False))) for t in range(8) for _ in range(3)]
    rows += [(t, int(rng.integers(7)), -1) for t in range(0, 8, 3)]
    rows.sort()
    table = np.array(rows, dtype=np.int64)
    ways = Ways(table[:, 0], table[:, 1:], np.round(rng.uniform(0, 4, len(table)), 3))
    singles = tuple(Offer(f"{i}", (i,), int(rng.integers(2, 9)) * 50) for i in range(7))
    sets = (Offer("warm", (0, 1, 2), 500), Offer("cool", (3, 4), 350))
    return KitProblem(7, 8, ways, singles + sets, aim, missed=10.0, **more)  # type: ignore[arg-type]  # handed on from the tests' tables


def _by_trying_all(problem: KitProblem) -> tuple[int, float]:
    """Return the fewest colors missed and the least value of all purchases allowed."""
    best = (99, np.inf)
    small = reduced(problem)
    for count in range(len(problem.offers) + 1):
        for bought in combinations(range(len(problem.offers)), count):
            offers = frozenset(bought)
            price = sum(problem.offers[o].price for o in offers)
            if not problem.must <= offers or count > (problem.most or 99):
                continue
            if problem.budget is not None and price > problem.budget:
                continue
            seen = judged(small, offers)
            missed = 0 if problem.aim is Aim.BEST else seen.missed
            best = min(best, (missed, seen.value))
    return best


@pytest.mark.parametrize("seed", SEEDS)
@pytest.mark.parametrize(
    ("aim", "more"),
    [
        (Aim.FEWEST, {}),
        (Aim.CHEAPEST, {}),
        (Aim.CHEAPEST, {"budget": 600}),
        (Aim.FEWEST, {"owned": frozenset({1}), "never": frozenset({3})}),
        (Aim.CHEAPEST, {"must": frozenset({8}), "most": 3}),
        (Aim.BEST, {"most": 2}),
        (Aim.BEST, {"most": 3, "owned": frozenset({2}), "budget": 700}),
    ],
)
def test_the_choice_is_the_best_of_all(seed: int, aim: Aim, more: dict[str, object]) -> None:
    """On small problems the proven choice is what trying every purchase finds."""
    problem = _problem(seed, aim, **more)
    choice, bound, proven = solved(reduced(problem), seconds=1, clock=standing_still)
    assert proven
    assert bound == choice.value
    missed = 0 if problem.aim is Aim.BEST else choice.missed
    assert (missed, choice.value) == pytest.approx(_by_trying_all(problem), abs=1e-6)


@pytest.mark.parametrize("seed", SEEDS)
def test_reducing_changes_no_answer(seed: int) -> None:
    """What any purchase makes of the colors is the same before and after reducing."""
    problem = _problem(seed, Aim.BEST, owned=frozenset({2}), never=frozenset({5}), most=3)
    small = reduced(problem)
    assert len(small.ways) < len(problem.ways)
    for offers in (set(), {0, 3}, {7, 8}, {1, 4, 6}):
        held = holding(problem, offers)
        assert costs_of(small, held) == pytest.approx(costs_of(problem, held))


def test_a_choice_with_nothing_to_buy_is_empty() -> None:
    """Where no way is known nothing is bought, and that is proven."""
    empty = Ways(np.zeros(0, np.int64), np.zeros((0, 2), np.int64), np.zeros(0))
    choice, _, proven = solved(
        reduced(KitProblem(3, 2, empty, (Offer("a", (0,), 5),))), seconds=1, clock=standing_still
    )
    assert choice.offers == frozenset()
    assert proven


def test_a_choice_that_no_purchase_betters_is_proven_though_the_first_try_had_no_time() -> None:
    """A slow computer gets to the bounds by moments, which then have no colorant to reckon with."""
    empty = Ways(np.zeros(0, np.int64), np.zeros((0, 2), np.int64), np.zeros(0))
    offers = tuple(Offer(f"{i}", (i,)) for i in range(3))
    times = iter(range(1000))
    choice, bound, proven = solved(
        reduced(KitProblem(3, 2, empty, offers, Aim.BEST, most=1, missed=10.0)),
        seconds=1,
        clock=lambda: 0.1 * next(times),
    )
    assert proven
    assert bound == choice.value == 20.0


def test_the_walk_ends_when_time_is_over() -> None:
    """It asks before each exchange, and still returns a choice that keeps to the limits."""
    problem = reduced(_problem(1, Aim.BEST, most=3))
    asked = iter([False] * 5 + [True] * 2)
    choice = swapped(problem, is_over=lambda: next(asked))
    assert list(asked) == [True]
    assert 0 < len(choice.offers) <= 3


@pytest.mark.parametrize("seed", SEEDS)
def test_no_exchange_of_one_purchase_helps_any_more(seed: int) -> None:
    """From the worst purchase as from a good one, and what must be bought is never given up."""
    made = _problem(seed, Aim.BEST, most=3, must=frozenset({0}), never=frozenset({6}))
    problem = replace(reduced(made), offers=made.offers[:7])
    buys = [frozenset({0, *pair}) for pair in combinations(range(1, 6), 2)]
    start = max((judged(problem, offers) for offers in buys), key=lambda choice: choice.value)
    found = exchanged(problem, start, shakes=0)
    assert found.value < start.value
    assert 0 in found.offers
    assert 6 not in found.offers
    assert len(found.offers) == 3
    others = [offers for offers in buys if len(offers - found.offers) == 1]
    assert found.value <= min(judged(problem, offers).value for offers in others) + 1e-9
    assert exchanged(problem, start).value == pytest.approx(
        min(judged(problem, offers).value for offers in buys)
    )


class StopError(Exception):
    """Raised by a clock to end the work."""


@pytest.mark.parametrize("looks", [0, 3, 30])
def test_a_clock_that_raises_ends_the_work(looks: int) -> None:
    """However far it has come, the next look at the clock is the last one."""
    times = iter(range(looks))

    def clock() -> float:
        try:
            return 1e-3 * next(times)
        except StopIteration:
            raise StopError from None

    with pytest.raises(StopError):
        solved(reduced(_problem(2, Aim.BEST, most=3)), seconds=1e6, clock=clock)
