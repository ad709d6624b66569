import re
from collections.abc import Callable
from types import ModuleType

import numpy as np
import pytest

from laydown.color.arrays import FloatArray
from laydown.color.lab import ciede2000, lab_from_reflectance, lab_from_xyz
from laydown.color.light import find_light, light, named_lights
from laydown.errors import AmbiguousNameError, UnknownNameError
from laydown.reference.tables import load_table, numbers_of

TWO_DEGREES = "CIE 1931 2 Degree Standard Observer"
ALL_LIGHTS = [one.cie for one in named_lights()]


@pytest.mark.parametrize("name", ALL_LIGHTS)
def test_every_light_has_its_published_white(colour: ModuleType, name: str) -> None:
    """Summed at 5 nm, as the CIE sums lamps, each table gives the printed x and y to 4 decimals."""
    observer = numbers_of(load_table("observer_1931"), "x", "y", "z")[:421:5]
    white = light(name) @ observer
    printed = colour.CCS_ILLUMINANTS[TWO_DEGREES][name]
    np.testing.assert_allclose(white[:2] / white.sum(), printed, rtol=0.0, atol=5e-5)


@pytest.mark.parametrize(
    ("name", "told"),
    [(one.cie, found[1]) for one in named_lights() if (found := re.search(r"(\d+) K", one.kind))],
)
def test_a_lamps_color_temperature_is_that_of_its_table(
    colour: ModuleType, name: str, told: str
) -> None:
    """What is said of a lamp is what its spectrum gives by Ohno's method, to the next 100 K."""
    observer = numbers_of(load_table("observer_1931"), "x", "y", "z")[:421:5]
    white = light(name) @ observer
    uv = np.array([4.0, 6.0]) * white[:2] / (white @ [1.0, 15.0, 3.0])
    kelvin, _ = colour.uv_to_CCT(uv, method="Ohno 2013")
    assert float(kelvin) == pytest.approx(float(told), abs=50.0)


@pytest.mark.parametrize("name", ALL_LIGHTS)
def test_colors_under_every_light_are_the_oracles(
    seen_by_oracle: Callable[[FloatArray, str], FloatArray],
    patches: dict[str, FloatArray],
    name: str,
) -> None:
    """24 measured patches are seen as colour-science sees them by ASTM E308, within 0.01."""
    reflectance = patches["BabelColor Average"]
    xyz = np.array([seen_by_oracle(row, name) for row in reflectance])
    expected = lab_from_xyz(xyz, white=seen_by_oracle(np.ones(36), name))
    found = lab_from_reflectance(reflectance, weights=find_light(name).weights)
    assert ciede2000(found, expected).max() <= 0.01


def test_white_is_white_under_every_light() -> None:
    """Each light's own white is L* 100 without hue: the eye has grown used to it."""
    for one in named_lights():
        lab = lab_from_reflectance(np.ones(36), weights=one.weights)
        np.testing.assert_allclose(lab, [100.0, 0.0, 0.0], atol=1e-9)


def test_every_light_of_the_table_has_a_plain_name() -> None:
    """People's names and the CIE's stand for the same ten lights."""
    assert sorted(ALL_LIGHTS) == sorted(list(load_table("lights"))[1:])
    assert len({one.short for one in named_lights()}) == len(ALL_LIGHTS)


@pytest.mark.parametrize(
    ("text", "cie"),
    [("evening lamp", "A"), (" LAMP ", "A"), ("a", "A"), ("c", "C"), ("d65", "D65"),
     ("north", "D65"), ("gallery", "LED-V1"), ("Home LED, warm", "LED-B1")],
)  # fmt: skip
def test_a_light_is_found_by_what_people_call_it(text: str, cie: str) -> None:
    """Plain name, the CIE's name, or a part that only one has; capitals don't matter."""
    assert find_light(text).cie == cie


def test_a_part_that_several_lights_share_is_not_enough() -> None:
    """“LED” names four lights, and the message says which."""
    with pytest.raises(AmbiguousNameError, match="gallery LED"):
        find_light("LED")


@pytest.mark.parametrize(("text", "hint"), [("evning lamp", "evening lamp"), ("", "There are")])
def test_an_unknown_name_gets_a_suggestion(text: str, hint: str) -> None:
    """A near miss is answered with the name that was meant, anything else with all of them."""
    with pytest.raises(UnknownNameError) as error:
        find_light(text)
    assert hint in error.value.hint
