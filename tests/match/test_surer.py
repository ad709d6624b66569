"""Uncertainty as a tie-break with a stated width."""

import numpy as np

from laydown.match.search import Found
from laydown.match.surer import surer_first
from laydown.media.colorant import Colorant
from laydown.media.prediction import Prediction
from laydown.media.recipe import Recipe, Step

WANTED = np.array([50.0, 0.0, 0.0])


def case(costs: list[float], spreads: list[float]) -> tuple[Found, list[Prediction]]:
    """Make recipes of given costs, each predicted with a spread of its own."""
    recipes = tuple(Recipe((Step(Colorant(name, "R")),)) for name in "abcdef"[: len(costs)])
    seen = [
        Prediction(recipe, np.zeros(36), WANTED + np.array([1.0, 0.0, 0.0]), np.eye(3) * spread**2)
        for recipe, spread in zip(recipes, spreads, strict=True)
    ]
    return Found(recipes, np.array(costs), 9), seen


def names(found: Found) -> str:
    """Return the recipes by their letters."""
    return "".join(recipe.colorants[0].name for recipe in found.recipes)


def test_only_those_near_the_last_change_places() -> None:
    """Of five, the first is clearly closer and stays; the surest of the rest come in after it."""
    found, seen = case([0.1, 0.9, 1.0, 1.1, 1.15], [4.0, 4.0, 3.0, 0.5, 1.0])
    best, said = surer_first(found, seen, WANTED, top=3, margin=0.2, tolerance=2.25)
    assert names(best) == "ade"
    assert "within 0.2" in said
    assert best.costs.tolist() == [0.1, 1.1, 1.15]


def test_without_a_margin_nothing_moves_and_nothing_is_said() -> None:
    """A margin of 0 leaves the order of the search."""
    found, seen = case([0.1, 0.9, 1.0], [4.0, 3.0, 0.5])
    best, said = surer_first(found, seen, WANTED, top=2, margin=0.0, tolerance=2.25)
    assert (names(best), said) == ("ab", "")


def test_nothing_found_stays_nothing() -> None:
    """An empty answer is left as it is."""
    found = Found((), np.zeros(0), 0)
    assert surer_first(found, [], WANTED, top=2, margin=0.1, tolerance=2.25) == (found, "")
