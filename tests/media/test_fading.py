"""Fading held to measured curves of the package microfading 2.1.1 (GPL-3), read in place.

Measured by G. Patin, Cultural Heritage Agency of the Netherlands, 2024; CHECKS of the project name
the set. Nothing of it is copied: `tools/learn_fading.py` reads it where it is installed.
"""

import importlib.util
import os
import sys
from itertools import pairwise
from pathlib import Path
from types import ModuleType

import numpy as np
import pytest

from laydown.media.light.exposure import Exposure, Span, dose
from laydown.media.light.fading import (
    Fading,
    class_fading,
    fading_constants,
    parse_class,
    power_law,
    shown_in,
)
from laydown.media.light.window_test import EXPONENTS, LOG_SCALES, dose_range, fit_window

REPEAT = 0.03
"""Noise of the differences (CIEDE2000): the scatter about a smooth curve."""
WITHIN = 0.45
LONG = 1.4
"""Doses [Mlx·h] that the longer curves reach."""


@pytest.fixture(scope="module")
def tool() -> ModuleType:
    """Return the script that reads the curves."""
    path = Path(__file__).parents[2] / "tools" / "learn_fading.py"
    spec = importlib.util.spec_from_file_location("learn_fading", path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules["learn_fading"] = module  # its dataclass looks itself up there
    spec.loader.exec_module(module)
    return module


@pytest.fixture(scope="module")
def curves(tool: ModuleType) -> tuple:
    """Return all measured curves; they are missed loudly in CI."""
    folder = tool.data_folder()
    if folder is None:
        reason = "the package microfading is not here: run python tools/prepare_tests.py"
        if os.environ.get("CI"):
            pytest.fail(reason)
        pytest.skip(reason)
    return tool.curves(folder)


def wool(curves: tuple, number: int):
    """Return the mean curve of a blue wool."""
    return next(c for c in curves if f"_avg_BW{number}_" in c.name)


def first_quarter(curve) -> np.ndarray:
    """Return which readings lie in the first quarter of the dose."""
    return (curve.dose > 0) & (curve.dose <= curve.dose[-1] / 4)


def fitted(curve, noise: float = REPEAT):
    """Fit the first quarter of a curve."""
    early = first_quarter(curve)
    return fit_window(curve.dose[early], curve.difference[early], np.full(early.sum(), noise))


def test_there_are_curves_of_wools_and_dyed_papers(curves: tuple) -> None:
    """The set holds fifteen curves, nine of them of blue wools 1 to 3."""
    assert len(curves) == 15
    assert sum("BWS" in c.name for c in curves) == 9


def test_the_wools_fade_in_their_order(curves: tuple) -> None:
    """At each dose from 0.1 Mlx·h on, wool 1 has moved more than wool 2, and 2 more than 3."""
    doses = np.linspace(0.1, LONG, 14)
    moved = [np.interp(doses, wool(curves, n).dose, wool(curves, n).difference) for n in (1, 2, 3)]
    assert (np.diff(moved, axis=0) < 0).all()


def test_classes_fade_in_the_order_of_their_wools() -> None:
    """Every class's range lies later than that of the one before, at both ends."""
    ranges = [class_fading(parse_class(str(n))).noticeable for n in range(1, 9)]
    assert all(a.low < b.low and a.high < b.high for a, b in pairwise(ranges))


def test_a_power_law_from_the_first_quarter_holds_to_the_end(curves: tuple) -> None:
    """Fitted on the first quarter of each curve it is within 45 % at the end, in all fifteen."""
    off = {}
    for curve in curves:
        laws = fitted(curve)
        row, column = np.unravel_index(int(laws[0].argmax()), laws[0].shape)
        exponent, scale = float(EXPONENTS[row]), float(np.exp(LOG_SCALES[column]))
        foretold = scale * (curve.dose[-1] / laws[1]) ** exponent
        off[curve.name] = float(foretold) / curve.difference[-1]
    assert {name: ratio for name, ratio in off.items() if abs(ratio - 1.0) > WITHIN} == {}


def test_a_straight_line_overstates(curves: tuple) -> None:
    """A line through the end of the first quarter foretells 1.6 to 2.5 times what comes."""
    long = [c for c in curves if LONG <= c.dose[-1] < 1.5]
    assert len(long) == 9
    for curve in long:
        quarter = curve.dose[-1] / 4
        line = 4.0 * np.interp(quarter, curve.dose, curve.difference)
        assert 1.6 < line / curve.difference[-1] < 2.5, curve.name


@pytest.mark.parametrize("noise", [REPEAT, 0.1])
def test_the_ranges_hold_what_came(curves: tuple, noise: float) -> None:
    """The range of doses to each curve's last difference holds its last dose in 80 of 100."""
    held = 0
    for curve in curves:
        found = dose_range(fitted(curve, noise), curve.difference[-1])
        held += found.low <= curve.dose[-1] <= found.high
    assert held >= 0.8 * len(curves)


def test_one_reading_gives_a_range_that_holds(curves: tuple) -> None:
    """A single reading, at a quarter of the dose, already holds what came in 80 of 100."""
    held = 0
    for curve in curves:
        last = np.flatnonzero(first_quarter(curve))[-1:]
        fit = fit_window(curve.dose[last], curve.difference[last], np.array([0.1]))
        found = dose_range(fit, curve.difference[-1])
        held += found.low <= curve.dose[-1] <= found.high
    assert held >= 0.8 * len(curves)


@pytest.mark.parametrize("number", [1, 2])
def test_measured_wools_lie_in_the_range_of_their_class(curves: tuple, number: int) -> None:
    """Wools 1 and 2 change just noticeably at a dose that their class's range holds."""
    curve = wool(curves, number)
    reached = float(np.interp(fading_constants()["noticeable"], curve.difference, curve.dose))
    span = class_fading(parse_class(str(number))).noticeable
    assert span.low < reached < span.high


def test_exponents_in_the_table_hold_those_measured(curves: tuple, tool: ModuleType) -> None:
    """The range of exponents that classes are given holds each curve that fades noticeably."""
    told = fading_constants()
    found = [tool.exponent(c) for c in curves if c.difference[-1] >= tool.ENOUGH]
    assert told["exponent lowest"] < min(found)
    assert max(found) < told["exponent highest"]
    assert np.mean(found) == pytest.approx(told["exponent mean"], abs=0.005)


def test_the_power_law_passes_its_anchor_and_has_an_inverse() -> None:
    """A law through 0.8 at 2 Mlx·h gives 0.8 there, and solved for the dose it leads back."""
    law = {"reached": 0.8, "at": 2.0, "exponent": 0.6}
    assert power_law(np.array(2.0), **law) == pytest.approx(0.8)
    reached = power_law(np.array(7.0), **law) / law["reached"]
    assert law["at"] * reached ** (1.0 / law["exponent"]) == pytest.approx(7.0)


def test_open_ends_of_a_law_are_at_once_and_never() -> None:
    """What fades at dose 0 is gone at any dose above; what never fades stays at 0."""
    doses = np.array([0.0, 1e-9, 1e9])
    assert power_law(doses, reached=0.8, at=0.0, exponent=0.5).tolist() == [0.0, np.inf, np.inf]
    assert power_law(doses, reached=0.8, at=np.inf, exponent=0.5).tolist() == [0.0, 0.0, 0.0]


def test_ultraviolet_never_makes_a_color_last() -> None:
    """With ultraviolet no range begins or ends later than without, in any class."""
    for grade in ("1", "2", "3", "4", "5", "6", "7", "8", "I", "II", "III"):
        without = class_fading(parse_class(grade))
        added = shown_in(without, filtered=False)
        assert added.noticeable.low < without.noticeable.low
        assert added.noticeable.high <= without.noticeable.high


def test_lasting_classes_bear_more_than_wool_3_with_ultraviolet() -> None:
    """How much of their fading is ultraviolet's isn't known, but the wools keep their order."""
    third = shown_in(class_fading(parse_class("3")), filtered=False).noticeable
    for grade in ("4", "6", "8", "I", "II", "III"):
        found = shown_in(class_fading(parse_class(grade)), filtered=False).noticeable
        assert found.low == third.low
        assert found.high > third.high


def test_what_ultraviolet_does_to_lasting_tested_colors_is_left_open() -> None:
    """A test without it has no beginning with it; a test with it has no end without."""
    tested = Fading(Span(5.0, 20.0), Span(0.5, 0.6), filtered=True, words="window test")
    assert shown_in(tested, filtered=False).noticeable == Span(0.0, 20.0)
    tested = Fading(Span(5.0, 20.0), Span(0.5, 0.6), filtered=False, words="window test")
    assert shown_in(tested, filtered=True).noticeable == Span(5.0, np.inf)


def test_a_tested_sensitive_color_lasts_at_most_twice_as_long_without_ultraviolet() -> None:
    """Less than half of its fading was ultraviolet's."""
    tested = Fading(Span(0.5, 2.0), Span(0.5, 0.6), filtered=False, words="window test")
    assert shown_in(tested, filtered=True).noticeable == Span(0.5, 4.0)


def test_dose_is_light_times_time() -> None:
    """150 lux for 8 hours on each day of a year are 0.438 million lux-hours."""
    assert dose(150.0, hours=8 * 365) == pytest.approx(0.438)
    assert Exposure(Span(150.0, 150.0)).yearly.low == pytest.approx(0.438)
