import re
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from laydown.color.naming import color_name
from laydown.color.screen import lab_from_hex
from laydown.color.typed import lab_from_notation
from laydown.errors import BadColorError
from laydown.reference.tables import load_table, numbers_of

NOUNS = {
    "5R": {"red", "pink"},
    "2.5YR": {"orange", "brown", "pink"},
    "5YR": {"orange", "brown", "yellow"},
    "5Y": {"yellow", "olive", "brown"},
    "7.5GY": {"green"},
    "5G": {"green"},
    "5BG": {"green"},
    "5B": {"blue"},
    "5PB": {"blue"},
    "2.5P": {"violet", "purple", "blue"},
    "7.5P": {"purple"},
    "5RP": {"red", "pink", "purple"},
}
"""Which hue nouns may name strong chips of a hue, in broad terms (common knowledge, no source)."""


def test_each_centroid_names_itself() -> None:
    """The color at the middle of each of the 267 blocks has that block's name."""
    table = load_table("color_names")
    centroids = numbers_of(table, "L", "a", "b")
    assert len(centroids) == 267
    assert [color_name(lab) for lab in centroids] == list(table["name"])


def test_the_table_is_the_published_one(debian_data: Callable[[str, str], Path]) -> None:
    """Names and centroids are those of the dictionary they were read from."""
    source = debian_data(
        "libcolor-library-perl", "usr/share/perl5/Color/Library/Dictionary/NBS_ISCC.pm"
    )
    listed = dict(
        re.findall(
            r"'nbs-iscc:\w+','\w+','([^']+)',\[[\d,]+\],'([0-9a-f]{6})'",
            source.read_text(encoding="utf-8"),
        )
    )
    table = load_table("color_names")
    ours = dict(zip(table["name"], table["screen"], strict=True))
    assert ours == {name.lower(): f"#{screen}" for name, screen in listed.items()}
    labs = np.array([lab_from_hex(text) for text in table["screen"]])
    np.testing.assert_allclose(numbers_of(table, "L", "a", "b"), labs, atol=0.0051)


@pytest.mark.parametrize("hue", NOUNS)
@pytest.mark.parametrize("value", [3, 5, 7])
@pytest.mark.parametrize("chroma", [8, 10])
def test_strong_chips_have_the_noun_of_their_hue(hue: str, value: int, chroma: int) -> None:
    """A chip of the renotation is named by its hue: a green chip is some green."""
    try:
        lab = lab_from_notation(f"{hue} {value}/{chroma}")
    except BadColorError:
        assert (hue, value) in {("5YR", 3), ("5Y", 3), ("5B", 7)}  # no chip is so strong
        return
    assert color_name(lab).split()[-1] in NOUNS[hue]


@pytest.mark.parametrize(
    ("value", "name"),
    [(1.0, "black"), (3.5, "dark gray"), (5.5, "medium gray"), (7.5, "light gray"), (9.5, "white")],
)
def test_grays_are_named_by_value(value: float, name: str) -> None:
    """In the middle of the system's gray blocks, bounded at values 2.5, 4.5, 6.5 and 8.5 (from
    memory), a gray has the block's name.
    """
    assert color_name(lab_from_notation(f"N {value}/")) == name


def test_a_gray_is_never_called_after_a_tint() -> None:
    """From black to white a color without chroma has one of the five neutral names, in order."""
    names = [color_name(np.array([lightness, 0.2, -0.3])) for lightness in range(101)]
    assert list(dict.fromkeys(names)) == [
        "black",
        "dark gray",
        "medium gray",
        "light gray",
        "white",
    ]


@pytest.mark.parametrize("lightness", [15, 30, 45, 60, 75, 85, 93])
@pytest.mark.parametrize("hue", range(0, 360, 15))
@pytest.mark.parametrize("chroma", [2, 3, 4.5, 6])
def test_a_gray_with_a_tint_is_some_gray_of_its_own_hue(
    lightness: int, hue: int, chroma: float
) -> None:
    """Warm or cool, it is called a white, a gray or a black, and its tint lies on the right side
    of both axes of CIELAB.
    """
    a, b = chroma * np.cos(np.radians(hue)), chroma * np.sin(np.radians(hue))
    name = color_name(np.array([lightness, a, b]))
    assert re.search("(white|gray|black)$", name) or name.startswith("blackish"), name
    assert not re.search("pinkish|reddish|purplish", name) or a > -1e-9, name
    assert not re.search("yellowish|brownish|olive", name) or b > -1e-9, name
    assert not re.search("green", name) or a < 1e-9, name
    assert not re.search("blu", name) or b < 1e-9, name


@pytest.mark.parametrize(
    ("lab", "name"),
    [
        ((67.7, -2.6, -3.3), "light bluish gray"),
        ((63.8, -3.6, -5.1), "bluish gray"),
        ((88.2, 0.1, 2.0), "white"),
        ((80.0, 0.5, 6.0), "yellowish gray"),
        ((46.0, 5.0, 4.0), "reddish gray"),
        ((60.0, -5.5, 1.0), "greenish gray"),
    ],
)
def test_grays_are_called_warm_or_cool(lab: tuple[float, float, float], name: str) -> None:
    """A cool gray is bluish and no blue; a white of hardly any chroma is white."""
    assert color_name(np.array(lab)) == name


def test_numbers_only() -> None:
    """What is not a number has no name."""
    with pytest.raises(BadColorError, match="not all numbers"):
        color_name(np.array([50.0, np.inf, 0.0]))
