"""A laydown that was swatched is predicted by its swatch, and the search knows it."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest

from laydown.color.lab import lab_from_reflectance
from laydown.match.ranking import VALUE_FIRST, Limits
from laydown.match.search.search import FEW, search_kit
from laydown.media.inference.prediction import without_residuals
from laydown.media.kit.fit import predict
from laydown.media.laydown import Laydown
from laydown.media.marker.fitting import fit_markers
from laydown.media.marker.model import MarkerFit, pool
from laydown.media.recipe import Colorant, Paper, Recipe, Step
from laydown.media.swatch import Swatch


def _single(colorant: Colorant, coats: int = 1) -> Recipe:
    return Recipe((Step(colorant, Laydown(coats=coats)),))


@pytest.fixture(scope="module")
def swatches(full: tuple[Swatch, ...]) -> list[Swatch]:
    """A full set, each patch 2 in 100 lighter or darker than the model could know."""
    rng = np.random.default_rng(11)
    return [replace(s, reflectance=s.reflectance * rng.uniform(0.98, 1.02)) for s in full]


@pytest.fixture(scope="module")
def fit(swatches: list[Swatch], paper: Paper, colorants: Sequence[Colorant]) -> MarkerFit:
    """Their fit."""
    return fit_markers(swatches, paper, colorants=list(colorants))


def test_a_swatched_laydown_is_predicted_by_its_swatch(
    fit: MarkerFit, swatches: list[Swatch]
) -> None:
    """Single laydowns to rounding, whose model alone is off."""
    for swatch in swatches:
        if len(swatch.recipe.steps) == 1:
            seen = lab_from_reflectance(swatch.reflectance)
            assert predict(fit, swatch.recipe).lab == pytest.approx(seen, abs=1e-9)
    bare = without_residuals(fit)
    off = [np.abs(predict(bare, r).lab - predict(fit, r).lab).max() for r in fit.measured]
    assert max(off) > 0.2


def test_a_misread_swatch_is_not_believed(
    swatches: list[Swatch], paper: Paper, colorants: Sequence[Colorant]
) -> None:
    """One that lies far from what all others lead to expect is predicted as they have it."""
    wrong = _single(colorants[3], 2)
    read = [
        replace(s, reflectance=0.4 * s.reflectance) if s.recipe == wrong else s for s in swatches
    ]
    fit = fit_markers(read, paper, colorants=list(colorants))
    assert wrong not in fit.measured
    assert _single(colorants[2], 2) in fit.measured


def test_a_pool_predicts_swatched_laydowns_as_its_ranges_do(fit: MarkerFit) -> None:
    """Though its effects are others than theirs."""
    others = tuple(replace(c, range="Other") for c in fit.colorants)
    named = dict(zip(fit.colorants, others, strict=True))
    moved = [_single(named[r.colorants[0]], r.coats) for r in fit.measured]
    effects = fit.effects + 0.05 * np.eye(len(fit.effects))[1]
    other = replace(fit, colorants=others, measured=tuple(moved), effects=effects)
    whole = pool([fit, other])
    for one in (fit, other):
        for recipe in one.measured:
            expected = predict(one, recipe).lab
            assert predict(whole, recipe).lab == pytest.approx(expected, abs=1e-9)


def test_the_search_answers_a_swatchs_color_with_that_swatch(fit: MarkerFit) -> None:
    """At no cost, whatever mixtures the model thinks nearer; a search alone would not find it."""
    for recipe in fit.measured:
        found = search_kit(fit, predict(fit, recipe).lab, limits=Limits(steps=2, coats=3), top=1)
        assert found.recipes[0] == recipe
        assert found.costs[0] < 1e-6


def test_what_lies_there_already_is_seen_as_its_swatch(fit: MarkerFit) -> None:
    """Over a swatched laydown the recipe that adds nothing has its measured color."""
    recipe = fit.measured[0]
    found = search_kit(fit, predict(fit, recipe).lab, limits=Limits(steps=1), top=1, over=recipe)
    assert found.recipes[0] == Recipe()
    assert found.costs[0] < 1e-6


def test_of_few_recipes_each_is_found_once_as_it_is_predicted(fit: MarkerFit) -> None:
    """So few that none is left out: those swatched cost what their swatches differ by."""
    wanted = np.array([55.0, 10.0, 10.0])
    found = search_kit(fit, wanted, limits=Limits(steps=1, coats=2), top=None)
    assert len(set(found.recipes)) == len(found.recipes) == found.considered <= FEW
    assert set(fit.measured) & set(found.recipes)
    labs = np.array([predict(fit, recipe).lab for recipe in found.recipes])
    assert found.costs == pytest.approx(VALUE_FIRST.difference(wanted, labs), abs=1e-6)
