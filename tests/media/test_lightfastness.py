import numpy as np
import pytest

from laydown.errors import LightfastnessError
from laydown.media.light.exposure import Exposure, Span
from laydown.media.light.fading import class_words, noticeable_dose, parse_class, wools_of


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("3", "blue wool 3"),
        (" Blue Wool 7 ", "blue wool 7"),
        ("bw4", "blue wool 4"),
        ("5 - 6", "blue wool 5-6"),
        ("ii", "ASTM D4303 II"),
        ("ASTM D 4303 V", "ASTM D4303 V"),
        ("astm iv", "ASTM D4303 IV"),
    ],
)
def test_a_class_is_read_as_people_write_it(text: str, words: str) -> None:
    """Digits are blue wools, Roman numerals are classes of ASTM D4303."""
    assert class_words(parse_class(text)) == words


@pytest.mark.parametrize("text", ["", "0", "9", "3-5", "4-3", "VI", "IIII", "***", "good", "3.5"])
def test_anything_else_is_no_class(text: str) -> None:
    """Stars, words and numbers beside the scales are refused, with what is allowed."""
    with pytest.raises(LightfastnessError, match="no class") as trouble:
        parse_class(text)
    assert "1 to 8" in trouble.value.hint


def test_a_class_runs_from_the_wool_before_to_the_wool_after() -> None:
    """Wool 3's range is the doses of wools 2 and 4; a class over two wools reaches around both."""
    assert noticeable_dose(parse_class("3")) == Span(1.0, 10.0)
    assert noticeable_dose(parse_class("III")) == Span(3.0, 100.0)


def test_the_ends_of_the_table_are_told_as_such() -> None:
    """Below wool 1 the first step is taken once more; above wool 8 there is no end."""
    assert noticeable_dose(parse_class("1")) == Span(0.09, 1.0)
    assert noticeable_dose(parse_class("8")) == Span(300.0, np.inf)


@pytest.mark.parametrize("grade", ["IV", "V"])
def test_classes_without_a_table_get_no_range(grade: str) -> None:
    """For D4303 IV and V no table was read, so nothing is foretold."""
    assert wools_of(parse_class(grade)) is None
    assert noticeable_dose(parse_class(grade)) is None


@pytest.mark.parametrize(
    ("lux", "hours", "days", "said"),
    [
        (0.0, 8.0, 365.0, "0 lux"),
        (1e6, 8.0, 365.0, "lux"),
        (100.0, 25.0, 365.0, "hours"),
        (100.0, 8.0, 400.0, "days"),
    ],
)
def test_light_that_cannot_be_is_refused(lux: float, hours: float, days: float, said: str) -> None:
    """More light than the sun's, or more hours than a day has, is one clear sentence."""
    with pytest.raises(LightfastnessError, match=said):
        Exposure(Span(lux, lux), hours, days)
