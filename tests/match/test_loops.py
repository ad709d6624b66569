"""The compiled loops against the plain functions that they stand for."""

from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from laydown.color.difference import ciede2000
from laydown.color.lab import lab_from_reflectance
from laydown.match.search.curve import tabled_inverse
from laydown.match.search.loops import lay, squared_difference
from laydown.match.search.on_paper import kit_on_paper
from laydown.match.space import Limits, laid_steps, number_of
from laydown.media.kit.fit import reflectance
from laydown.media.marker.absorption import inverse
from laydown.media.marker.marker import MarkerFit
from laydown.media.marker.pile import step_numbers
from laydown.media.recipe import Recipe


def test_the_loop_for_ciede2000_agrees_with_the_function() -> None:
    """On pairs all over the solid, and off the jumps, they are equal to 1e-9."""
    rng = np.random.default_rng(5)
    pairs = rng.uniform([0, -80, -80], [100, 80, 80], (500, 2, 3))
    for k_l in (0.5, 1.0, 2.0):
        expected = ciede2000(pairs[:, 0], pairs[:, 1], k_L=k_l)
        ks = np.array([k_l, 1.0, 1.0])
        got = [np.sqrt(squared_difference(a, b, ks)) for a, b in pairs]
        np.testing.assert_allclose(got, expected, atol=1e-9)


def test_at_opposite_hues_the_loop_takes_the_lesser_side() -> None:
    """Where a last digit turns the hue about, neither side of the jump lies below the loop's."""
    wanted = np.array([50.0, 30.0, 20.0])
    for turn in (-1e-9, 0.0, 1e-9):
        angle = np.arctan2(20.0, 30.0) + np.pi + turn
        lab = np.array([50.0, 8.0 * np.cos(angle), 8.0 * np.sin(angle)])
        least = np.sqrt(squared_difference(wanted, lab, np.ones(3)))
        for nudge in (-1e-6, 1e-6):
            side = lab + np.array([0.0, -nudge * np.sin(angle), nudge * np.cos(angle)])
            assert least <= ciede2000(wanted, side) + 1e-4


def test_a_last_digit_of_a_gray_costs_nothing() -> None:
    """For a color a hair from gray, no hue it may have lies below what the loop gives."""
    wanted = np.array([50.0, 10.0, -35.0])
    least = np.sqrt(squared_difference(wanted, np.array([45.0, 1e-9, 0.0]), np.ones(3)))
    angles = np.linspace(0.0, 2.0 * np.pi, 50)
    around = np.stack([np.full(50, 45.0), 1e-9 * np.cos(angles), 1e-9 * np.sin(angles)], axis=-1)
    assert least <= ciede2000(wanted, around).min() + 1e-9


@given(
    below=st.floats(0, 5),
    amount=st.floats(0, 5),
    strength=st.floats(0, 3),
    coats=st.integers(1, 3),
    blender=st.booleans(),
)
@settings(max_examples=150, deadline=None)
def test_the_loop_lays_coats_as_the_model_does(
    below: float, amount: float, strength: float, coats: int, *, blender: bool
) -> None:
    """K and M of the loop are those of the media layer, pile by pile."""
    weight = 0.0 if blender else strength
    got = lay(below, amount, weight, blender, coats, 0.8, 0.3)
    expected = step_numbers(
        below, amount, strength=weight, coats=coats, later_coat=0.8, lift=0.3, blender=blender
    )
    np.testing.assert_allclose(got, np.array(expected), atol=1e-12)


@pytest.mark.parametrize("scale", [0.0, 0.3, 0.9, 0.999, 1.0])
def test_the_table_gives_back_reflectance(scale: float) -> None:
    """Between its knots the table is right to 1e-8, from no absorption to a pile near black."""
    table = tabled_inverse(lambda a: inverse(a, scale=scale), scale=scale, most=50.0)
    rng = np.random.default_rng(3)
    a = np.concatenate([rng.random(2000) ** 4 * 50.0, 10.0 ** rng.uniform(-9, 0, 2000)])
    v = 2.0 * a / ((1.0 - scale) + np.sqrt((1.0 - scale) ** 2 + 2.0 * scale * a))
    place = v * table[0, 2]
    knot = place.astype(int)
    t, row = place - knot, table[knot + 1]
    got = row[:, 0] + t * (row[:, 1] + t * (row[:, 2] + t * row[:, 3]))
    np.testing.assert_allclose(got, inverse(a, scale=scale), atol=1e-8)


def test_colors_of_numbers_are_those_of_the_model(invented_kit: Callable[..., MarkerFit]) -> None:
    """What the search scores last is the model's own color, over what lies there already."""
    fit = invented_kit(4, blenders=1, lift=0.4)
    over = Recipe((kit_on_paper(fit, Limits(), Recipe()).recipe(4).steps[0],))
    kit = kit_on_paper(fit, Limits(steps=2, coats=2), over)
    rows = list(laid_steps(4, steps=2, coats=2, budget=4))
    numbers = np.array([float(number_of(row, colorants=4, coats=2)) for row in rows])
    recipes = [over.then(kit.recipe(int(number))) for number in numbers]
    expected = lab_from_reflectance(np.array([reflectance(fit, r) for r in recipes]))
    np.testing.assert_allclose(kit.lab(numbers), expected, atol=1e-9)
