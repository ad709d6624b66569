import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from laydown.media.marker.pile import DARKEST, absorption, inverse

scales = st.floats(0.0, 1.0)
reflectances = st.floats(DARKEST, 1.0)


@given(scales, reflectances)
def test_reflectance_survives_the_way_there_and_back(scale: float, reflectance: float) -> None:
    """Absorption and its inverse cancel to 1e-12 for every scale and reflectance."""
    there = absorption(np.array(reflectance), scale=scale)
    assert inverse(there, scale=scale) == pytest.approx(reflectance, abs=1e-12)


@given(scales, st.floats(0.0, 9.0))
def test_absorption_survives_the_way_there_and_back(scale: float, absorbed: float) -> None:
    """What is absorbed comes back from its reflectance to 1e-12 of it."""
    back = absorption(inverse(np.array(absorbed), scale=scale), scale=scale)
    assert back == pytest.approx(absorbed, rel=1e-12, abs=1e-12)


@given(scales, reflectances, reflectances)
def test_darker_absorbs_more(scale: float, one: float, other: float) -> None:
    """Of two reflectances the lower never absorbs less."""
    low, high = sorted((one, other))
    assert absorption(np.array(low), scale=scale) >= absorption(np.array(high), scale=scale)


def test_ends_are_the_two_laws() -> None:
    """At 0 the scale is minus ln R, at 1 it is (1 − R)²/2R."""
    r = np.linspace(0.01, 1.0, 50)
    assert absorption(r, scale=0.0) == pytest.approx(-np.log(r), abs=1e-12)
    assert absorption(r, scale=1.0) == pytest.approx((1 - r) ** 2 / (2 * r), abs=1e-12)


def test_limits_are_clipped() -> None:
    """What is above white counts as white, what is blacker than black as the darkest."""
    assert absorption(np.array(1.2), scale=0.4) == 0.0
    assert absorption(np.array(0.0), scale=0.0) == pytest.approx(-np.log(DARKEST))
    assert inverse(np.array(-0.5), scale=0.4) == 1.0


def test_many_scales_at_once() -> None:
    """Scales broadcast against reflectance as leading axes do."""
    r = np.linspace(0.1, 0.9, 36)
    scale = np.array([0.0, 0.3, 1.0])[:, None]
    rows = absorption(r, scale=scale)
    assert rows.shape == (3, 36)
    assert inverse(rows, scale=scale) == pytest.approx(np.tile(r, (3, 1)), abs=1e-12)
