import numpy as np
import pytest

from laydown.errors import LightfastnessError
from laydown.media.light.exposure import Span
from laydown.media.light.window_test import (
    WindowReading,
    dose_range,
    fit_window,
    shows_change,
    window_fading,
)

BEFORE = np.array([60.0, 0.0, 0.0])


def reading(moved: float, dose: float, *, noise: float = 0.2, width: float = 1.0) -> WindowReading:
    """Return a reading of a gray that became lighter, its dose known within a factor."""
    after = BEFORE + np.array([moved, 0.0, 0.0])
    return WindowReading(Span(dose / width, dose * width), BEFORE, after, noise, filtered=False)


def test_more_readings_narrow_the_range() -> None:
    """Four readings on a power law tell the noticeable dose more exactly than the last alone."""
    doses = np.array([0.2, 0.5, 1.0, 2.0])
    noise = np.full(4, 0.2)
    all_four = dose_range(fit_window(doses, 3.0 * doses**0.6, noise), 0.8)
    alone = dose_range(fit_window(doses[-1:], 3.0 * doses[-1:] ** 0.6, noise[-1:]), 0.8)
    assert all_four.high / all_four.low < 0.8 * alone.high / alone.low
    truth = (0.8 / 3.0) ** (1 / 0.6)
    assert all_four.low < truth < all_four.high


def test_no_change_seen_has_no_end() -> None:
    """A swatch that hasn't moved tells how long it lasts at least, and no more."""
    found = window_fading([reading(0.05, 5.0)])
    assert found.noticeable.low > 2.0
    assert found.noticeable.high == np.inf


def test_light_that_is_only_estimated_widens_the_range() -> None:
    """A dose known to a factor of three makes a wider range than one that is measured."""
    exact = window_fading([reading(4.0, 1.0)]).noticeable
    guessed = window_fading([reading(4.0, 1.0, width=3.0)]).noticeable
    assert guessed.low < 0.8 * exact.low
    assert guessed.high > 1.25 * exact.high


def test_ranges_hold_simulated_truths() -> None:
    """Of simulated tests of two noisy readings, 80 to 98 in 100 ranges hold the truth."""
    rng = np.random.default_rng(83)
    held = 0
    for _ in range(200):
        exponent, at_one = rng.normal(0.57, 0.12), np.exp(rng.normal(1.0, 0.5))
        doses = np.array([0.3, 1.0])
        noise = np.full(2, 0.3)
        seen = np.abs(at_one * doses**exponent + rng.normal(0.0, 0.3, 2))
        found = dose_range(fit_window(doses, seen, noise), 0.8)
        held += found.low <= (0.8 / at_one) ** (1 / exponent) <= found.high
    assert 160 <= held <= 196


def test_readings_with_and_without_ultraviolet_are_not_mixed() -> None:
    """They follow different laws, so one kind must be left out."""
    one = reading(2.0, 1.0)
    other = WindowReading(Span(1.0, 1.0), BEFORE, BEFORE, 0.2, filtered=True)
    with pytest.raises(LightfastnessError, match="some without"):
        window_fading([one, other])


def test_a_change_within_the_noise_is_none() -> None:
    """A reading counts as a change when it is noticeable and twice its noise."""
    assert shows_change([reading(2.0, 1.0)])
    assert not shows_change([reading(2.0, 1.0, noise=1.5)])
    assert not shows_change([reading(0.3, 1.0, noise=0.1)])
