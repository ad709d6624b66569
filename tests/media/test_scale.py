"""What is believed of where dye lies before two coats tell it, and the doubt summed over that."""

from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np
import pytest

from laydown.color.lab import lab_from_reflectance
from laydown.media.inference.fitting import notes_on_ends
from laydown.media.inference.forward import variants
from laydown.media.inference.posterior import FACTORS, expected_misfit, principal_axes
from laydown.media.inference.prediction import leeways
from laydown.media.laydown import Laydown
from laydown.media.marker.fitting import fit_markers
from laydown.media.marker.model import MarkerFit
from laydown.media.marker.priors import (
    DEVIATES,
    EFFECTS,
    LATER_COAT,
    LIFT,
    SCALE,
    STRAIGHT,
    belief,
    scale_at,
    usual_priors,
)
from laydown.media.recipe import Colorant, Paper, Recipe, Step, Surface
from laydown.media.swatch import Swatch

PALE, DARK = np.full((1, 36), 0.4), np.full((1, 36), 0.02)
Maker = Callable[..., Swatch]


@pytest.fixture(scope="module")
def alone(swatch: Maker, colorants: Sequence[Colorant], paper: Paper) -> MarkerFit:
    """Return a fit of one coat of each, which tells nothing of the scale."""
    return fit_markers([swatch(c) for c in colorants], paper)


@pytest.fixture(scope="module")
def told(swatch: Maker, colorants: Sequence[Colorant], paper: Paper) -> MarkerFit:
    """Return a fit with second coats, which tell the scale."""
    deep = [swatch((c, Laydown(coats=2))) for c in colorants]
    return fit_markers([*(swatch(c) for c in colorants), *deep], paper)


def drawn(fit: MarkerFit, count: int = 2000) -> np.ndarray:
    """Return scales as they are believed, evenly over their quantiles."""
    rng = np.random.default_rng(5)
    sd = float(np.sqrt(fit.covariance[SCALE, SCALE]))
    return scale_at(rng.standard_normal(count), middle=fit.scale, sd=sd, bend=fit.bend)


def test_the_middle_and_spread_are_those_of_the_belief(alone: MarkerFit) -> None:
    """Scales drawn by its quantiles have its mean and its standard deviation."""
    scales = drawn(alone)
    assert scales.mean() == pytest.approx(alone.scale, abs=0.02)
    assert scales.std() == pytest.approx(np.sqrt(alone.covariance[SCALE, SCALE]), rel=0.05)


def test_a_dark_coat_and_a_coated_paper_tell_of_a_film() -> None:
    """Each lowers the scale that is believed, an uncoated paper raises it."""
    usual = belief(PALE)[0]
    assert belief(DARK)[0] < 0.2 < usual
    assert belief(PALE, surface=Surface.COATED)[0] < usual - 0.2
    assert belief(PALE, surface=Surface.UNCOATED)[0] > usual + 0.05


def test_films_and_fibres_stay_possible() -> None:
    """Whatever is said of the paper, both ends lie within two standard deviates."""
    for surface in Surface:
        middle, sd, bend = belief(PALE, surface=surface)
        ends = middle + sd * bend[np.abs(DEVIATES) == 2.0]
        assert ends[0] < 0.06
        assert ends[1] > 0.75


def test_doubt_is_that_of_all_scales_believed(
    alone: MarkerFit, colorants: Sequence[Colorant]
) -> None:
    """What the scale alone leaves open of a pile is what 2000 drawn scales make of it."""
    scale_only = np.zeros_like(alone.covariance)
    scale_only[SCALE, SCALE] = alone.covariance[SCALE, SCALE]
    fit = replace(alone, covariance=scale_only)
    recipe = Recipe((Step(colorants[4], Laydown(coats=3)), Step(colorants[1])))
    model = fit.forward(recipe)
    tried = variants(fit.effects, np.zeros((2, 1)), steps=2, count=2000)
    tried.effects[:, SCALE] = drawn(fit)
    expected = lab_from_reflectance(fit.reflectance(recipe))
    away = lab_from_reflectance(model.reflect(tried)) - expected
    things = leeways(fit, [recipe])[0].things()
    pairs = np.concatenate([things["marker axis", node] for node in range(2)])
    change = lab_from_reflectance(pairs) - expected
    stated, wanted = 0.5 * change.T @ change, away.T @ away / len(away)
    assert np.sqrt(np.diag(stated)) == pytest.approx(np.sqrt(np.diag(wanted)), rel=0.15)


def test_two_coats_tell_the_scale_and_end_the_belief(alone: MarkerFit, told: MarkerFit) -> None:
    """With second coats the scale is fitted, and what is open of it is a Gaussian again."""
    assert alone.integrated == SCALE
    assert told.integrated is None
    assert np.array_equal(told.bend, STRAIGHT)


def test_the_first_axis_alone_moves_what_is_integrated_over() -> None:
    """All axes together make up the covariance, and only the first has a part of that number."""
    root = np.random.default_rng(3).standard_normal((4, 4))
    covariance = root @ root.T
    axes = principal_axes(covariance, first=2)
    assert axes.T @ axes == pytest.approx(covariance)
    assert np.abs(axes[1:, 2]).max() == pytest.approx(0.0, abs=1e-9)


@pytest.mark.parametrize("distance", [0.0, 0.01, 0.02, 0.04])
def test_near_an_end_doubt_is_that_of_a_gaussian_cut_off(told: MarkerFit, distance: float) -> None:
    """The mean square about the middle is the cut Gaussian's within a fifth, at any distance."""
    deviates, sd = np.random.default_rng(4).standard_normal(20000), 0.02
    near = replace(told, effects=np.where(np.arange(7) == SCALE, distance, told.effects))
    effects = np.tile(near.effects, (2, 1))
    effects[:, SCALE] += [-sd, sd]
    tried = near.within(effects)[:, SCALE] - distance
    left = sd * deviates[sd * deviates > -distance]
    assert np.sqrt(np.mean(tried**2)) == pytest.approx(np.sqrt(np.mean(left**2)), rel=0.2)


def test_misfit_that_nothing_tells_counts_by_its_mean_square() -> None:
    """By a prior alone it is exp(sd²) times the likeliest; where swatches tell it, what they do."""
    priors = usual_priors()
    open_ = expected_misfit(lambda _: 0.0, priors, priors.noise)
    told = expected_misfit(lambda n: -200.0 * np.log(n.misfit / 0.4) ** 2, priors, priors.noise)
    assert open_ == pytest.approx(priors.noise.misfit * np.exp(priors.noise_sd.misfit**2), rel=0.02)
    assert told == pytest.approx(0.4, rel=0.1)


def test_a_number_at_its_end_is_told() -> None:
    """An effect on its bound and noise at the end of what is tried get a sentence; no lift none."""
    priors, told = usual_priors(), np.ones(len(EFFECTS), dtype=bool)
    effects = priors.mean.copy()
    assert notes_on_ends(priors, effects, told, priors.noise) == ()
    effects[LATER_COAT], effects[LIFT] = priors.highest[LATER_COAT], 0.0
    (said,) = notes_on_ends(priors, effects, told, priors.noise)
    assert said.startswith("What a second coat adds came out at the end")
    assert notes_on_ends(priors, effects, ~told, priors.noise) == ()
    strange = replace(priors.noise, hand=priors.noise.hand * float(FACTORS[-1]))
    assert "mixed up" in notes_on_ends(priors, priors.mean, told, strange)[0]
