"""Marks of pans, and what follows from them for a recipe."""

import pytest

from laydown.errors import PanMarkError
from laydown.media.laydown import Laydown
from laydown.media.pan_marks import PanMark, advice, parse_marks
from laydown.media.recipe import Colorant, Medium, Recipe, Step, mixture

SILT, REED, LOAM = (Colorant(name, "Pond", Medium.WASH) for name in ("Silt", "Reed", "Loam"))


def test_marks_are_read_in_any_order_and_kept_in_one() -> None:
    """Capitals, commas and repeats make no difference, nor does the order typed."""
    read = parse_marks(["Granulating,", "semi-opaque STAINING", "staining"])
    assert read == (PanMark.SEMI_OPAQUE, PanMark.STAINING, PanMark.GRANULATING)
    assert parse_marks([]) == ()


@pytest.mark.parametrize(
    "marks", ["transparent opaque", "semi-opaque opaque", "staining lifting", "shiny"]
)
def test_marks_that_exclude_each_other_or_are_none_are_refused(marks: str) -> None:
    """A pan has one opacity, and stains or lifts; other words are no marks."""
    with pytest.raises(PanMarkError) as trouble:
        parse_marks([marks])
    assert trouble.value.hint


def test_a_granulating_or_staining_pan_is_told_of_where_it_is_used() -> None:
    """Grain isn't in the color, a stain doesn't lift, and it is said on whose word."""
    marks = {SILT.label: (PanMark.STAINING, PanMark.GRANULATING)}
    (told,) = advice(Recipe((mixture((1, REED), (2, SILT)),)), marks)
    assert "Silt granulates" in told
    assert "Silt stains" in told
    assert "common practice, no source" in told
    assert advice(Recipe((Step(REED),)), marks) == ()


def test_a_lifting_pan_is_told_of_where_something_lies_over_it_later() -> None:
    """A next wash takes it up; on top, or with the next laid into it wet, there is no next."""
    marks = {SILT.label: (PanMark.LIFTING,)}
    (told,) = advice(Recipe((Step(SILT), Step(REED))), marks)
    assert "Silt lifts" in told
    assert advice(Recipe((Step(REED), Step(SILT))), marks) == ()


def test_an_opaque_pan_over_another_is_told_to_go_first() -> None:
    """Opaque hides what is below; as the first coat, or alone, it hides nothing."""
    marks = {LOAM.label: (PanMark.OPAQUE,)}
    (told,) = advice(Recipe((Step(REED), Step(LOAM))), marks)
    assert "Loam is opaque" in told
    assert "Reed" in told
    assert advice(Recipe((Step(LOAM), Step(REED))), marks) == ()
    assert advice(Recipe((Step(LOAM), Step(LOAM, Laydown(coats=2)))), marks) == ()
