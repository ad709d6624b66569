import pytest

from laydown.media.recipe import Colorant, Medium, parse_recipe
from laydown.media.recipe_words import recipe_words

MEDIA = {"Fern": Medium.PENCIL, "Loam": Medium.WASH, "Reed": Medium.WASH}


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("", "bare paper"),
        ("Kelp*2; Dune", "2 coats Kelp, then 1 coat Dune"),
        (
            "Kelp (soaked, wet); solvent by swab",
            "1 soaked coat Kelp (while wet), then solvent by swab",
        ),
        ("Kelp*2; Dune (wet)", "2 coats Kelp, then 1 coat Dune blended in while wet"),
        ("Kelp; Kelp (wet)", "1 coat Kelp, then 1 coat Kelp (while wet)"),
        ("Loam; Reed (wet)", "1 wash Loam, then 1 wash Reed (while wet)"),
        (
            "Fern*3 (heavy); burnish by stump",
            "3 heavy layers Fern, then burnish by stump",
        ),
        ("Loam*2 (dilution 0.5)", "2 washes Loam (50 % water)"),
        ("mix 2 Loam + 1 Reed", "1 wash of 2 parts Loam and 1 part Reed"),
    ],
)
def test_a_recipe_is_said_as_people_say_it(typed: str, said: str) -> None:
    """How many coats come first, then what of; only what is unusual is said besides."""
    recipe = parse_recipe(typed, lambda name: Colorant(name, "", MEDIA.get(name, Medium.MARKER)))
    assert recipe_words(recipe) == said
