from types import ModuleType

import numpy as np
import pytest

from laydown.color.lab import WHITE_D50, adapt, ciede2000, lab_from_xyz, lch_from_lab, xyz_from_lab
from laydown.color.typed import WHITE_C, lab_from_notation
from laydown.color.value import luminance_from_value, value_from_luminance
from laydown.errors import BadColorError


def _lab(x: float, y: float, value: float) -> np.ndarray:
    xyz = np.array([x / y, 1.0, (1.0 - x - y) / y]) * float(luminance_from_value(value))
    return lab_from_xyz(adapt(xyz, white_from=WHITE_C, white_to=WHITE_D50))


MISPRINTED = {("2.5R", 9.0, 2.0), ("10Y", 4.0, 2.0)}
"""Chips whose x differs between the published lists of real and of all chips (.3210 and .3220,
.3436 and .3476). The list of all chips, which ours is, runs smoothly through its neighbors there.
"""


def test_every_real_chip_is_itself(colour: ModuleType) -> None:
    """Each of the 2,734 real chips comes out at its published chromaticity, but for two misprints
    and for 40 that lie beyond what a surface can have.
    """
    chips = colour.MUNSELL_COLOURS["Munsell Colours Real"]
    refused, differing = [], set()
    for (hue, value, chroma), (x, y, _) in chips:
        try:
            found = lab_from_notation(f"{hue} {value:g}/{chroma:g}")
        except BadColorError:
            refused.append(chroma)
            continue
        if ciede2000(found, _lab(x, y, value)) > 1e-9:
            differing.add((hue, value, chroma))
    assert (len(chips), len(refused)) == (2734, 40)
    assert min(refused) >= 16.0
    assert differing == MISPRINTED


def test_between_chips_against_an_outside_implementation(colour: ModuleType) -> None:
    """Between chips of value 2 to 8 it agrees with colour-science's interpolation within 0.25 on
    average and 1.5 at most.
    """
    random = np.random.default_rng(8)
    difference = []
    for family in ("R", "YR", "Y", "GY", "G", "BG", "B", "PB", "P", "RP"):
        for _ in range(6):
            hue, value, chroma = random.uniform((0.1, 2.0, 0.5), (10.0, 8.0, 6.0)).round(1)
            text = f"{hue}{family} {value}/{chroma}"
            x, y, _ = colour.notation.munsell_colour_to_xyY(text)
            difference.append(float(ciede2000(lab_from_notation(text), _lab(x, y, value))))
    assert np.mean(difference) < 0.25
    assert max(difference) < 1.5


@pytest.mark.parametrize("chroma", [0, 2, 6])
@pytest.mark.parametrize("value", [0.5, 3, 5.5, 9.25])
def test_value_is_kept(value: float, chroma: float) -> None:
    """Under light C the luminance of a notation is that of its value."""
    text = f"5G {value}/{chroma if value > 1 else 0}"
    back = adapt(xyz_from_lab(lab_from_notation(text)), white_from=WHITE_D50, white_to=WHITE_C)
    assert value_from_luminance(back[1]) == pytest.approx(value, abs=1e-6)


def test_grays_have_no_hue() -> None:
    """N 5/, N5 and any hue at chroma 0 are the same gray."""
    gray = lab_from_notation("N 5/")
    assert np.hypot(*gray[1:]) < 1e-9
    for text in ("N5", "n 5", "5YR 5/0", " 2.5pb 5/0 "):
        np.testing.assert_allclose(lab_from_notation(text), gray, atol=1e-9)


def test_hue_zero_is_ten_of_the_hue_before() -> None:
    """The circle closes: 0R is 10RP, 0YR is 10R."""
    assert np.array_equal(lab_from_notation("0R 5/4"), lab_from_notation("10RP 5/4"))
    assert np.array_equal(lab_from_notation("0YR 5/4"), lab_from_notation("10R 5/4"))


@pytest.mark.parametrize("hue", ["5R", "10Y", "2.5BG", "7.5P"])
def test_pale_colors_have_the_hue_of_the_palest_chip(hue: str) -> None:
    """Between gray and the palest chip, under light C, the color lies on a straight line."""

    def under_c(chroma: float) -> np.ndarray:
        lab = lab_from_notation(f"{hue} 5/{chroma}")
        xyz = adapt(xyz_from_lab(lab), white_from=WHITE_D50, white_to=WHITE_C)
        return lab_from_xyz(xyz, white=WHITE_C)[1:]

    np.testing.assert_allclose(under_c(0.5), 0.25 * under_c(2.0), atol=1e-9)


def test_hue_runs_round_without_jumps() -> None:
    """Turning the hue in small steps at value 5, chroma 6 turns the CIELAB hue in small steps, all
    the same way, once round.
    """
    families = ("R", "YR", "Y", "GY", "G", "BG", "B", "PB", "P", "RP")
    texts = [f"{h}{f} 5/6" for f in families for h in (2, 4, 6, 8, 10)]
    hues = np.array([lch_from_lab(lab_from_notation(t))[2] for t in texts])
    steps = np.mod(np.diff(np.append(hues, hues[0])) + 180.0, 360.0) - 180.0
    assert steps.min() > 0.0
    assert steps.max() < 20.0
    assert steps.sum() == pytest.approx(360.0)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("5YR", "not a notation"),
        ("5XR 5/4", "not a notation"),
        ("5YR 6,5/8", "not a notation"),
        ("", "not a notation"),
        ("11R 5/4", "runs from 0 to 10"),
        ("5R 12/1", "runs from 0 .black. to 10"),
        ("N 11/", "runs from 0 .black. to 10"),
        ("5R 5/40", "don't reach"),
        ("5R 5/400", "don't reach"),
        ("5R 0.1/2", "don't reach"),
        ("7.5PB 1/38", "No surface"),
    ],
)
def test_bad_notations_are_refused(text: str, says: str) -> None:
    """What can't be read or can't be is refused with the text and a hint."""
    with pytest.raises(BadColorError, match=says) as error:
        lab_from_notation(text)
    assert error.value.hint
