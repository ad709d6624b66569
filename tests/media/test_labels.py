import pytest

from laydown.errors import BadRecipeError
from laydown.media.legible import LONGEST_NAME, checked_name, name_key, tidy_name
from laydown.media.recipe import checked_colorant_name


def test_spellings_of_one_name_share_a_key() -> None:
    """Capitals, spaces and ways to write an accent don't part names."""
    assert name_key(" GANNET  Smooth") == name_key("gannet smooth")
    assert name_key("Cre\u0300me") == name_key("CR\u00c8ME")
    assert tidy_name("Cre\u0300me") == "Cr\u00e8me"
    assert name_key("Kelp") != name_key("Kelps")
    assert name_key("Ke\u200blp\u202e") == name_key("Kelp")


@pytest.mark.parametrize(
    ("name", "says"),
    [
        (" ", "is empty"),
        ("x" * (LONGEST_NAME + 1), "201 characters: allowed are 200"),
        ("Ke\ue000lp", "can't be printed"),
    ],
)
def test_a_bad_name_is_told(name: str, says: str) -> None:
    """Empty, endless and unprintable names are refused in words."""
    with pytest.raises(BadRecipeError, match=says):
        checked_name(name, "paper")


@pytest.mark.parametrize("name", ["Kelp", "Kelp (dark)", "7/r", "Solvent", "Kelp by night, late"])
def test_a_name_that_a_recipe_reads_back_is_kept(name: str) -> None:
    """Most signs may stand in a name."""
    assert checked_colorant_name(name) == name


@pytest.mark.parametrize("name", ["Kelp*2", "Kelp; Dune", "Kelp (quick)", "burnish by stump", "*"])
def test_a_name_that_a_recipe_would_misread_is_refused(name: str) -> None:
    """Signs and words of the recipe grammar may not."""
    with pytest.raises(BadRecipeError, match="read as part of a recipe"):
        checked_colorant_name(name)


def test_accents_of_what_is_no_name_are_left_alone() -> None:
    """Putting thousands of accents in order takes squared time: it isn't done."""
    long = "a\u0315\u0316" * 300
    assert tidy_name(f" {long} ") == name_key(long) == long
    assert tidy_name(long[:300]) != long[:300]
