import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from laydown.color.lab import ciede2000
from laydown.color.value import value_from_lab
from laydown.plan.notebook import difference_range, value_margin

GRAY = np.array([50.0, 0.0, 0.0])


def test_a_sure_color_strays_nowhere() -> None:
    """Without covariance the range is the difference itself and the margin none."""
    other = np.array([55.0, 3.0, -2.0])
    far = float(ciede2000(GRAY, other))
    assert difference_range(GRAY, other, np.zeros((3, 3))) == pytest.approx((far, far))
    assert value_margin(other, np.zeros((3, 3))) == 0.0


def test_lightness_alone_strays_as_half_a_normal_distribution() -> None:
    """About L* 50 CIEDE2000 is |ΔL*|: a tenth lies below 0.1257 spreads, a tenth over 1.6449."""
    low, high = difference_range(GRAY, GRAY, np.diag([0.25, 0.0, 0.0]))
    assert low == pytest.approx(0.1257 * 0.5, rel=0.05)
    assert high == pytest.approx(1.6449 * 0.5, rel=0.02)


def test_three_even_axes_stray_as_the_length_of_a_normal_vector() -> None:
    """Near gray, where CIEDE2000 takes a* 1.5 times, tenths lie at chi's 0.7644 and 2.5003."""
    low, high = difference_range(GRAY, GRAY, np.diag([1.0, 1.0 / 1.5**2, 1.0]) * 0.01)
    assert low == pytest.approx(0.7644 * 0.1, rel=0.04)
    assert high == pytest.approx(2.5003 * 0.1, rel=0.04)


def test_a_far_color_strays_evenly_about_its_difference() -> None:
    """Ten spreads away the range is the difference ± 1.2816 spreads, along the line between."""
    other = np.array([60.0, 0.0, 0.0])
    half = np.array([0.5, 0.0, 0.0])
    step = float(ciede2000(GRAY, other + half) - ciede2000(GRAY, other - half))
    low, high = difference_range(GRAY, other, np.diag([1.0, 0.0, 0.0]))
    assert high - low == pytest.approx(2 * 1.2816 * step, rel=0.03)


@given(st.floats(0.01, 5.0), st.floats(0.0, 100.0))
def test_more_spread_never_means_a_smaller_margin(spread: float, light: float) -> None:
    """The margin grows with the spread of L* and is never below 0."""
    lab = np.array([light, 5.0, 5.0])
    narrow = value_margin(lab, np.diag([spread**2, 1.0, 1.0]))
    wide = value_margin(lab, np.diag([(2 * spread) ** 2, 1.0, 1.0]))
    assert 0.0 < narrow <= wide


def test_chroma_does_not_move_value() -> None:
    """Only the spread of L* counts for the margin of value."""
    assert value_margin(GRAY, np.diag([0.0, 9.0, 9.0])) == 0.0


def test_the_same_question_has_the_same_answer() -> None:
    """No chance is drawn."""
    ask = (GRAY, GRAY + 2.0, np.eye(3))
    assert difference_range(*ask) == difference_range(*ask)


def test_the_margin_is_the_slope_of_value_times_1_28_spreads() -> None:
    """A tenth of a normal distribution lies beyond 1.2816 spreads on each side."""
    beside = np.array([[49.5, 0.0, 0.0], [50.5, 0.0, 0.0]])
    dark, light = value_from_lab(beside)
    margin = value_margin(GRAY, np.diag([0.25, 0.0, 0.0]))
    assert margin == pytest.approx(1.2816 * 0.5 * (light - dark), rel=1e-3)
