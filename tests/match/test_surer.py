"""Uncertainty as a tie-break with a stated width."""

import numpy as np

from laydown.match.judge import surer_first
from laydown.match.search.found import Found
from laydown.media.colorant import Colorant
from laydown.media.recipe import Recipe, Step


def case(costs: list[float]) -> Found:
    """Make recipes of given costs."""
    recipes = tuple(Recipe((Step(Colorant(name, "R")),)) for name in "abcdef"[: len(costs)])
    return Found(recipes, np.array(costs), 9)


def names(found: Found) -> str:
    """Return the recipes by their letters."""
    return "".join(recipe.colorants[0].name for recipe in found.recipes)


def test_only_those_near_the_last_change_places() -> None:
    """Of five, the first is clearly closer and stays; the surest of the rest come in after it."""
    found = case([0.1, 0.9, 1.0, 1.1, 1.15])
    best, said = surer_first(found, [0.2, 0.2, 0.3, 0.9, 0.8], top=3, margin=0.2)
    assert names(best) == "ade"
    assert "within 0.2" in said
    assert best.costs.tolist() == [0.1, 1.1, 1.15]


def test_without_a_margin_nothing_moves_and_nothing_is_said() -> None:
    """A margin of 0 leaves the order of the search."""
    best, said = surer_first(case([0.1, 0.9, 1.0]), [0.2, 0.3, 0.9], top=2, margin=0.0)
    assert (names(best), said) == ("ab", "")


def test_nothing_found_stays_nothing() -> None:
    """An empty answer is left as it is."""
    found = Found((), np.zeros(0), 0)
    assert surer_first(found, [], top=2, margin=0.1) == (found, "")
