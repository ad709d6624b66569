from types import ModuleType

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from laydown.color.lab import (
    WHITE_D50,
    lab_from_lch,
    lab_from_reflectance,
    lab_from_xyz,
    lch_from_lab,
    xyz_from_lab,
)

LAB = st.tuples(st.floats(0, 100), st.floats(-120, 120), st.floats(-120, 120)).map(np.array)


@given(LAB)
def test_xyz_and_lab_undo_each_other(lab: np.ndarray) -> None:
    """A color in CIELAB made XYZ and back is the same color."""
    np.testing.assert_allclose(lab_from_xyz(xyz_from_lab(lab)), lab, atol=1e-9)


@given(LAB)
def test_lch_and_lab_undo_each_other(lab: np.ndarray) -> None:
    """A color made polar and back is the same color, with its hue from 0 to below 360."""
    lch = lch_from_lab(lab)
    assert 0.0 <= lch[2] < 360.0
    np.testing.assert_allclose(lab_from_lch(lch), lab, atol=1e-9)


def test_a_hair_below_red_is_no_full_circle() -> None:
    """A hue too little below 0 to tell is 0, never 360."""
    assert lch_from_lab(np.array([50.0, 50.0, -1e-300]))[2] == 0.0


def test_white_and_black() -> None:
    """A surface that returns all is L* 100, one that returns nothing L* 0, both without hue."""
    labs = lab_from_reflectance(np.array([np.ones(36), np.zeros(36)]))
    np.testing.assert_allclose(labs, [[100, 0, 0], [0, 0, 0]], atol=1e-12)


def test_the_two_branches_meet() -> None:
    """Cube root and straight line have the same value and slope where they meet."""
    edge = (6.0 / 29.0) ** 3
    xyz = WHITE_D50 * (edge + np.array([-2e-9, -1e-9, 1e-9, 2e-9]))[:, None]
    steps = np.diff(lab_from_xyz(xyz)[:, 0])
    np.testing.assert_allclose(steps / np.array([1.0, 2.0, 1.0]), steps[0], rtol=1e-5)


def test_against_an_outside_implementation(colour: ModuleType) -> None:
    """CIELAB agrees with colour-science to the last digits under the same white."""
    xyz = np.random.default_rng(3).uniform(0.01, 100.0, (200, 3))
    total = WHITE_D50.sum()
    white = np.array([WHITE_D50[0] / total, WHITE_D50[1] / total])
    np.testing.assert_allclose(lab_from_xyz(xyz), colour.XYZ_to_Lab(xyz / 100.0, white), atol=1e-9)
