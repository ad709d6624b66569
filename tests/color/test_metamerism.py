import csv
from collections.abc import Callable
from pathlib import Path
from types import ModuleType

import numpy as np
import pytest

from laydown.color.arrays import FloatArray
from laydown.color.lab import ciede2000, lab_from_xyz, xyz_from_reflectance
from laydown.color.light import (
    DAY,
    corrected_for_mismatch,
    find_light,
    metamerism_index,
    named_lights,
)

PUBLISHED = Path(__file__).parents[1] / "published" / "metamerism_pair.csv"
DAYLIGHT, LAMP = find_light(DAY).weights, find_light("A").weights


def distance(lab_1: FloatArray, lab_2: FloatArray) -> FloatArray:
    """Return ΔE*ab, the difference of 1976."""
    return np.asarray(np.linalg.norm(lab_1 - lab_2, axis=-1))


def index_of(wanted: FloatArray, match: FloatArray, test: FloatArray = LAMP) -> FloatArray:
    """Return the index of two spectra from daylight to another light."""
    return metamerism_index(
        wanted_reference=xyz_from_reflectance(wanted),
        xyz_reference=xyz_from_reflectance(match),
        wanted_test=xyz_from_reflectance(wanted, weights=test),
        xyz_test=xyz_from_reflectance(match, weights=test),
        white_test=test.sum(axis=0),
    )


def metamer_of(reflectance: FloatArray, wave: FloatArray) -> FloatArray:
    """Add what of a wave daylight doesn't see, so that both match by day exactly."""
    basis, _ = np.linalg.qr(DAYLIGHT)
    hidden = wave - basis @ (basis.T @ wave)
    return np.asarray(reflectance + hidden)


def pair_by_day() -> tuple[FloatArray, FloatArray]:
    """Return two grays, one even and one wavy, that are one color by day."""
    even = np.full(36, 0.4)
    return even, metamer_of(even, 0.2 * np.cos(np.arange(36) / 3.5))


def test_the_published_pair(colour: ModuleType) -> None:
    """The pair carried for ISO 18314-4 has its index, 3.7906989 in ΔE*ab, to the last digit."""
    with PUBLISHED.open(encoding="utf-8") as file:
        seen = {r["seen"]: np.array([float(r[c]) for c in "XYZ"]) for r in csv.DictReader(file)}
    x, y = colour.CCS_ILLUMINANTS["CIE 1964 10 Degree Standard Observer"]["A"]
    found = metamerism_index(
        wanted_reference=seen["wanted by day"],
        xyz_reference=seen["obtained by day"],
        wanted_test=seen["wanted by lamp"],
        xyz_test=seen["obtained by lamp"],
        white_test=100.0 * np.array([x / y, 1.0, (1 - x - y) / y]),
        difference=distance,
    )
    assert float(found) == pytest.approx(3.7906989, abs=1e-6)


def test_one_spectrum_never_comes_apart() -> None:
    """Two patches of one spectrum have index 0 under every light."""
    dune = np.linspace(0.2, 0.7, 36)
    assert [float(index_of(dune, dune, one.weights)) for one in named_lights()] == [0.0] * 10


def test_an_even_darkening_is_no_metamerism() -> None:
    """A match that is a tenth too dark in every band is off by day, but no light adds to that."""
    dune = np.linspace(0.2, 0.7, 36)
    assert float(index_of(dune, 0.9 * dune)) == pytest.approx(0.0, abs=1e-9)


def test_a_metamer_comes_apart_as_the_outside_oracle_says(
    seen_by_oracle: Callable[[FloatArray, str], FloatArray],
) -> None:
    """A pair built to match by day differs by lamp as colour-science sees its spectra there."""
    wanted, match = pair_by_day()
    np.testing.assert_allclose(xyz_from_reflectance(wanted), xyz_from_reflectance(match), atol=1e-9)
    white = seen_by_oracle(np.ones(36), "A")
    seen = [lab_from_xyz(seen_by_oracle(one, "A"), white=white) for one in (wanted, match)]
    expected = float(ciede2000(seen[0], seen[1]))
    assert expected > 1.5
    assert float(index_of(wanted, match)) == pytest.approx(expected, abs=0.005)


def test_a_metamer_that_is_too_dark_comes_apart_by_as_much() -> None:
    """What is off in every band alike is taken out whole, whatever the pair does besides."""
    wanted, match = pair_by_day()
    index = float(index_of(wanted, match))
    assert float(index_of(wanted, 0.9 * match)) == pytest.approx(index, abs=1e-9)


def test_the_correction_brings_the_pair_together_by_day() -> None:
    """Corrected under the reference light itself, the obtained color is the wanted one."""
    wanted, obtained = np.array([20.0, 30.0, 10.0]), np.array([21.0, 29.0, 12.0])
    back = corrected_for_mismatch(obtained, wanted_reference=wanted, xyz_reference=obtained)
    np.testing.assert_allclose(back, wanted, rtol=1e-12)
