from dataclasses import replace

import numpy as np
import pytest

from laydown.app.fits import kit_fit_for
from laydown.app.library import Library
from laydown.app.matches.targets import one_coats_of, settle_targets
from laydown.color.lab import lab_from_reflectance
from laydown.color.typed import DEVIATION, Form
from laydown.documents.files.lists import TargetRow
from laydown.errors import BadColorError, UnknownNameError
from laydown.match.outcome import Origin, Target
from laydown.match.pairing import covariance_of
from laydown.media.recipe import Colorant, Recipe, Step
from laydown.media.swatch import Swatch

PAPER = "Gannet smooth"


def _target(library: Library, text: str) -> Target:
    (target,) = settle_targets(library, [text], paper=PAPER)
    return target


def test_typed_lab_is_taken_as_typed(library: Library) -> None:
    """What is typed as Lab is certain, whatever the blanks in it."""
    target = _target(library, " LAB: 71, 8 ,46 ")
    assert target.lab.tolist() == [71, 8, 46]
    assert not target.covariance.any()


def test_a_screen_color_is_uncertain(library: Library) -> None:
    """A screen's white is L* 100, and every axis of a screen color is counted as uncertain."""
    target = _target(library, "#ffffff")
    assert target.lab == pytest.approx([100, 0, 0], abs=0.05)
    assert np.diag(target.covariance).tolist() == [DEVIATION[Form.SCREEN] ** 2] * 3


def test_the_notation_gives_its_value(library: Library) -> None:
    """N 5/ is a gray at the luminance that ASTM D1535 gives value 5: Y 19.272, L* 51.0."""
    assert _target(library, "N 5/").lab == pytest.approx([51.0, 0, 0], abs=0.1)


def test_a_name_is_its_mean_swatch(library: Library) -> None:
    """A colorant measured twice is wanted as the mean of both spectra, less uncertain for it."""
    kelp = Recipe((Step(Colorant("Kelp", "Shoal")),))
    lighter = np.linspace(0.22, 0.38, 36) + 0.1
    with library.work("again") as work:
        work.add_swatches([Swatch(PAPER, kelp, lighter, spread=1.0)])
    target = _target(library, "kelp")
    assert target.origin is Origin.MEASURED
    assert target.lab == pytest.approx(lab_from_reflectance(lighter - 0.05))
    assert target.covariance[0, 0] == pytest.approx((0**2 + 1**2) / 2 / 2)


def test_what_a_camera_errs_is_counted_once(library: Library) -> None:
    """A photographed swatch of no spread of its own is as unsure as its picture, replicates of one
    picture no less by what they share, and of two pictures they are.
    """
    tar = Recipe((Step(Colorant("Tar", "Shoal")),))
    deviation, shared = 5.0, 4.0
    seen = np.linspace(0.05, 0.09, 36)
    for picture, lighter in (("one", 0.0), ("one", 0.001), ("two", 0.002)):
        swatch = Swatch(PAPER, tar, seen + lighter, spread=2 * deviation, picture=picture,
                        shared=shared)  # fmt: skip
        with library.work("take in") as work:
            work.add_swatches([swatch])
        unsure = _target(library, "Tar").covariance[0, 0]
        own = deviation**2 - shared**2
        wanted = {0.0: own + shared**2, 0.001: own / 2 + shared**2}
        assert unsure == pytest.approx(wanted.get(lighter, own / 3 + 5 * shared**2 / 9))


def test_what_a_picture_errs_falls_out_of_matches_within_it(library: Library) -> None:
    """A color read from the picture that what answers was read from leaves open what is its own;
    read from another, all of it.
    """
    rows = [("Tar", "one"), ("Ash", "one"), ("Far", "two")]
    with library.work("take in") as work:
        work.add_swatches(
            [
                Swatch(PAPER, Recipe((Step(Colorant(name, "Pier")),)), np.full(36, 0.1 + 0.1 * i),
                       spread=10.0, picture=picture, shared=4.0)
                for i, (name, picture) in enumerate(rows)
            ]
        )  # fmt: skip
    fit = kit_fit_for(library, ("Pier",), PAPER)
    found = [settle_targets(library, [name], paper=PAPER, fit=lambda: fit)[0] for name, _ in rows]
    assert [t.alike for t in found] == pytest.approx([16 * 2 / 3, 16 * 2 / 3, 16 / 3])
    for target in found:
        assert target.covariance[0, 0] == pytest.approx(25.0 - target.alike)
    wide = covariance_of(replace(found[0], alike=0.0), fit, Recipe((Step(fit.colorants[1]),)))
    near = covariance_of(found[0], fit, Recipe((Step(fit.colorants[1]),)))
    assert np.trace(near) < np.trace(wide)


def test_a_recipe_is_predicted_with_its_uncertainty(library: Library) -> None:
    """A recipe that was not swatched is wanted as predicted, darker than its darkest part."""
    target = _target(library, "Dune; Kelp")
    assert target.origin is Origin.SWATCHED
    assert target.covariance[0, 0] > 0
    assert target.lab[0] < _target(library, "Kelp").lab[0]


def test_an_error_names_its_place(library: Library) -> None:
    """An error about a line of a list begins with the place; its kind and hint stay."""
    wanted = ["Kelp", TargetRow(3, "Klep")]
    with pytest.raises(UnknownNameError, match=r"^a list, line 3: ") as caught:
        settle_targets(library, wanted, paper=PAPER, source="a list")
    assert "Kelp" in caught.value.hint
    with pytest.raises(BadColorError, match=r"^No color was named"):
        _target(library, "  ")


def test_a_blender_is_no_wanted_color(library: Library) -> None:
    """Converting a range asks for its colors, and a colorless blender has none."""
    clear = Recipe((Step(Colorant("Clear", "Shoal", blender=True)),))
    with library.work("add") as work:
        work.add_swatches([Swatch(PAPER, clear, np.full(36, 0.9))])
    assert [w.name for w in one_coats_of(library, PAPER, range="Shoal")] == ["Dune", "Kelp"]


@pytest.mark.parametrize("text", ["5YR 6", "5QQ 6/8", "N5", "5 YR 6-8"])
def test_what_was_perhaps_meant_as_a_notation_gets_its_form(library: Library, text: str) -> None:
    """Where no colorant is called so, the hint says how hue, value and chroma are written."""
    with pytest.raises(BadColorError, match="nor a notation of hue, value and chroma") as caught:
        _target(library, text)
    assert "5YR 6/8" in caught.value.hint


def test_a_colorant_may_be_called_like_a_notation(library: Library) -> None:
    """Users' own codes are opaque: a name is looked up before it is called a mistake."""
    named = Recipe((Step(Colorant("5Y 6", "Shoal")),))
    with library.work("add") as work:
        work.add_swatches([Swatch(PAPER, named, np.full(36, 0.5))])
    assert _target(library, "5Y 6").name == "5Y 6"
