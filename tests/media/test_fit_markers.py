import re
from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np
import pytest

from laydown.color.lab import lab_from_reflectance
from laydown.errors import BadRecipeError, NotMeasuredError
from laydown.media.kit.fit import predict, reflectance
from laydown.media.laydown import Laydown, Stroke, Wait
from laydown.media.marker.fitting import fit_markers
from laydown.media.marker.priors import (
    BLENDER,
    LATER_COAT,
    LIFT,
    QUICK,
    SCALE,
    SOAKED,
    WET,
    belief,
    usual_priors,
)
from laydown.media.recipe import Colorant, Medium, Paper, Recipe, Step
from laydown.media.swatch import Basis, Swatch

Maker = Callable[..., Swatch]


def test_the_minimum_design_tells_scale_later_coat_and_lift(
    full: Sequence[Swatch], paper: Paper
) -> None:
    """From swatches that follow the model, the effects come out as they were put in."""
    fit = fit_markers(full, paper)
    assert fit.scale == pytest.approx(0.35, abs=0.03)
    assert fit.later_coat == pytest.approx(0.85, abs=0.03)
    assert fit.lift == pytest.approx(0.10, abs=0.03)
    assert fit.assumed == {"quick", "soaked", "wet"}
    assert not fit.odd


def test_blends_tell_what_the_blender_carries_off(
    full: Sequence[Swatch], swatch: Maker, colorants: Sequence[Colorant], paper: Paper
) -> None:
    """A blender's share comes out of its blends as it was put in, and apart from the lift."""
    clear = Colorant("Clear", "Cliff", blender=True)
    blends = [swatch(colorants[3], clear), swatch(colorants[5], clear)]
    fit = fit_markers([*full, *blends], paper, colorants=[*colorants, clear])
    assert fit.effects[BLENDER] == pytest.approx(0.45, abs=0.03)
    assert fit.lift == pytest.approx(0.10, abs=0.03)
    assert fit.lifts.tolist() == [fit.lift] * 6 + [fit.effects[BLENDER]]


def test_an_untried_blender_widens_what_it_is_laid_over(
    full: Sequence[Swatch], swatch: Maker, colorants: Sequence[Colorant], paper: Paper
) -> None:
    """Without a blend the blender's share is assumed, and a blended color is far less sure."""
    clear = Colorant("Clear", "Cliff", blender=True)
    dark = Recipe((Step(colorants[5]), Step(clear, Laydown(coats=2))))
    blends = [swatch(colorants[3], clear), swatch(colorants[5], clear)]
    untried = fit_markers(full, paper, colorants=[*colorants, clear])
    tried = fit_markers([*full, *blends], paper, colorants=[*colorants, clear])
    wide, narrow = (np.trace(predict(fit, dark).covariance) for fit in (untried, tried))
    assert "blender" in untried.assumed
    assert wide > 2.0 * narrow


def test_one_coat_alone_keeps_every_prior_and_says_so(
    swatch: Maker, colorants: Sequence[Colorant], paper: Paper
) -> None:
    """One coat of two colorants answers with every effect at its prior, reported as assumed.

    What is believed of the scale has a mean of its own.
    """
    fit = fit_markers([swatch(c) for c in colorants[:2]], paper)
    middle, _, _ = belief(fit.one_coat)
    assert fit.effects == pytest.approx(usual_priors().believed({"scale": (middle, 1.0)}).mean)
    assert fit.assumed == {"scale", "later coat", "lift", "quick", "soaked", "wet"}


def test_two_coats_without_pairs_leave_the_later_coat_assumed(
    full: Sequence[Swatch], paper: Paper
) -> None:
    """Without pairs the later coat keeps its prior, and the scale is tied to it in covariance."""
    fit = fit_markers(full[:12], paper)
    assert fit.later_coat == usual_priors().mean[LATER_COAT]
    assert {"later coat", "lift"} <= fit.assumed
    assert "scale" not in fit.assumed
    tied = fit.covariance[SCALE, LATER_COAT]
    tied /= np.sqrt(fit.covariance[SCALE, SCALE] * fit.covariance[LATER_COAT, LATER_COAT])
    assert abs(tied) > 0.5


def test_pairs_in_one_order_leave_the_lift_assumed(full: Sequence[Swatch], paper: Paper) -> None:
    """Three pairs in one order tell the later coat; the lift needs both orders."""
    fit = fit_markers(full[:15], paper)
    assert "later coat" not in fit.assumed
    assert "lift" in fit.assumed
    assert fit.lift == usual_priors().mean[LIFT]


def test_one_coat_swatches_come_back(full: Sequence[Swatch], paper: Paper) -> None:
    """The fitted one coat is the swatch, to the little that layers correct its amount by."""
    fit = fit_markers(full, paper)
    for swatch in full[:6]:
        assert reflectance(fit, swatch.recipe) == pytest.approx(swatch.reflectance, abs=0.01)


def test_strokes_and_wet_coats_are_fitted_where_swatched(
    swatch: Maker, full: Sequence[Swatch], colorants: Sequence[Colorant], paper: Paper
) -> None:
    """Quick, soaked and wet swatches tell their amounts."""
    quick, soaked = Laydown(stroke=Stroke.QUICK), Laydown(stroke=Stroke.SOAKED)
    wet = Laydown(coats=2, wait=Wait.WET)
    more = [swatch((c, lay)) for c in colorants[2:] for lay in (quick, soaked, wet)]
    fit = fit_markers([*full, *more], paper)
    assert not fit.assumed
    assert fit.effects[[QUICK, SOAKED, WET]] == pytest.approx([-0.3, 0.3, -0.15], abs=0.05)


@pytest.mark.parametrize("above", [None, 5])
def test_a_colorant_without_one_coat_is_inferred(
    above: int | None, swatch: Maker, full: Sequence[Swatch], colorants: Sequence[Colorant],
    paper: Paper, lay: Callable[[Recipe], np.ndarray],
) -> None:  # fmt: skip
    """One coat is inferred from two coats, or from under another colorant, and noted, less sure."""
    moss = colorants[3]
    without = [s for s in full if moss not in s.recipe.colorants]
    steps = [moss, colorants[above]] if above is not None else [(moss, Laydown(coats=2))]
    fit = fit_markers([*without, swatch(*steps)], paper)
    one = Recipe((Step(moss),))
    assert reflectance(fit, one) == pytest.approx(lay(one), abs=0.02)
    assert any("Moss" in note for note in fit.notes)
    sure = predict(fit_markers(full, paper), one).covariance
    assert np.trace(predict(fit, one).covariance) > 2.0 * np.trace(sure)


def test_two_colorants_known_only_over_each_other_are_refused(
    swatch: Maker, colorants: Sequence[Colorant], paper: Paper
) -> None:
    """Where neither of two colorants is known alone, the message names both."""
    with pytest.raises(NotMeasuredError, match="Reed and Cliff/Moss"):
        fit_markers([swatch(colorants[2], colorants[3])], paper)


def test_nothing_swatched_is_refused(paper: Paper) -> None:
    """Without any colored swatch there is no fit."""
    with pytest.raises(NotMeasuredError, match="Plover"):
        fit_markers([], paper)


def test_a_swatch_of_another_paper_is_a_programmers_mistake(
    swatch: Maker, colorants: Sequence[Colorant], paper: Paper
) -> None:
    """Swatches of two papers can't be fitted as one."""
    with pytest.raises(ValueError, match="Plover"):
        fit_markers([swatch(colorants[0])], replace(paper, name="Dunlin"))


def test_an_odd_swatch_is_named_and_hardly_pulls(full: Sequence[Swatch], paper: Paper) -> None:
    """A pair mistaken for another is told, and the fit stays near the truth."""
    wrong = replace(full[13], reflectance=full[4].reflectance)
    fit = fit_markers([*full[:13], wrong, *full[14:]], paper)
    assert any("Mist; Cove" in sentence for sentence in fit.odd)
    assert fit.scale == pytest.approx(0.35, abs=0.1)
    assert fit.later_coat == pytest.approx(0.85, abs=0.1)


def test_a_patchs_scatter_counts_as_that_of_the_mean_of_four_readings(
    full: Sequence[Swatch], paper: Paper
) -> None:
    """A patch three times its own scatter off lies 3 × √4 = 6 standard deviations from the rest."""
    dark = full[13].reflectance * 0.5
    off = np.linalg.norm(lab_from_reflectance(dark) - lab_from_reflectance(full[13].reflectance))
    scattered = replace(full[13], reflectance=dark, spread=float(off / 3.0))
    (told,) = fit_markers([*full[:13], scattered, *full[14:]], paper).odd
    said = re.search(r"Mist; Cove: ([\d.]+) standard deviations", told)
    assert said is not None
    assert float(said[1]) == pytest.approx(6.0, abs=0.3)


def test_replicates_are_averaged_and_tell_the_hand(
    full: Sequence[Swatch], paper: Paper, colorants: Sequence[Colorant]
) -> None:
    """Replicates that scatter widely widen the hand noise; their mean is the reference."""
    extra = []
    for swatch in full[:6]:
        depth = np.log(swatch.reflectance / paper.reflectance)
        for factor in (0.6, 1.4):
            seen = paper.reflectance * np.exp(depth * factor)
            extra.append(replace(swatch, reflectance=seen))
    even, uneven = fit_markers(full, paper), fit_markers([*full, *extra], paper)
    assert uneven.noise.hand > 2.0 * even.noise.hand
    place = uneven.index(colorants[0])
    assert uneven.one_coat[place] == pytest.approx(full[0].reflectance, abs=0.01)


def test_fluorescence_is_kept_below_a_ceiling(
    swatch: Maker, colorants: Sequence[Colorant], paper: Paper
) -> None:
    """One coat that reflects more than everything is reproduced, and noted."""
    glow = Colorant("Glow", "Cliff")
    seen = paper.reflectance.copy()
    seen[20:25], seen[:10] = 1.15, 0.3
    swatches = [swatch(colorants[4]), Swatch(paper.name, Recipe((Step(glow),)), seen)]
    fit = fit_markers(swatches, paper)
    assert reflectance(fit, Recipe((Step(glow),))) == pytest.approx(seen, abs=1e-9)
    assert reflectance(fit, Recipe()) == pytest.approx(paper.reflectance, abs=1e-9)
    assert any("fluorescence" in note for note in fit.notes)


def test_kits_order_blenders_and_missing_colorants(
    swatch: Maker, colorants: Sequence[Colorant], paper: Paper
) -> None:
    """The kit's order is kept, a blender needs no swatch, one without swatches is noted."""
    clear = Colorant("Clear", "Cliff", blender=True)
    fit = fit_markers([swatch(colorants[5]), swatch(colorants[0])], paper,
                      colorants=[clear, *colorants])  # fmt: skip
    assert [c.name for c in fit.colorants] == ["Clear", "Shell", "Slate"]
    assert fit.blender.tolist() == [1.0, 0.0, 0.0]
    assert fit.strength[0] == 0.0
    assert any("Moss" in note for note in fit.notes)
    over = Recipe((Step(colorants[5]), Step(clear)))
    assert reflectance(fit, over)[32] > reflectance(fit, Recipe(over.steps[:1]))[32]


def test_guessed_spectra_make_layers_less_sure(full: Sequence[Swatch], paper: Paper) -> None:
    """The same swatches known by XYZ only give wider predictions, and a note."""
    guessed = fit_markers([replace(s, basis=Basis.XYZ) for s in full], paper)
    recipe = full[14].recipe
    sure = np.trace(predict(fit_markers(full, paper), recipe).covariance)
    assert np.trace(predict(guessed, recipe).covariance) > 1.3 * sure
    assert any("XYZ" in note for note in guessed.notes)


def test_pencils_have_no_answer_here(paper: Paper) -> None:
    """A pencil among the swatches is refused by name."""
    pencil = Colorant("Loam", "Hedge", Medium.PENCIL)
    with pytest.raises(BadRecipeError, match="Hedge/Loam"):
        fit_markers([Swatch(paper.name, Recipe((Step(pencil),)), np.full(36, 0.4))], paper)
