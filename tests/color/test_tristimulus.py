import xml.etree.ElementTree as ET
from importlib.resources import files
from types import ModuleType

import numpy as np
import pytest

from laydown.color.arrays import FloatArray
from laydown.color.lab import (
    WEIGHTS_D50,
    WHITE_D50,
    ciede2000,
    lab_from_reflectance,
    lab_from_xyz,
    xyz_from_reflectance,
)
from laydown.color.light import light, weights
from laydown.color.spectra import resample
from laydown.errors import UnknownNameError

CXF = "{http://colorexchangeformat.com/CxF3-core}"


def test_white_has_luminance_100() -> None:
    """The perfect white is Y 100 and the white of D50 as the ICC rounds it, within 0.03."""
    assert WHITE_D50[1] == pytest.approx(100.0, abs=1e-9)
    np.testing.assert_allclose(WHITE_D50, [96.42, 100.0, 82.49], atol=0.03)


def test_spectra_and_lab_of_a_measurement_file_agree() -> None:
    """On 144 spectra stored with their Lab, ours differ by 0.06 on average and 0.2 at most."""
    spectra, stored = [], []
    sample = files("colour_cxf") / "tests" / "resources" / "sample.cxf"
    for entry in ET.fromstring(sample.read_bytes()).iter(f"{CXF}Object"):
        spectrum, lab = (
            entry.find(f".//{CXF}ReflectanceSpectrum"),
            entry.find(f".//{CXF}ColorCIELab"),
        )
        if spectrum is not None and lab is not None:
            spectra.append(np.array((spectrum.text or "").split(), dtype=np.float64))
            stored.append([float(lab.findtext(f"{CXF}{axis}") or "nan") for axis in "LAB"])
    reflectance, extended = resample(380.0 + 10.0 * np.arange(31), np.array(spectra))
    difference = ciede2000(lab_from_reflectance(reflectance), np.array(stored))
    assert (len(spectra), extended) == (144, True)
    assert difference.mean() <= 0.06
    assert difference.max() <= 0.2


def test_against_full_integration(colour: ModuleType, patches: dict[str, FloatArray]) -> None:
    """On measured patches the 36 weights do what a sum over each nanometer does, within 0.02."""
    observer = colour.MSDS_CMFS["CIE 1931 2 Degree Standard Observer"]
    shape = colour.SpectralShape(380, 780, 1)
    d50 = colour.SDS_ILLUMINANTS["D50"].copy().interpolate(colour.SpectralShape(300, 780, 1))
    seen = d50.copy().align(shape).values[:, None] * observer.copy().align(shape).values
    seen *= 100.0 / seen[:, 1].sum()
    for reflectance in patches.values():
        fine = np.array(
            [
                colour.SpragueInterpolator(np.arange(380.0, 731.0, 10.0), row)(
                    np.minimum(np.arange(380.0, 781.0), 730.0)
                )
                for row in reflectance
            ]
        )
        full = lab_from_xyz(fine @ seen, white=seen.sum(axis=0))
        assert ciede2000(lab_from_reflectance(reflectance), full).max() <= 0.02


def test_the_shipped_weights_are_those_of_the_light() -> None:
    """The table of weights is what the function makes of the tables of D50 and the observer."""
    np.testing.assert_allclose(weights(light("D50")), WEIGHTS_D50, rtol=0.0, atol=5e-10)


@pytest.mark.parametrize(
    ("name", "x", "y"),
    [("A", 0.44758, 0.40745), ("C", 0.31006, 0.31616), ("D65", 0.31272, 0.32903),
     ("FL2", 0.3721, 0.3751), ("FL11", 0.3805, 0.3769), ("LED-B3", 0.3756, 0.3723)],
)  # fmt: skip
def test_lights_have_their_published_chromaticity(name: str, x: float, y: float) -> None:
    """White under each light has the chromaticity that the CIE prints (CIE 015:2018).

    The CIE sums lamps at 5 nm; between those we go straight, which moves a lamp made of lines
    (FL11) by .0002.
    """
    white = xyz_from_reflectance(np.ones(36), weights=weights(light(name)))
    np.testing.assert_allclose(white[:2] / white.sum(), [x, y], rtol=0.0, atol=3e-4)


def test_an_unknown_light_gets_a_suggestion() -> None:
    """A near miss is answered with the name that was meant."""
    with pytest.raises(UnknownNameError) as error:
        light("D56")
    assert "D65" in error.value.hint or "D50" in error.value.hint


def test_leading_axes_broadcast() -> None:
    """An image of spectra becomes an image of XYZ."""
    assert xyz_from_reflectance(np.full((2, 5, 36), 0.5)).shape == (2, 5, 3)
