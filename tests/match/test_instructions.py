"""Recipes said as sentences."""

import pytest

from laydown.match.words import instructions
from laydown.media.colorant import Colorant
from laydown.media.recipe import Recipe, parse_recipe


@pytest.mark.parametrize(
    ("recipe", "sentence"),
    [
        ("Kelp", "Lay one even coat of Kelp; let it dry."),
        (
            "Kelp*3 (quick)",
            "Lay three quick coats of Kelp, each after the one below has dried; let it dry.",
        ),
        ("Kelp (wet)", "Lay one even coat of Kelp while what lies below is still wet; let it dry."),
        ("solvent by swab", "Go over all that lies there with solvent on a swab; let it dry."),
        ("burnish by stump", "Burnish all that lies there with a stump."),
    ],
)
def test_each_step_is_a_sentence(recipe: str, sentence: str) -> None:
    """It says what to lay, how often, how, and when."""
    read = parse_recipe(recipe, lambda name: Colorant(name, "Estuary"))
    assert instructions(read) == (sentence,)


def test_nothing_to_lay_is_said_too() -> None:
    """On bare paper it stays bare; over something nothing is added."""
    over = parse_recipe("Kelp", lambda name: Colorant(name, "Estuary"))
    assert instructions(Recipe()) == ("Leave the paper bare.",)
    assert instructions(Recipe(), over=over) == ("Add nothing.",)
