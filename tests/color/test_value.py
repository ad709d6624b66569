import csv
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from laydown.color.lab import WHITE_D50, lab_from_xyz
from laydown.color.value import luminance_from_value, value_from_lab, value_from_luminance

TABLE = Path(__file__).parent.parent / "published" / "value_luminance.csv"


def test_published_luminances() -> None:
    """Values 1 to 10 have the luminances of the published table, within half its last digit."""
    rows = list(csv.reader(TABLE.read_text(encoding="utf-8").splitlines()))[1:]
    value, luminance = np.array(rows, dtype=np.float64).T
    assert value.tolist() == list(range(1, 11))
    np.testing.assert_allclose(luminance_from_value(value), luminance, rtol=0.0, atol=5e-4)


@given(st.floats(0.0, 10.5))
def test_value_and_luminance_undo_each_other(value: float) -> None:
    """A value made luminance and back is the same value."""
    assert value_from_luminance(luminance_from_value(value)) == pytest.approx(value, abs=1e-9)


def test_luminance_rises_with_value() -> None:
    """No two values share a luminance, up to whiter than white."""
    assert np.all(np.diff(luminance_from_value(np.linspace(0.0, 11.0, 2201))) > 0.0)


def test_below_black_is_black() -> None:
    """A luminance below 0, which noise can make, is value 0."""
    assert value_from_luminance(np.array([-0.5, 0.0])).tolist() == [0.0, 0.0]


@given(st.floats(0.05, 10.0))
def test_value_of_lab_is_value_of_its_luminance(value: float) -> None:
    """Through CIELAB the value of a gray stays what it was, also where L* runs straight."""
    gray = lab_from_xyz(WHITE_D50 * float(luminance_from_value(value)) / 100.0)
    assert value_from_lab(gray) == pytest.approx(value, abs=1e-9)
