"""One reader for every form in which a color is typed."""

import numpy as np
import pytest

from laydown.color.lab import lab_from_reflectance, xyz_from_lab
from laydown.color.reconstruction import reflectance_from_xyz
from laydown.color.typed import DEVIATION, FORMS, Form, measured_color, typed_color
from laydown.errors import BadColorError


def test_lab_is_taken_as_typed() -> None:
    """Blanks and the case of letters don't matter."""
    typed = typed_color(" LAB: 71, 8 ,46 ")
    assert typed is not None
    lab, form = typed
    assert lab.tolist() == [71, 8, 46]
    assert DEVIATION[form] == 0.0


def test_xyz_and_lab_of_one_color_are_one_color() -> None:
    """What is typed as XYZ has the Lab whose XYZ it is."""
    x, y, z = xyz_from_lab(np.array([50.0, 10.0, 20.0]))
    assert measured_color(f"xyz:{x},{y},{z}")[0] == pytest.approx([50, 10, 20])


def test_the_smoothest_reflectance_has_the_color() -> None:
    """The reflectance of lab:50,10,20 has that Lab."""
    lab, _ = measured_color("lab:50,10,20")
    seen = lab_from_reflectance(reflectance_from_xyz(xyz_from_lab(lab)))
    assert seen == pytest.approx([50, 10, 20], abs=0.01)


def test_a_screen_and_an_eye_are_rough() -> None:
    """They are taken for what they are: unsure by some units an axis."""
    (screen, on_screen), (chip, by_eye) = measured_color("#808080"), measured_color("N 5/")
    assert screen == pytest.approx([53.6, 0, 0], abs=0.1)
    assert chip == pytest.approx([51.0, 0, 0], abs=0.1)
    assert on_screen is Form.SCREEN
    assert DEVIATION[on_screen] > DEVIATION[by_eye] > 0.0


@pytest.mark.parametrize("text", ["Kelp", "Kelp*2; Dune", "Shoal/Kelp", "5Y 6", "note: blue", ""])
def test_names_and_recipes_are_left_to_others(text: str) -> None:
    """What may be a name is no color in numbers, and no mistake yet."""
    assert typed_color(text) is None


@pytest.mark.parametrize("text", ["lab:", "lab:1,2", "lab:a,b,c", "xyz:1;2;3", "lab:nan,0,0"])
def test_what_is_not_three_numbers_is_refused(text: str) -> None:
    """The error says so, and names every form."""
    with pytest.raises(BadColorError, match="and three numbers") as caught:
        typed_color(text)
    assert FORMS in caught.value.hint


@pytest.mark.parametrize("text", ["lab:40,200,200", "lab:120,0,0", "xyz:1,60,1", "xyz:96,101,82"])
def test_a_color_of_no_surface_is_refused(text: str) -> None:
    """Neither Lab nor XYZ may lie outside what a surface can have."""
    with pytest.raises(BadColorError, match="no surface can have"):
        typed_color(text)


@pytest.mark.parametrize("text", ["#80808", "#", "#gggggg"])
def test_what_is_no_color_of_a_screen_is_refused(text: str) -> None:
    """A screen's color has six digits."""
    with pytest.raises(BadColorError, match="#"):
        typed_color(text)


@pytest.mark.parametrize("text", ["hsv:1,2,3", "rgb: 20,30,40"])
def test_another_form_is_told_which_there_are(text: str) -> None:
    """A form that is none is no name of a colorant."""
    with pytest.raises(BadColorError, match="no form of a color") as caught:
        typed_color(text)
    assert FORMS in caught.value.hint


def test_where_only_numbers_will_do_a_name_is_told_the_forms() -> None:
    """What came of a trial can't be a name."""
    with pytest.raises(BadColorError, match="no measured color") as caught:
        measured_color("Kelp")
    assert FORMS in caught.value.hint
