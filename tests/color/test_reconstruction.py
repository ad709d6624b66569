import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from laydown.color.arrays import FloatArray
from laydown.color.lab import WEIGHTS_D50, WHITE_D50, ciede2000, lab_from_xyz
from laydown.color.light import light, weights
from laydown.color.reconstruction import outside_by, reflectance_from_xyz
from laydown.errors import BadColorError


def _optimal() -> np.ndarray:
    """Return XYZ of all bands and gaps of full reflectance: the purest colors there are."""
    edges = [(a, b) for a in range(36) for b in range(a + 1, 37)]
    bands = np.array([[float(a <= i < b) for i in range(36)] for a, b in edges])
    return np.concatenate([bands, 1.0 - bands]) @ WEIGHTS_D50


def test_grays_come_back_flat() -> None:
    """The smoothest spectrum of a gray is the same at each band, from near black to near white."""
    share = np.array([1e-5, 1e-3, 0.1, 0.5, 0.9, 0.999])
    found = reflectance_from_xyz(share[:, None] * WHITE_D50)
    np.testing.assert_allclose(found, np.repeat(share[:, None], 36, axis=1), rtol=1e-6)


def test_measured_patches_round_trip(patches: dict[str, FloatArray]) -> None:
    """XYZ of 238 measured patches come back within 1e-9."""
    for reflectance in patches.values():
        xyz = reflectance @ WEIGHTS_D50
        np.testing.assert_allclose(reflectance_from_xyz(xyz) @ WEIGHTS_D50, xyz, atol=1e-9)


def test_measured_patches_are_guessed_well(patches: dict[str, FloatArray]) -> None:
    """Of the two 24-patch sets half are rebuilt within 0.055, and carried to a filament lamp their
    colors are off by at most 0.8 on average.
    """
    lamp = weights(light("A"))
    for name in ("BabelColor Average", "ISO 17321-1"):
        true = patches[name]
        found = reflectance_from_xyz(true @ WEIGHTS_D50)
        assert np.median(np.sqrt(np.mean((found - true) ** 2, axis=1))) < 0.055
        white = lamp.sum(axis=0)
        seen = [lab_from_xyz(r @ lamp, white=white) for r in (found, true)]
        assert ciede2000(*seen).mean() < 0.8


@pytest.mark.parametrize("pale", [0.1, 1e-2, 1e-4, 1e-6])
def test_the_purest_colors_have_a_spectrum(pale: float) -> None:
    """Colors that close to the limit of surfaces are rebuilt, each within 1e-9 or the margin."""
    xyz = _optimal() * (1.0 - pale) + 0.5 * pale * WHITE_D50
    found = reflectance_from_xyz(xyz)
    assert found.min() >= 0.0
    assert found.max() <= 1.0
    deep = outside_by(xyz) < -1e-6
    missed = np.abs(found @ WEIGHTS_D50 - xyz).max(axis=1)
    assert missed[deep].max() < 1e-7
    assert missed.max() < 1e-5


@pytest.mark.parametrize("scale", [1.0, 1e-2, 1e-4])
def test_very_dark_and_very_light_colors(scale: float, patches: dict[str, FloatArray]) -> None:
    """However near to black or to white, XYZ come back and reflectance stays within 0 and 1."""
    dark = scale * (patches["190 surfaces"] @ WEIGHTS_D50)
    for xyz in (dark, WHITE_D50 - dark):
        found = reflectance_from_xyz(xyz)
        assert found.min() > 0.0
        assert found.max() <= 1.0
        np.testing.assert_allclose(found @ WEIGHTS_D50, xyz, atol=1e-6)


def test_black_and_white_are_limits() -> None:
    """Black is black and white is white within 1e-6, at every band."""
    found = reflectance_from_xyz(np.array([0.0 * WHITE_D50, WHITE_D50]))
    np.testing.assert_allclose(found, [[0.0] * 36, [1.0] * 36], atol=1e-6)
    assert found.min() > 0.0


@pytest.mark.parametrize("white", [[96.42, 100.0, 82.49], [96.4212, 100.0, 82.5188]])
def test_white_as_others_round_it_is_white(white: list[float]) -> None:
    """D50 white with other last digits is rebuilt as a surface that returns nearly all."""
    assert reflectance_from_xyz(np.array(white)).min() > 0.998


@settings(deadline=None, max_examples=30)
@given(st.lists(st.floats(0.02, 0.98), min_size=36, max_size=36))
def test_no_reflectance_with_that_color_has_less_slope(values: list[float]) -> None:
    """In the scale of the inverse tanh the rebuilt spectrum is at least as smooth as the true."""

    def slope(reflectance: np.ndarray) -> float:
        return float(np.sum(np.diff(np.arctanh(2.0 * reflectance - 1.0)) ** 2))

    true = np.array(values)
    found = reflectance_from_xyz(true @ WEIGHTS_D50)
    np.testing.assert_allclose(found @ WEIGHTS_D50, true @ WEIGHTS_D50, atol=1e-6)
    assert slope(found) <= slope(true) + 1e-9


@pytest.mark.parametrize(
    "xyz", [[0.0, 50.0, 0.0], [120.0, 120.0, 120.0], [-1.0, 0.0, 0.0], [np.nan, 50.0, 40.0]]
)
def test_impossible_colors_are_refused(xyz: list[float]) -> None:
    """What no surface can have is refused with its numbers and a hint about order and scale."""
    with pytest.raises(BadColorError, match="No surface can have") as error:
        reflectance_from_xyz(np.array([[40.0, 42.0, 33.0], xyz]))
    assert "Y = 100" in error.value.hint


def test_leading_axes_are_kept() -> None:
    """One color gives one spectrum, a grid of colors a grid, none none."""
    assert reflectance_from_xyz(0.3 * WHITE_D50).shape == (36,)
    assert reflectance_from_xyz(np.full((2, 3, 3), 0.3) * WHITE_D50).shape == (2, 3, 36)
    assert reflectance_from_xyz(np.empty((0, 3))).shape == (0, 36)
