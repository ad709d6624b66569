import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from laydown.color.lab import ciede2000, lab_from_reflectance
from laydown.media.film.drying import (
    as_dry,
    diffuse_internal,
    dried,
    dry_look,
    fit_drying,
    saunderson,
    usual_drying,
    wet_look,
)
from laydown.media.recipe import Colorant, Medium, Recipe, Step, Tool, Treatment, TreatmentStep
from laydown.media.swatch import Swatch

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
    dry, covariance = dried(LOOKS[0], usual_drying(what), hours=0.0)
    lighter = (lab_from_reflectance(dry) - lab_from_reflectance(LOOKS[0]))[0]
    assert lighter > (3.0 if what == "wash" else 0.5)
    assert np.sqrt(np.trace(covariance)) > 1.0


def test_dry_readings_are_left_alone() -> None:
    """After a dozen drying times hardly anything is changed, and little is unsure."""
    usual = usual_drying(Medium.WASH)
    dry, covariance = dried(LOOKS[1], usual, hours=12.0 * usual.hours)
    assert ciede2000(*lab_from_reflectance(np.array([dry, LOOKS[1]]))) < 0.05
    assert np.sqrt(np.trace(covariance)) < 0.2


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
        look, covariance = dried(reading(dry, 0.1), fitted, hours=0.1)
        misses.append(ciede2000(*lab_from_reflectance(np.array([look, dry]))))
        _, before = dried(reading(dry, 0.1), usual_drying("wash"), hours=0.1)
        assert np.trace(covariance) < np.trace(before)
    assert np.mean(misses) < 1.0
    assert fit_drying([], usual_drying("wash")) is usual_drying("wash")


LOAM = Recipe((Step(Colorant("Loam", "Pond", Medium.WASH)),))
REED = Recipe((Step(Colorant("Reed", "Pond", Medium.WASH)),))


def wet(recipe: Recipe, dry: np.ndarray, hours: float) -> Swatch:
    """Return a swatch read so many hours after it was laid."""
    seen = wet_look(dry, wet=0.8 * np.exp(-hours / 0.4))
    return Swatch("Gannet smooth", recipe, seen, hours=hours)


def test_wet_readings_are_used_as_what_they_dry_to() -> None:
    """A wet reading becomes paler and less sure; one that was read dry as well gives way to it."""
    both = Swatch("Gannet smooth", LOAM, LOOKS[0])
    alone = wet(REED, LOOKS[1], 0.1)
    by_guess = as_dry([alone])
    taught = as_dry([both, wet(LOAM, LOOKS[0], 0.1), alone])
    assert as_dry([both]) == (both,)
    assert taught[0] is both
    assert [s.recipe for s in taught] == [LOAM, REED]
    for made in (by_guess[0], taught[1]):
        assert made.reflectance.mean() > alone.reflectance.mean()
        assert made.spread > 0.5
    off = [
        float(ciede2000(*lab_from_reflectance(np.array([s.reflectance, LOOKS[1]]))))
        for s in (by_guess[0], taught[1])
    ]
    assert off[1] < off[0]
    assert taught[1].spread < by_guess[0].spread


def test_what_drying_leaves_open_is_what_the_fits_make_of_the_spread() -> None:
    """They halve a spread, as of the mean of four readings; so it is twice what is left open."""
    alone = wet(REED, LOOKS[1], 0.1)
    (made,) = as_dry([alone])
    _, covariance = dried(alone.reflectance, usual_drying("wash"), hours=0.1)
    assert made.spread / 2.0 == pytest.approx(np.sqrt(np.trace(covariance) / 3.0))


def test_solvent_makes_pencil_wet() -> None:
    """Pencil is laid dry, but a pencil gone over with solvent has to dry, too."""
    fern = Step(Colorant("Fern", "Meadow", Medium.PENCIL))
    blended = Recipe((fern, TreatmentStep(Treatment.SOLVENT, Tool.BRUSH)))
    (made,) = as_dry([wet(blended, LOOKS[2], 0.0)])
    assert made.reflectance.mean() > wet(blended, LOOKS[2], 0.0).reflectance.mean()
    (plain,) = as_dry([wet(Recipe((fern,)), LOOKS[2], 0.0)])
    assert plain.reflectance == pytest.approx(wet(Recipe((fern,)), LOOKS[2], 0.0).reflectance)
