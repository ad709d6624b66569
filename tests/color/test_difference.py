import csv
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from laydown.color.lab import ciede2000

TABLE = Path(__file__).parent.parent / "published" / "ciede2000_pairs.csv"
LAB = st.tuples(st.floats(0, 100), st.floats(-128, 128), st.floats(-128, 128)).map(np.array)


def _pairs() -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    rows = list(csv.reader(TABLE.read_text(encoding="utf-8").splitlines()))[1:]
    table = np.array(rows, dtype=np.float64)
    return table[:, 1:4], table[:, 4:7], table[:, 7]


def test_the_table_holds_all_34_pairs() -> None:
    """No published row is left out."""
    assert len(_pairs()[2]) == 34


@pytest.mark.parametrize("swapped", [False, True])
def test_published_pairs(swapped: bool) -> None:
    """Each of the 34 pairs comes out within its last printed digit, in both orders."""
    first, second, difference = _pairs()
    found = ciede2000(second, first) if swapped else ciede2000(first, second)
    np.testing.assert_allclose(found, difference, rtol=0.0, atol=5e-5)


@given(LAB, LAB)
def test_order_does_not_matter(first: np.ndarray, second: np.ndarray) -> None:
    """Two colors that change places are as different as before."""
    there, back = ciede2000(first, second), ciede2000(second, first)
    assert there == pytest.approx(float(back), abs=1e-9)


@given(LAB)
def test_a_color_does_not_differ_from_itself(lab: np.ndarray) -> None:
    """The difference of a color from itself is 0."""
    assert ciede2000(lab, lab) == 0.0


@given(LAB, LAB)
def test_lightness_alone_bounds_it_from_below(first: np.ndarray, second: np.ndarray) -> None:
    """Chroma and hue together never take away from what lightness makes, which a search may use."""
    mean = 0.5 * (first[0] + second[0])
    s_l = 1.0 + 0.015 * (mean - 50.0) ** 2 / np.sqrt(20.0 + (mean - 50.0) ** 2)
    assert ciede2000(first, second) >= abs(first[0] - second[0]) / s_l - 1e-9


def test_opposite_hues_keep_to_one_side() -> None:
    """Hues just 180° apart take their mean on the same side, whichever way rounding falls: turned
    in small steps, the pair's difference has no jump.
    """
    angle = np.radians(np.linspace(1.0, 179.0, 4000))
    C = 30.0  # alike, so that both are stretched alike and stay opposite
    first = np.stack([np.full_like(angle, 50.0), C * np.cos(angle), C * np.sin(angle)], axis=-1)
    difference = ciede2000(first, first * [1.0, -1.0, -1.0])
    assert np.abs(np.diff(difference)).max() < 0.1


def test_parametric_factors_divide_their_terms() -> None:
    """Doubling kL halves a difference of pure lightness and leaves one of pure chroma alone."""
    dark, light = np.array([40.0, 0.0, 0.0]), np.array([52.0, 0.0, 0.0])
    assert ciede2000(dark, light, k_L=2.0) == pytest.approx(0.5 * ciede2000(dark, light))
    dull, strong = np.array([50.0, 10.0, 0.0]), np.array([50.0, 20.0, 0.0])
    assert ciede2000(dull, strong, k_L=2.0) == pytest.approx(ciede2000(dull, strong))
    assert ciede2000(dull, strong, k_C=2.0) == pytest.approx(0.5 * ciede2000(dull, strong))


def test_leading_axes_broadcast() -> None:
    """Three colors against four make a table of three by four."""
    colors = np.linspace(0.0, 90.0, 21).reshape(7, 3)
    table = ciede2000(colors[:3, None], colors[None, 3:])
    assert table.shape == (3, 4)
    assert table[1, 2] == ciede2000(colors[1], colors[5])
