from types import ModuleType

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.color.lab import WHITE_D50, adapt, ciede2000, lab_from_reflectance, lab_from_xyz
from laydown.color.light import light, weights

D65 = np.array([95.047, 100.0, 108.883])


def test_white_becomes_white_and_gray_gray() -> None:
    """The first light's grays become the second light's grays of the same Y."""
    grays = np.array([0.0, 0.2, 1.0])[:, None]
    found = adapt(grays * D65, white_from=D65, white_to=WHITE_D50)
    np.testing.assert_allclose(found, grays * WHITE_D50, atol=1e-12)


def test_there_and_back() -> None:
    """Adapted to another light and back, a color is what it was."""
    xyz = np.random.default_rng(5).uniform(0.0, 100.0, (50, 3))
    there = adapt(xyz, white_from=D65, white_to=WHITE_D50)
    np.testing.assert_allclose(adapt(there, white_from=WHITE_D50, white_to=D65), xyz, atol=1e-10)


def test_against_an_outside_implementation(colour: ModuleType) -> None:
    """The matrices are those of colour-science's Bradford adaptation."""
    xyz = np.random.default_rng(6).uniform(0.0, 100.0, (50, 3))
    theirs = colour.adaptation.chromatic_adaptation_VonKries(
        xyz, D65, WHITE_D50, transform="Bradford"
    )
    np.testing.assert_allclose(adapt(xyz, white_from=D65, white_to=WHITE_D50), theirs, atol=1e-9)


def test_against_measured_surfaces(patches: dict[str, FloatArray]) -> None:
    """From daylight C to D50 it guesses 190 measured surfaces within 0.8 on average, 2 at most."""
    reflectance = patches["190 surfaces"]
    under_c = weights(light("C"))
    guessed = adapt(reflectance @ under_c, white_from=under_c.sum(axis=0), white_to=WHITE_D50)
    difference = ciede2000(lab_from_xyz(guessed), lab_from_reflectance(reflectance))
    assert difference.mean() < 0.8
    assert difference.max() < 2.0
