"""The outside oracle of the color tests."""

import warnings
from collections.abc import Callable
from types import ModuleType

import numpy as np
import pytest

from laydown.color.arrays import FloatArray
from laydown.color.spectra import WAVELENGTHS, resample


@pytest.fixture(scope="session")
def colour() -> ModuleType:
    """Import colour-science, which remarks on import that it can't plot here."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import colour  # noqa: PLC0415 slow and noisy, so only where it is needed
    return colour


@pytest.fixture(scope="session")
def patches(colour: ModuleType) -> dict[str, FloatArray]:
    """Return the measured spectra of two 24-patch charts and of 190 surfaces, 36 bands each."""
    sets = {
        name: [(sd.wavelengths, sd.values) for sd in colour.SDS_COLOURCHECKERS[name].values()]
        for name in ("BabelColor Average", "ISO 17321-1")
    }
    many = colour.characterisation.read_training_data_rawtoaces_v1()
    sets["190 surfaces"] = [(many.wavelengths, values) for values in many.values.T]
    return {
        name: np.array([resample(nm, np.maximum(values, 0.0))[0] for nm, values in rows])
        for name, rows in sets.items()
    }


@pytest.fixture(scope="session")
def seen_by_oracle(colour: ModuleType) -> Callable[[FloatArray, str], FloatArray]:
    """Give what colour-science sees of a spectrum under a light: XYZ by ASTM E308, 2° observer."""
    observer = colour.MSDS_CMFS["CIE 1931 2 Degree Standard Observer"]

    def seen(reflectance: FloatArray, light: str) -> FloatArray:
        pairs = zip(WAVELENGTHS.tolist(), reflectance.tolist(), strict=True)
        measured, source = colour.SpectralDistribution(dict(pairs)), colour.SDS_ILLUMINANTS[light]
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # it says that it brings all onto one grid
            xyz = colour.sd_to_XYZ(measured, observer, source, method="ASTM E308")
        return np.asarray(xyz, dtype=np.float64)

    return seen
