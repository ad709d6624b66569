"""The outside oracle of the color tests."""

import warnings
from types import ModuleType

import numpy as np
import pytest

from laydown.color.arrays import FloatArray
from laydown.color.spectra import resample


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
