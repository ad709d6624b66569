import pytest

from laydown.app.trial_words import checked_day, typed_color
from laydown.color.lab import lab_from_reflectance
from laydown.errors import BadColorError, BadRecipeError


def test_a_typed_color_keeps_its_lab() -> None:
    """The smoothest reflectance of lab:50,10,20 has that Lab."""
    assert lab_from_reflectance(typed_color("lab:50,10,20").reflectance) == pytest.approx(
        [50, 10, 20], abs=0.01
    )


def test_a_color_from_a_screen_is_rough() -> None:
    """It is taken for what it is: the screen's color, unsure by five units an axis."""
    typed = typed_color("#808080")
    assert lab_from_reflectance(typed.reflectance) == pytest.approx([53.6, 0, 0], abs=0.1)
    assert typed.noise == 5.0


@pytest.mark.parametrize("text", ["", "lab:", "lab:1,2", "lab:a,b,c", "hsv:1,2,3", "lab:nan,0,0"])
def test_what_is_no_color_is_refused(text: str) -> None:
    """The error says how a color is written."""
    with pytest.raises(BadColorError) as caught:
        typed_color(text)
    assert "lab:" in caught.value.hint


@pytest.mark.parametrize("text", ["#80808", "#", "#gggggg"])
def test_what_is_no_color_of_a_screen_is_refused(text: str) -> None:
    """A screen's color has six digits."""
    with pytest.raises(BadColorError, match="#"):
        typed_color(text)


@pytest.mark.parametrize("text", ["2026-13-01", "4.3.2026", "x"])
def test_what_is_no_day_is_refused(text: str) -> None:
    """A day is year-month-day."""
    with pytest.raises(BadRecipeError, match="no day"):
        checked_day(text)
