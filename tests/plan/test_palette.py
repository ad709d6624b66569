"""The optimum of a palette against trying every choice, and what it promises."""

from itertools import product

import numpy as np
import pytest

from laydown.match.outcome import Target
from laydown.plan.lesson.conversion import (
    Palette,
    best_palette,
    broken_orders,
    palette_of,
    total_cost,
)


def _palette(seed: int, *, colors: int = 5, recipes: int = 3, passages: int = 2) -> Palette:
    """Return wanted colors with a few recipes each, near enough to quarrel."""
    rng = np.random.default_rng(seed)
    base = rng.uniform([35, -6, -6], [65, 6, 6], (colors, 3))
    targets = [Target(f"{i}", lab, passage=f"p{i % passages}") for i, lab in enumerate(base)]
    labs = [base[rng.integers(colors)] + rng.normal(0, 7, (recipes, 3)) for _ in range(colors)]
    labs[1] = labs[0].copy()
    return palette_of(targets, labs, rng.uniform(0.5, 2, colors))


@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize("passages", [1, 2, 5])
def test_the_optimum_is_that_of_trying_every_choice(seed: int, passages: int) -> None:
    """On small palettes no choice costs less, and the bound says so."""
    palette = _palette(seed, passages=passages)
    choice, found = best_palette(palette)
    least = min(total_cost(palette, choice) for choice in product(range(3), repeat=5))
    assert found.cost == pytest.approx(least)
    assert found.bound == pytest.approx(least)
    assert found.proven
    assert total_cost(palette, choice) == pytest.approx(found.cost)


@pytest.mark.parametrize("seed", range(4))
def test_no_more_orders_are_broken_than_color_by_color(seed: int) -> None:
    """The nearest recipes one by one never keep more orders of value."""
    palette = _palette(seed, colors=12, recipes=30, passages=3)
    nearest = [int(np.argmin(cost)) for cost in palette.costs]
    choice, _ = best_palette(palette, start=nearest)
    assert len(broken_orders(palette, choice)) <= len(broken_orders(palette, nearest))


def test_the_bound_holds_where_the_search_is_given_up(monkeypatch: pytest.MonkeyPatch) -> None:
    """With too few nodes allowed the bound is below the optimum, and the answer above."""
    palette = _palette(5, passages=2)
    least = best_palette(palette)[1].cost
    monkeypatch.setattr("laydown.plan.lesson.conversion.NODES", 7)
    _, found = best_palette(palette)
    assert found.bound <= least + 1e-9
    assert found.cost >= least - 1e-9
    assert not found.proven or found.cost == pytest.approx(least)


def test_one_recipe_for_two_colors_is_no_order() -> None:
    """Its value computed in two ways differs in the last digits only, and that is no step."""
    wanted = [Target(f"{i}", np.array([60.0 - 3 * i, 0, 0]), passage="p") for i in range(2)]
    same, darker = np.array([58.0, 0, 0]), np.array([50.0, 0, 0])
    labs = [np.array([same]), np.array([same - 1e-9, darker])]
    palette = palette_of(wanted, labs, np.ones(2))
    assert broken_orders(palette, (0, 0)) == [(0, 1)]
    assert best_palette(palette)[0] == (0, 1)


def test_an_empty_palette_costs_nothing() -> None:
    """A lesson without colors is no error."""
    assert best_palette(palette_of([], [], np.zeros(0)))[1].cost == 0.0
