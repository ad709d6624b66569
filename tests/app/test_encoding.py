import json
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pytest

from laydown.app.encoding import to_json
from laydown.match.outcome import Verdict
from laydown.media.laydown import Laydown
from laydown.media.recipe import Colorant, Recipe, Step


@dataclass(frozen=True, slots=True)
class _Invented:
    zebra: object
    apple: object


def test_fields_keep_the_order_of_their_dataclass() -> None:
    """The order of a dataclass's fields is the order in JSON, not the alphabet's."""
    assert list(json.loads(to_json(_Invented(1, 2)))) == ["zebra", "apple"]


def test_arrays_enums_and_paths_become_plain() -> None:
    """An array is a list, an enum its value, a path its text."""
    made = json.loads(to_json([np.eye(2), Verdict.BUT_HUE, Path("a") / "b", np.float64(0.5)]))
    assert made == [[[1.0, 0.0], [0.0, 1.0]], "same but for hue", str(Path("a") / "b"), 0.5]


def test_a_recipe_is_its_text_with_ranges() -> None:
    """A recipe is written as people type it, each name with its range."""
    kelp = Colorant("Kelp", "Estuary")
    recipe = Recipe((Step(kelp, Laydown(coats=2)), Step(kelp)))
    assert json.loads(to_json(recipe)) == "Estuary/Kelp*2; Estuary/Kelp"


def test_a_set_is_written_in_one_order() -> None:
    """A set, which has no order of its own, is written by the order of its members' text."""
    assert json.loads(to_json(frozenset({"b", "c", "a"}))) == ["a", "b", "c"]


def test_numbers_are_rounded_and_no_number_is_null() -> None:
    """Six decimals remain, negative zero goes, infinity and NaN become null."""
    given = [1 / 3, -1e-9, float("inf"), float("nan"), 7]
    assert to_json(given).split() == ["[", "0.333333,", "0.0,", "null,", "null,", "7", "]"]


def test_what_has_no_form_is_a_programmers_mistake() -> None:
    """An object of an unknown kind is refused, not guessed at."""
    with pytest.raises(TypeError, match="object has no form"):
        to_json({"thing": object()})


def test_bytes_are_written_in_base64() -> None:
    """The letters Man are TWFu, as in RFC 4648's alphabet."""
    assert to_json(b"Man") == '"TWFu"'


def test_what_nobody_sees_is_escaped() -> None:
    """Signs that steer a terminal or turn letters around are written as their numbers alone."""
    text = "Ke\x1b\x9b\x7flp\u202e\u200b \U000e0041 \ud83d Дюна"
    made = to_json({text: text})
    assert made.replace("\n", "").isprintable()
    assert made.isascii() is False
    assert json.loads(made) == {text: text}
