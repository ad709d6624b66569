import warnings

import numpy as np
import pytest

from laydown.color.arrays import FloatArray
from laydown.color.lab import lab_from_reflectance, xyz_from_reflectance
from laydown.color.light import named_lights
from laydown.color.reconstruction import reflectance_from_xyz
from laydown.color.spectra import resample
from laydown.media.inference.leeway import Leeway, See, leeway_of_color

CHI_SQUARE_80 = 4.6416
"""80 % point of chi-square with 3 degrees of freedom (computed: scipy.stats.chi2.ppf(.8, 3))."""
READING = 0.05**2 * np.eye(3)
"""What two readings of one patch differ by at the least."""


@pytest.fixture(scope="module")
def patches() -> FloatArray:
    """Return the measured spectra of 238 surfaces, shape (238, 36)."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # colour-science remarks on import that it can't plot here
        import colour  # noqa: PLC0415 slow and noisy, so only where it is needed
    many = colour.characterisation.read_training_data_rawtoaces_v1()
    rows = [(many.wavelengths, values) for values in many.values.T]
    for name in ("BabelColor Average", "ISO 17321-1"):
        rows += [(sd.wavelengths, sd.values) for sd in colour.SDS_COLOURCHECKERS[name].values()]
    clipped = [(nm, np.clip(values, 0.0, 1.0).astype(np.float64)) for nm, values in rows]
    return np.array([resample(nm, values)[0] for nm, values in clipped])


def seen_under(weights: FloatArray) -> See:
    """Return what turns spectra into Lab under a light."""
    return lambda spectra: lab_from_reflectance(spectra, weights=weights)


def test_guessed_spectra_hold_what_they_say_under_other_lights(patches: FloatArray) -> None:
    """Of real surfaces known by XYZ alone, 70 to 90 in 100 lie in the regions meant for 80.

    Counted over 238 patches and the six usual lights; under the tubes alone it is fewer.
    """
    guessed = reflectance_from_xyz(xyz_from_reflectance(patches))
    leeways = [leeway_of_color(one, READING, guessed=True) for one in guessed]
    held = []
    for light in (one for one in named_lights() if one.usual):
        see = seen_under(light.weights)
        off = see(patches) - see(guessed)
        held += [
            float(o @ np.linalg.solve(leeway.covariance(see), o)) <= CHI_SQUARE_80
            for o, leeway in zip(off, leeways, strict=True)
        ]
    assert 0.7 <= float(np.mean(held)) <= 0.9


def test_a_measured_spectrum_is_as_sure_under_any_light() -> None:
    """Only what was said of it is left open, whatever the light."""
    leeway = leeway_of_color(np.linspace(0.1, 0.8, 36), 0.25 * np.eye(3), guessed=False)
    for light in named_lights():
        covariance = leeway.covariance(seen_under(light.weights))
        np.testing.assert_array_equal(covariance, 0.25 * np.eye(3))


def test_a_guess_is_less_sure_the_further_the_light_is_from_day() -> None:
    """North sky tells little that noon didn't; a lamp and tubes leave more open."""
    leeway = leeway_of_color(np.linspace(0.1, 0.8, 36), np.zeros((3, 3)), guessed=True)
    open_by = {
        light.cie: float(np.trace(leeway.covariance(seen_under(light.weights))))
        for light in named_lights()
    }
    assert open_by["D50"] < 1e-9
    assert open_by["D65"] < open_by["A"] < open_by["FL11"]


def test_what_moves_a_color_evenly_to_both_sides_is_its_variance() -> None:
    """Tried by ± d in lightness, the covariance is d² there, and nothing elsewhere."""
    tried = np.zeros((3, 36))
    tried[1], tried[2] = 2.0, -2.0
    leeway = Leeway((tried,), np.diag([0.0, 1.0, 0.0]))

    def level(spectra: FloatArray) -> FloatArray:
        return np.stack([spectra.mean(axis=1), 0 * spectra[:, 0], 0 * spectra[:, 0]], axis=-1)

    np.testing.assert_allclose(leeway.moved(level), np.diag([4.0, 0.0, 0.0]))
    np.testing.assert_allclose(leeway.covariance(level), np.diag([4.0, 1.0, 0.0]))
