"""Runs found among the renotation's chips, and among what a kit can lay."""

from types import ModuleType

import numpy as np
import pytest

from laydown.color.lab import WHITE_D50, adapt, lab_from_xyz
from laydown.color.typed import WHITE_C
from laydown.color.value import luminance_from_value, value_from_lab
from laydown.plan.run.runs import Shade, at_value, find_runs, rated, shade, turn

FAMILIES = ("R", "YR", "Y", "GY", "G", "BG", "B", "PB", "P", "RP")
PAGES = ((5.0, 8), (17.5, 4), (32.5, 2), (45.0, 6), (60.0, 4), (72.5, 8), (85.0, 2), (97.5, 10))


@pytest.fixture(scope="module")
def chips(colour: ModuleType) -> dict[tuple[float, float, float], Shade]:
    """Return the real chips of the renotation by hue (0 to 100), value and chroma."""
    found = {}
    for (hue, value, chroma), (x, y, _) in colour.MUNSELL_COLOURS["real"]:
        family = hue.lstrip("0123456789.")
        turned = (10 * FAMILIES.index(family) + float(hue[: -len(family)])) % 100
        under_c = np.array([x, y, 1 - x - y]) / y * float(luminance_from_value(value))
        lab = lab_from_xyz(adapt(under_c, white_from=WHITE_C, white_to=WHITE_D50))
        found[turned, value, chroma] = shade(f"{hue} {value:g}/{chroma:g}", lab)
    return found


@pytest.mark.parametrize("page", PAGES)
def test_a_page_of_one_hue_and_chroma_comes_back_whole(
    chips: dict[tuple[float, float, float], Shade], page: tuple[float, int]
) -> None:
    """Among 200 chips ten hue units away or more, a page's chips are found as one run in order."""
    hue, chroma = page
    own = [s for (h, _, c), s in sorted(chips.items(), reverse=True) if (h, c) == (hue, chroma)]
    far = [s for (h, _, _), s in sorted(chips.items()) if abs((h - hue + 50) % 100 - 50) >= 10]
    rng = np.random.default_rng(int(hue) * 100 + chroma)
    drawn = [far[i] for i in rng.choice(len(far), 200, replace=False)]
    mixed = [*own, *drawn]
    rng.shuffle(mixed)  # type: ignore[arg-type]  # a list is shuffled in place
    found = {run.names for run in find_runs(mixed)}
    assert len(own) >= 3
    assert tuple(s.name for s in own) in found


def test_value_steps_are_those_of_the_notation(
    chips: dict[tuple[float, float, float], Shade],
) -> None:
    """A page's value step is one, as its notations say."""
    own = [s for (h, _, c), s in sorted(chips.items(), reverse=True) if (h, c) == (45.0, 6)]
    run = rated(own)
    assert run.step == pytest.approx(1.0, abs=0.005)
    assert run.unevenness < 0.02
    assert run.rating == "even"


def test_hues_that_do_not_belong_make_no_run() -> None:
    """Red, green and blue of falling values are no run."""
    labs = ([70.0, 50, 30], [55.0, -50, 30], [40.0, 10, -50])
    assert find_runs([shade(f"{i}", np.array(lab)) for i, lab in enumerate(labs)]) == ()


def lch(name: str, lightness: float, chroma: float, hue: float) -> Shade:
    """Return a shade from lightness, chroma and hue in degrees."""
    turned = np.radians(hue)
    return shade(name, np.array([lightness, chroma * np.cos(turned), chroma * np.sin(turned)]))


@pytest.mark.parametrize("hue", [10.0, 90.0, 150.0, 260.0])
def test_a_tint_its_middle_and_its_shade_are_a_run(hue: float) -> None:
    """A tint has a third of its middle's chroma, and a shade less than it, since paper white takes
    the one and the dark the other: the three are an even run.
    """
    tones = [lch("light", 86, 16, hue), lch("middle", 62, 48, hue), lch("dark", 38, 38, hue)]
    (found,) = find_runs(tones)
    assert found.names == ("light", "middle", "dark")
    assert found.rating == "even"
    assert found.chroma_ratio == pytest.approx(1.0, abs=0.15)


def test_grays_are_no_tint_and_no_shade_of_a_color() -> None:
    """A light gray and a black of a vivid red are paler than paper or dark would leave it."""
    assert find_runs([lch("a", 86, 2, 20), lch("b", 62, 55, 20), lch("c", 25, 3, 20)]) == ()


def test_a_jump_in_value_is_rough() -> None:
    """A run with one step of three and one of one is rough."""
    grays = [shade(f"{L}", np.array([float(L), 0.0, 0.0])) for L in (90, 60, 50)]
    assert rated(grays).rating == "rough"


def test_hue_goes_the_short_way_round() -> None:
    """From 350 to 10 degrees are 20, and back -20."""
    assert turn(350.0, 10.0) == pytest.approx(20.0)
    assert turn(10.0, 350.0) == pytest.approx(-20.0)


@pytest.mark.parametrize("value", [1.0, 3.5, 6.0, 9.0])
def test_a_color_is_moved_to_the_value_asked_for(value: float) -> None:
    """The moved color has the value, and the hue it had."""
    lab = np.array([55.0, 30.0, -20.0])
    moved = at_value(lab, value)
    assert value_from_lab(moved) == pytest.approx(value, abs=1e-3)
    assert np.arctan2(moved[2], moved[1]) == pytest.approx(np.arctan2(-20.0, 30.0))
