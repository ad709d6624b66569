"""Differences as a person would say them."""

from math import cos, radians, sin

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from laydown.color.value import value_from_lab
from laydown.match.judge import TOLERANCES
from laydown.match.outcome import Verdict
from laydown.match.words import chroma_term, difference, hue_term, is_gray


def lch(lightness: float, chroma: float, hue: float) -> np.ndarray:
    """Return Lab from lightness, chroma and hue in degrees."""
    return np.array([lightness, chroma * cos(radians(hue)), chroma * sin(radians(hue))])


@pytest.mark.parametrize(
    ("wanted", "got", "words"),
    [
        ((60, 40, 90), (60, 40, 90), "no difference worth naming"),
        ((50, 30, 60), (55, 30, 60), "half a value step too light"),
        ((50, 30, 60), (40.2, 30, 60), "one value step too dark"),
        ((50, 30, 60), (60, 30, 60), "one value step too light"),
        ((60, 40, 60), (60, 40, 64), "a little yellower"),
        ((60, 40, 60), (60, 40, 67), "yellower"),
        ((60, 40, 60), (60, 40, 56), "a little redder"),
        ((60, 40, 85), (60, 40, 115), "much greener"),
        ((60, 40, 180), (60, 40, 187), "bluer"),
        ((60, 40, 200), (60, 40, 193), "greener"),
        ((60, 40, 300), (60, 40, 306), "redder"),
        ((60, 40, 5), (60, 40, 355), "bluer"),
        ((60, 40, 60), (60, 35, 60), "a little duller"),
        ((60, 40, 60), (60, 15, 60), "much duller"),
        ((60, 20, 60), (60, 30, 60), "more vivid"),
        ((60, 2, 60), (60, 2, 240), "cooler and greener"),
        ((60, 4.5, 90), (60, 0.1, 90), "cooler"),
        ((60, 2, 240), (60, 4, 90), "much warmer"),
        ((60, 3, 180), (60, 1, 0), "much pinker"),
        ((92, 0.2, 90), (92, 2, 80), "a little warmer"),
        ((60, 6, 250), (50.1, 6, 90), "one value step too dark, much warmer"),
        ((60, 5.5, 20), (60, 4.9, 200), "much greener"),
        ((60, 40, 60), (60.6, 38.6, 60.9), "a touch too light"),
        ((60, 1, 60), (60, 12, 90), "much yellower"),
        ((60, 30, 90), (60, 2, 200), "much duller"),
    ],
)
def test_a_difference_is_said_value_first(
    wanted: tuple[float, float, float], got: tuple[float, float, float], words: str
) -> None:
    """Value in steps, then where hue has gone, then chroma; what can't be seen is left out."""
    said = difference(lch(*wanted), lch(*got)).words
    assert said == words


LABS = st.tuples(st.floats(5, 95), st.floats(-60, 60), st.floats(-60, 60))
NEAR = st.tuples(st.floats(-3, 3), st.floats(-8, 8), st.floats(-8, 8))


@given(LABS | st.tuples(st.floats(5, 95), st.floats(-4, 4), st.floats(-4, 4)), NEAR)
def test_what_the_eye_sees_is_named(
    wanted: tuple[float, float, float], moved: tuple[float, float, float]
) -> None:
    """Whatever is out of any tolerance has a name, near gray and where all is off by a little."""
    seen = difference(np.array(wanted), np.add(wanted, moved))
    if seen.delta_e > TOLERANCES["close"]:
        assert seen.words != "no difference worth naming"


WAYS = {"warmer": (2, 1), "cooler": (2, -1), "pinker": (1, 1), "greener": (1, -1)}
"""Each word of neutrals, with the axis of CIELAB that it tells of and the sign there."""


@pytest.mark.parametrize("lightness", [20.0, 50.0, 80.0, 95.0])
def test_between_neutrals_warm_or_cool_is_named_and_right(lightness: float) -> None:
    """Any two grays of one lightness that differ by more than is just noticeable get a word, none
    but these four, and CIELAB's own axes have the sign that each says.
    """
    grid = [np.array([lightness, a, b]) for a in (-4, -1.5, 0, 1, 4) for b in (-5, -2, 0, 1, 4)]
    for wanted in grid:
        for got in grid:
            seen = difference(wanted, got)
            words = seen.words.removeprefix("much ").removeprefix("a little ").split(" and ")
            if seen.delta_e < 0.8:
                continue
            for word in words:
                axis, sign = WAYS[word]
                assert sign * (got - wanted)[axis] > 0, (wanted, got, seen.words)


@pytest.mark.parametrize(
    ("got", "verdict", "words"),
    [
        ((60.5, 41, 66), Verdict.BUT_VALUE, "a touch too light, yellower"),
        ((62, 36, 60.5), Verdict.BUT_HUE, "a quarter of a value step too light, a little yellower"),
    ],
)
def test_the_words_name_what_the_verdict_names(
    got: tuple[float, float, float], verdict: Verdict, words: str
) -> None:
    """Off mostly in value names value, off mostly in hue names hue, however little that is off."""
    assert difference(lch(60, 40, 60), lch(*got), verdict).words.startswith(words)


def test_signs_are_obtained_minus_wanted() -> None:
    """Lighter, more yellow-green and duller than wanted are +, + and −."""
    wanted, got = lch(50, 40, 80), lch(60, 30, 100)
    seen = difference(wanted, got)
    assert seen.value == pytest.approx(float(value_from_lab(got) - value_from_lab(wanted)))
    assert seen.hue == pytest.approx(20.0)
    assert seen.chroma == pytest.approx(-10.0)


def test_hue_turns_the_short_way_round() -> None:
    """From 350° to 10° is 20° forward."""
    assert difference(lch(50, 40, 350), lch(50, 40, 10)).hue == pytest.approx(20.0)


def test_a_gray_has_no_hue() -> None:
    """Where either color is near gray, the hue difference is not given."""
    assert difference(lch(50, 2, 90), lch(50, 40, 90)).hue is None
    assert difference(lch(50, 40, 90), lch(50, 2, 90)).hue is None
    assert is_gray(lch(50, 2, 90))


def test_the_terms_alone_make_up_the_difference() -> None:
    """At one lightness, away from blue where hue and chroma interact, squares add up."""
    wanted, got = lch(50, 40, 80), lch(50, 30, 95)
    whole = difference(wanted, got).delta_e
    assert hue_term(wanted, got) ** 2 + chroma_term(wanted, got) ** 2 == pytest.approx(whole**2)
