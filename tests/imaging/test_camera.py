"""From signals to colors."""

import csv
from pathlib import Path

import numpy as np
import pytest

from laydown.imaging.camera import fit_matrix, left_out_errors
from laydown.imaging.chart import chart_xyz

PUBLISHED = Path(__file__).parents[1] / "published" / "chart_photographs.csv"


@pytest.mark.parametrize("photograph", ["1", "2"])
def test_real_photographs_of_a_chart_are_predicted_one_patch_left_out(photograph: str) -> None:
    """A matrix fitted on 23 patches predicts the 24th within 2.6 on average."""
    with PUBLISHED.open(encoding="utf-8") as stream:
        rows = [row for row in csv.DictReader(stream) if row["photograph"] == photograph]
    signal = np.array([[float(row[channel]) for channel in "RGB"] for row in rows])
    assert len(signal) == 24
    assert left_out_errors(signal, chart_xyz()).mean() <= 2.6


def test_a_camera_that_is_a_matrix_is_fitted_exactly() -> None:
    """Where signals are a linear mixture of XYZ, nothing is left over."""
    mixing = np.array([[0.02, 0.003, 0.0], [-0.006, 0.02, -0.002], [-0.003, -0.001, 0.011]])
    signal = chart_xyz() @ mixing
    assert np.allclose(fit_matrix(signal, chart_xyz()), np.linalg.inv(mixing), rtol=1e-4, atol=1e-2)
    assert left_out_errors(signal, chart_xyz()).max() < 1e-3
