"""Recipes counted and numbered."""

import pytest

from laydown.match.space import (
    Limits,
    count_coats,
    count_recipes,
    laid_steps,
    number_of,
    steps_of,
)


@pytest.mark.parametrize("colorants", [0, 1, 2, 4])
@pytest.mark.parametrize("budget", [0, 1, 3, 5, 9])
@pytest.mark.parametrize("steps", [0, 1, 2, 3])
def test_the_count_is_that_of_the_recipes_themselves(
    colorants: int, budget: int, steps: int
) -> None:
    """The closed form agrees with going through all recipes."""
    limits = {"steps": steps, "coats": 3, "budget": budget}
    assert count_recipes(colorants, **limits) == len(list(laid_steps(colorants, **limits)))


def test_the_large_kit_of_the_benchmark_has_its_thirteen_million() -> None:
    """120 colorants, three steps of one or two coats: 120·119²·8 and the shorter recipes."""
    three = 120 * 119**2 * 8
    assert count_recipes(120, steps=3, coats=2, budget=6) == three + 120 * 119 * 4 + 240 + 1


def test_coats_are_counted_as_by_hand() -> None:
    """Two steps of up to two coats within three in all: 1+1, 1+2, 2+1."""
    assert count_coats(2, coats=2, budget=3) == 3


def test_a_number_gives_back_its_recipe() -> None:
    """Every recipe has a number of its own that unpacks to it."""
    rows = list(laid_steps(3, steps=3, coats=2, budget=5))
    numbers = [number_of(row, colorants=3, coats=2) for row in rows]
    assert len(set(numbers)) == len(rows)
    assert [steps_of(number, colorants=3, coats=2) for number in numbers] == rows


@pytest.mark.parametrize(
    ("limits", "words"), [({"steps": 5}, "0 to 4"), ({"coats": 0}, "coats is 0")]
)
def test_limits_that_no_search_serves_are_refused(limits: dict[str, int], words: str) -> None:
    """The message names the value and what is allowed."""
    with pytest.raises(ValueError, match=words):
        Limits(**limits)
