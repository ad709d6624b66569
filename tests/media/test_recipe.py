"""Recipes as people type them, and what is none."""

import pytest

from laydown.errors import BadRecipeError
from laydown.media.recipe import Colorant, parse_recipe


@pytest.mark.parametrize("coats", ["", "x", "-1", "1.5", "²", "9" * 10, "9" * 5_000])
def test_what_is_no_number_of_coats_is_told(coats: str) -> None:
    """A text, a half and a number longer than any are refused in one short sentence."""
    with pytest.raises(BadRecipeError, match="is not a number of coats") as trouble:
        parse_recipe(f"Kelp*{coats}", lambda name: Colorant(name, "Shoal"))
    assert len(trouble.value.message) <= 1000


def test_a_share_too_long_to_be_a_number_is_part_of_a_name() -> None:
    """As with any text that isn't the form of a mixture, the name is looked up as a whole."""
    asked: list[str] = []

    def find(name: str) -> Colorant:
        asked.append(name)
        return Colorant("Kelp", "Shoal")

    parse_recipe(f"mix {'9' * 5_000} Kelp + 1 Dune", find)
    assert asked == [f"mix {'9' * 5_000} Kelp + 1 Dune"]
