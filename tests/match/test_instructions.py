"""Recipes said as sentences."""

import pytest

from laydown.match.words import instructions
from laydown.media.recipe import Colorant, Medium, Recipe, parse_recipe

TWO_COATS = (
    "Lay two even coats of Kelp, each after the one below has dried; don't let the last dry."
)
BLENDED = (
    "Blend one even coat of Dune into Kelp while it is still wet, and work the edge between them"
    " until it is soft; let it dry."
)


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


@pytest.mark.parametrize(
    ("recipe", "sentences"),
    [
        (
            "Kelp*2; Dune (wet)",
            (
                TWO_COATS,
                BLENDED,
            ),
        ),
        (
            "Kelp; Dune (wet); Kelp",
            (
                "Lay one even coat of Kelp; don't let it dry.",
                BLENDED,
                "Lay one even coat of Kelp; let it dry.",
            ),
        ),
        (
            "Kelp; Kelp (wet)",
            (
                "Lay one even coat of Kelp; don't let it dry.",
                "Lay one even coat of Kelp while what lies below is still wet; let it dry.",
            ),
        ),
        (
            "Loam; Reed (wet)",
            (
                "Lay a wash of Loam; don't let it dry.",
                "Lay a wash of Reed while what lies below is still wet; let it dry.",
            ),
        ),
    ],
)
def test_what_is_blended_wet_is_a_step_of_its_own(recipe: str, sentences: tuple[str, ...]) -> None:
    """Which is laid first is kept wet, and the edge of two markers is worked while it is."""
    washes = {"Loam", "Reed"}
    read = parse_recipe(
        recipe,
        lambda name: Colorant(name, "Estuary", Medium.WASH if name in washes else Medium.MARKER),
    )
    assert instructions(read) == sentences


def test_nothing_to_lay_is_said_too() -> None:
    """On bare paper it stays bare; over something nothing is added."""
    over = parse_recipe("Kelp", lambda name: Colorant(name, "Estuary"))
    assert instructions(Recipe()) == ("Leave the paper bare.",)
    assert instructions(Recipe(), over=over) == ("Add nothing.",)
