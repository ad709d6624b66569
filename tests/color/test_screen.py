import numpy as np
import pytest
from coloraide import Color
from hypothesis import given
from hypothesis import strategies as st

from laydown.color.lab import ciede2000, lch_from_lab
from laydown.color.screen import is_on_screen, lab_from_hex, screen_color
from laydown.errors import BadColorError

CHANNEL = st.integers(0, 255)


@given(CHANNEL, CHANNEL, CHANNEL)
def test_screen_colors_come_back(red: int, green: int, blue: int) -> None:
    """A screen color made CIELAB and shown again is the same color, and inside."""
    text = f"#{red:02x}{green:02x}{blue:02x}"
    assert screen_color(lab_from_hex(text)) == text
    assert is_on_screen(lab_from_hex(text))


@given(CHANNEL, CHANNEL, CHANNEL)
def test_against_an_outside_implementation(red: int, green: int, blue: int) -> None:
    """CIELAB D50 of a screen color agrees with coloraide's within 0.02 (its white has other last
    digits).
    """
    text = f"#{red:02x}{green:02x}{blue:02x}"
    theirs = np.array(Color(text).convert("lab").coords(nans=False))
    assert ciede2000(lab_from_hex(text), theirs) < 0.02


@given(st.floats(0.0, 100.0), st.floats(-128.0, 128.0), st.floats(-128.0, 128.0))
def test_what_the_screen_lacks_keeps_lightness_and_hue(L: float, a: float, b: float) -> None:
    """A color outside is flagged and shown duller, with its own lightness and hue, within the
    rounding of 8 bits.
    """
    lab = np.array([L, a, b])
    seen = lab_from_hex(screen_color(lab))
    if is_on_screen(lab):
        assert ciede2000(seen, lab) < 1.5
        return
    want, found = lch_from_lab(lab), lch_from_lab(seen)
    assert abs(found[0] - want[0]) < 1.0
    assert found[1] < want[1] + 0.5
    turned = np.radians(found[2] - want[2])
    assert abs(2.0 * found[1] * np.sin(0.5 * turned)) < 2.0


@pytest.mark.parametrize("text", ["#ff0000", "#00ff00", "#0000ff", "#e08000", "#008080"])
def test_no_more_chroma_is_lost_than_must_be(text: str) -> None:
    """A color a quarter stronger than the screen's strongest of its kind shows as about that."""
    limit = lab_from_hex(text)
    stronger = limit * [1.0, 1.25, 1.25]
    assert not is_on_screen(stronger)
    assert ciede2000(lab_from_hex(screen_color(stronger)), limit) < 0.8


@pytest.mark.parametrize(("lightness", "hexadecimal"), [(130.0, "#ffffff"), (-5.0, "#000000")])
def test_beyond_white_and_black(lightness: float, hexadecimal: str) -> None:
    """What is lighter than white or darker than black shows as these, flagged as outside."""
    lab = np.array([lightness, 3.0, 4.0])
    assert (screen_color(lab), is_on_screen(lab)) == (hexadecimal, False)


def test_upper_case_is_the_same_color() -> None:
    """Digits may be written in capitals, and spaces around them don't matter."""
    assert np.array_equal(lab_from_hex(" #C04A2E "), lab_from_hex("#c04a2e"))


@pytest.mark.parametrize("text", ["c04a2e", "#c04", "#c04a2g", "", "#c04a2e00", "red"])
def test_other_writings_are_refused(text: str) -> None:
    """Anything but a hash sign and six digits is refused with a hint how to write it."""
    with pytest.raises(BadColorError, match="not a screen color") as error:
        lab_from_hex(text)
    assert "six digits" in error.value.hint


def test_numbers_only() -> None:
    """A color that is not a number is refused."""
    with pytest.raises(BadColorError, match="not all numbers"):
        screen_color(np.array([np.nan, 0.0, 0.0]))
