"""From signals to colors."""

import csv
from pathlib import Path

import numpy as np
import pytest

from laydown.color.lab import ciede2000, lab_from_xyz
from laydown.imaging.chart import CHART_WHITE, chart_xyz, least_squares
from laydown.imaging.development import (
    accuracy_of,
    developed,
    fit_development,
    signal_of,
    usual_development,
    usual_error,
)
from laydown.imaging.profiles import usual_profile
from laydown.sheet.reading import ColorConversion

PUBLISHED = Path(__file__).parents[1] / "published" / "chart_photographs.csv"


@pytest.mark.parametrize("photograph", ["1", "2"])
def test_real_photographs_of_a_chart_are_predicted_one_patch_left_out(photograph: str) -> None:
    """Of a developed photograph 23 patches predict the 24th within 2.6 on average: no worse than a
    matrix of nine numbers does.
    """
    with PUBLISHED.open(encoding="utf-8") as stream:
        rows = [row for row in csv.DictReader(stream) if row["photograph"] == photograph]
    signal = np.array([[float(row[channel]) for channel in "RGB"] for row in rows])
    signal /= signal[CHART_WHITE]
    xyz, places, made = chart_xyz(), np.arange(24), []
    white = signal_of(usual_profile(), xyz[CHART_WHITE])
    for left in places:
        own = fit_development(
            signal[places != left],
            xyz[places != left],
            noise=np.full(23, 0.5),
            white=white,
            primaries=usual_profile().matrix,
            prior=usual_development(gain=0.1, tint=0.02),
        )
        made.append(
            developed(own, signal[[left]], white=white, primaries=usual_profile().matrix)[0]
        )
    assert ciede2000(lab_from_xyz(np.array(made)), lab_from_xyz(xyz)).mean() <= 2.6


def test_a_camera_that_is_a_matrix_is_fitted_exactly() -> None:
    """Where signals are a linear mixture of XYZ, nothing is left over."""
    mixing = np.array([[0.02, 0.003, 0.0], [-0.006, 0.02, -0.002], [-0.003, -0.001, 0.011]])
    signal = chart_xyz() @ mixing
    assert np.allclose(least_squares(signal, chart_xyz()), np.linalg.inv(mixing))


def test_each_known_color_makes_less_be_off_and_grays_tell_as_much_as_three() -> None:
    """What is stated falls with the number of known colors, never to nothing."""
    assert np.all(np.diff([usual_error(count) for count in range(30)]) < 0)
    assert usual_error(1000) > 4.2

    def mean(colors: int, grays: int) -> float:
        errors = np.full(colors, 3.0)
        told = accuracy_of(errors, conversion=ColorConversion.KNOWN, names="cells", grays=grays)
        return told.mean

    assert mean(0, 0) > mean(0, 1) > mean(0, 2) == mean(0, 6)
    assert mean(0, 6) > mean(3, 0) > mean(3, 6) > mean(12, 6)
