import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from laydown.color.lab import WEIGHTS_D50, WHITE_D50
from laydown.color.light import LIGHT_WAVELENGTHS, light
from laydown.color.reconstruction import inside_object_solid, outside_by
from laydown.reference.tables import load_table, numbers_of


@given(arrays(np.float64, 36, elements=st.floats(0.0, 1.0)))
def test_every_reflectance_lies_inside(reflectance: np.ndarray) -> None:
    """What returns between none and all of each wavelength has a color inside the solid."""
    assert inside_object_solid(reflectance @ WEIGHTS_D50)


@pytest.mark.parametrize("first", range(1, 34, 4))
@pytest.mark.parametrize("width", [1, 4, 12, 24])
def test_optimal_colors_lie_on_the_surface(first: int, width: int) -> None:
    """A band of full reflectance and no other is on the surface, and anything purer is outside.

    On, that is, within .002: towards the ends of the spectrum the bands' own colors lie too near
    to one another to make a strictly convex curve.
    """
    band = np.zeros(36)
    band[first : first + width] = 1.0
    color = band @ WEIGHTS_D50
    assert -2e-3 < float(outside_by(color)) < 1e-9
    purer = color + 0.01 * (color - 0.5 * WHITE_D50)
    assert not inside_object_solid(purer)
    assert inside_object_solid(color - 0.01 * (color - 0.5 * WHITE_D50))


def test_tips_and_their_surroundings() -> None:
    """Black and white are the two tips; past them, and beside them, nothing is a surface."""
    colors = np.array([0.0, 1.0, 1.001, -0.001])[:, None] * WHITE_D50
    assert inside_object_solid(colors).tolist() == [True, True, False, False]
    assert not inside_object_solid(WHITE_D50 * [1.0, 1.0, 0.99])


def test_a_tolerance_lets_in_what_lies_so_near() -> None:
    """A color outside by less than the tolerance counts as inside."""
    color = 1.001 * WHITE_D50
    distance = float(outside_by(color))
    assert inside_object_solid(color, tolerance=1.01 * distance)
    assert not inside_object_solid(color, tolerance=0.99 * distance)


def test_what_is_not_a_number_is_not_inside() -> None:
    """NaN is no color."""
    assert not inside_object_solid(np.array([np.nan, 50.0, 50.0]))


def test_a_continuous_spectrum_reaches_little_further() -> None:
    """MacAdam's colors made of single nanometers stick out by a quarter of a unit at most."""
    table = load_table("observer_1931")
    power = np.interp(numbers_of(table, "wavelength")[:, 0], LIGHT_WAVELENGTHS, light("D50"))
    seen = power[:, None] * numbers_of(table, "x", "y", "z")
    sums = np.vstack([np.zeros(3), np.cumsum(100.0 * seen / seen[:, 1].sum(), axis=0)])
    low, high = (i[::7] for i in np.triu_indices(len(sums), k=1))
    assert outside_by(sums[high] - sums[low]).max() < 0.25
