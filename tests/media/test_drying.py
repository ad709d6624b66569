import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from laydown.color.difference import ciede2000
from laydown.color.lab import lab_from_reflectance
from laydown.media.drying import DRY, dried, dry_look, fit_drying, usual_drying, wet_look
from laydown.media.laydown import Medium
from laydown.media.surface import diffuse_internal, saunderson

LOOKS = 0.1 + 0.8 * np.random.default_rng(2).uniform(size=(6, 1)) * np.linspace(0.6, 1, 36)


@given(dry=st.floats(0.0, 0.99), wet=st.floats(0.0, 1.0))
def test_wet_looks_darker_and_comes_back(dry: float, wet: float) -> None:
    """Wet is never lighter than dry, and what was dry is found again from the wet look."""
    seen = wet_look(np.asarray(dry), wet=wet)
    assert seen <= dry + 1e-12
    assert dry_look(seen, wet=wet) == pytest.approx(dry, abs=1e-7)


def test_all_wet_is_a_surface_of_water() -> None:
    """Wholly wet is Saunderson's surface of index 1.33 with the mirror left out."""
    terms = {"external": (0.33 / 2.33) ** 2, "internal": diffuse_internal(1.33)}
    wanted = saunderson(0.4, **terms, specular=False)
    assert wet_look(np.asarray(0.4), wet=1.0) == pytest.approx(wanted)


@pytest.mark.parametrize("what", ["marker", "wash", "solvent"])
def test_washes_dry_paler_by_default(what: str) -> None:
    """Before any swatch tells, what was read wet is taken to dry lighter, visibly for a wash."""
    look = dried(LOOKS[0], usual_drying(what), hours=0.0)
    lighter = look.lab[0] - lab_from_reflectance(LOOKS[0])[0]
    assert lighter > (3.0 if what == "wash" else 0.5)
    assert np.sqrt(np.trace(look.covariance)) > 1.0
    assert "paler" in look.warning


def test_dry_readings_are_left_alone() -> None:
    """After four drying times hardly anything is changed, little is unsure and nothing is said."""
    usual = usual_drying(Medium.WASH)
    look = dried(LOOKS[1], usual, hours=3 * DRY * usual.hours)
    assert ciede2000(look.lab, lab_from_reflectance(LOOKS[1])) < 0.05
    assert np.sqrt(np.trace(look.covariance)) < 0.2
    assert look.warning == ""


def test_the_amount_is_fitted_from_pairs() -> None:
    """A few patches read wet and dry give wetness and time; further ones come out within 1."""
    rng = np.random.default_rng(5)

    def reading(dry: np.ndarray, hours: float) -> np.ndarray:
        return wet_look(dry, wet=0.78 * np.exp(-hours / 0.7)) * np.exp(0.01 * rng.normal())

    pairs = [(reading(dry, h), dry, h) for dry, h in zip(LOOKS[:4], (0, 0.2, 0.5, 1), strict=True)]
    fitted = fit_drying(pairs, usual_drying("wash"))
    assert fitted.wetness == pytest.approx(0.78, abs=0.08)
    assert fitted.hours == pytest.approx(0.7, rel=0.35)
    misses = []
    for dry in LOOKS[4:]:
        look = dried(reading(dry, 0.1), fitted, hours=0.1)
        misses.append(ciede2000(look.lab, lab_from_reflectance(dry)))
        before = dried(reading(dry, 0.1), usual_drying("wash"), hours=0.1)
        assert np.trace(look.covariance) < np.trace(before.covariance)
    assert np.mean(misses) < 1.0
    assert fit_drying([], usual_drying("wash")) is usual_drying("wash")
