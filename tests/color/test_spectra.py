import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from laydown.color.spectra import WAVELENGTHS, resample
from laydown.errors import BadColorError

FULL = np.arange(380.0, 731.0, 10.0)


def test_there_are_36_bands() -> None:
    """The bands run from 380 to 730 nm by 10 nm."""
    assert (WAVELENGTHS.size, WAVELENGTHS[0], WAVELENGTHS[-1]) == (36, 380.0, 730.0)


def test_spectra_on_the_bands_stay_as_they_are() -> None:
    """What was measured on the 36 bands is passed on to the bit, as a copy."""
    values = np.random.default_rng(1).uniform(size=(4, 36))
    found, extended = resample(FULL, values)
    assert np.array_equal(found, values)
    assert found is not values
    assert not extended


@pytest.mark.parametrize("step", [1.0, 5.0, 10.0])
def test_samples_on_the_bands_are_picked(step: float) -> None:
    """Where finer samples fall on a band, the band has their value."""
    nm = np.arange(360.0, 781.0, step)
    values = 0.5 + 0.4 * np.sin(nm / 20.0)
    found, extended = resample(nm, values)
    np.testing.assert_allclose(found, 0.5 + 0.4 * np.sin(FULL / 20.0), atol=1e-12)
    assert not extended


@given(st.lists(st.floats(0.0, 0.2), min_size=4, max_size=4))
def test_cubics_come_back_exactly(terms: list[float]) -> None:
    """A spectrum that is a cubic in wavelength is rebuilt from samples 20 nm apart."""

    def cubic(nm: np.ndarray) -> np.ndarray:
        return np.polynomial.polynomial.polyval((nm - 360.0) / 400.0, terms)

    nm = np.arange(370.0, 760.0, 20.0)
    found, _ = resample(nm, cubic(nm))
    np.testing.assert_allclose(found, cubic(FULL), atol=1e-12)


def test_only_the_four_samples_around_count() -> None:
    """A single bright sample is felt for two gaps to either side, alike on both."""
    nm = np.arange(370.0, 751.0, 20.0)
    found, _ = resample(nm, np.where(nm == 550.0, 1.0, 0.0) + 0.5)
    assert found[17] == pytest.approx(1.5)
    np.testing.assert_allclose(found[12:17], found[18:23][::-1], atol=1e-12)
    np.testing.assert_allclose(found[:13], 0.5, atol=1e-12)
    assert found[16] == pytest.approx(0.5 + 9.0 / 16.0)


@pytest.mark.parametrize(("first", "last"), [(390.0, 730.0), (380.0, 720.0)])
def test_one_missing_end_is_flagged_too(first: float, last: float) -> None:
    """It is enough that bands are missing at one end."""
    nm = np.arange(first, last + 1.0, 10.0)
    assert resample(nm, np.full(nm.size, 0.5))[1]


def test_missing_ends_are_held_and_flagged() -> None:
    """Bands beyond what was measured get the value of the last band that was."""
    nm = np.arange(400.0, 701.0, 10.0)
    found, extended = resample(nm, np.linspace(0.1, 0.7, nm.size))
    assert extended
    np.testing.assert_allclose(found[[0, 1, 2]], 0.1)
    np.testing.assert_allclose(found[[-3, -2, -1]], 0.7)


def test_no_overshoot_below_black() -> None:
    """The cubic beside a steep edge is not let below zero."""
    nm = np.arange(380.0, 741.0, 20.0)
    found, _ = resample(nm, np.where(nm < 540.0, 0.0, 1.0))
    assert found.min() == 0.0


@pytest.mark.parametrize(
    ("wavelengths", "values", "says"),
    [
        (FULL[::-1], np.ones(36), "rise"),
        (FULL[6:], np.ones(30), "440 to 730 nm, which is too short"),
        (np.delete(FULL, [10, 11]), np.ones(34), "between 470 and 500 nm"),
        (FULL, np.where(FULL == 500.0, -0.01, 0.5), "500 nm is -0.01"),
        (FULL, np.where(FULL == 500.0, np.nan, 0.5), "500 nm is nan"),
        (FULL[:3], np.ones(3), "rise"),
    ],
)
def test_bad_spectra_are_named(wavelengths: np.ndarray, values: np.ndarray, says: str) -> None:
    """What can't be a spectrum is refused with the wavelength or the value at fault."""
    with pytest.raises(BadColorError, match=says):
        resample(wavelengths, values)


def test_a_mismatch_is_the_programmers_mistake() -> None:
    """Values that don't go with the wavelengths are a ValueError."""
    with pytest.raises(ValueError, match="don't fit"):
        resample(FULL, np.ones(35))
