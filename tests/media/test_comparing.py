"""What two recipes of one kit share of what is left open falls out of their difference."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest

from laydown.color.arrays import FloatArray
from laydown.color.lab import lab_from_reflectance
from laydown.match.pairing import compare, shared_covariance
from laydown.media.film.fitting import fit_films
from laydown.media.film.model import FilmFit
from laydown.media.inference.learning import by_own_hand, learn
from laydown.media.inference.priors import Noise
from laydown.media.kit.fit import KitFit, leeway, predict, reflectance
from laydown.media.laydown import Laydown
from laydown.media.marker.fitting import fit_markers
from laydown.media.marker.model import MarkerFit
from laydown.media.marker.priors import SCALE
from laydown.media.recipe import (
    Colorant,
    Medium,
    Paper,
    Recipe,
    Step,
    Tool,
    Treatment,
    TreatmentStep,
)
from laydown.media.swatch import Swatch, Trial

PAPER = Paper("Gannet smooth", np.linspace(0.85, 0.9, 36))
SLOPE = np.linspace(-1, 1, 36)
KELP, DUNE = Colorant("Kelp", "Estuary"), Colorant("Dune", "Estuary")
FERN, ROOT = (Colorant(name, "Meadow", Medium.PENCIL) for name in ("Fern", "Root"))
LOAM, REED = (Colorant(name, "Pond", Medium.WASH) for name in ("Loam", "Reed"))
STEP = 1e-4


@pytest.fixture(scope="module")
def fit(full: tuple[Swatch, ...], paper: Paper, colorants: Sequence[Colorant]) -> MarkerFit:
    """The fit of a full set of swatches."""
    return fit_markers(full, paper, colorants=list(colorants))


def _coat(colorant: Colorant, level: float, lean: float) -> Swatch:
    seen = PAPER.reflectance * level * np.exp(lean * SLOPE)
    return Swatch(PAPER.name, Recipe((Step(colorant),)), seen)


@pytest.fixture(scope="module")
def kit() -> KitFit:
    """Two colorants of each medium, one coat of each swatched."""
    return KitFit(
        fit_markers([_coat(KELP, 0.5, 0.3), _coat(DUNE, 0.7, -0.2)], PAPER),
        fit_films([_coat(FERN, 0.6, -0.3), _coat(ROOT, 0.5, 0.4)], PAPER, Medium.PENCIL),
        fit_films([_coat(LOAM, 0.55, 0.4), _coat(REED, 0.7, -0.3)], PAPER, Medium.WASH),
    )


def laid(*steps: tuple[Colorant, int]) -> Recipe:
    """Return a recipe of colorants and coats."""
    return Recipe(tuple(Step(c, Laydown(coats=n)) for c, n in steps))


def moved(fit: MarkerFit | FilmFit, place: int) -> MarkerFit | FilmFit:
    """Return a fit with one of its parameters moved by `STEP`."""
    e, effects = len(fit.effects), fit.effects.copy()
    if place < e:
        effects[place] += STEP
        return replace(fit, effects=effects)
    if isinstance(fit, FilmFit):
        own = fit.own.copy()
        own.flat[place - e] += STEP
        return replace(fit, own=own)
    absorption = fit.absorption.copy()
    absorption[place - e] *= np.exp(STEP)
    return replace(fit, absorption=absorption)


def color(fit: MarkerFit | FilmFit, recipe: Recipe) -> FloatArray:
    """Return the Lab of a recipe of one medium."""
    if isinstance(fit, MarkerFit):
        return lab_from_reflectance(reflectance(fit, recipe))
    return lab_from_reflectance(fit.reflectance(recipe))


def jacobian(fit: MarkerFit | FilmFit, recipe: Recipe) -> FloatArray:
    """Return how a recipe's Lab turns with each parameter, shape (3, p), by small steps."""
    near = np.array([color(moved(fit, place), recipe) for place in range(len(fit.covariance))])
    return (near - color(fit, recipe)).T / STEP


def nearly_sure(fit: MarkerFit) -> MarkerFit:
    """Return a fit of which nothing is open but its parameters, and of those but little."""
    covariance = 1e-4 * fit.covariance
    covariance[SCALE], covariance[:, SCALE] = 0.0, 0.0
    return replace(fit, covariance=covariance, noise=Noise(0.0, 0.0), measuring=0.0)


def test_what_both_markers_rest_on_moves_both(
    fit: MarkerFit, colorants: Sequence[Colorant]
) -> None:
    """The difference of two recipes varies by the difference of their jacobians."""
    sure = nearly_sure(fit)
    wanted = laid((colorants[0], 1), (colorants[3], 1))
    for given in (laid((colorants[0], 1)), laid((colorants[3], 1), (colorants[2], 1))):
        turned = jacobian(sure, given) - jacobian(sure, wanted)
        found = compare(sure, wanted, sure, given).covariance()
        assert found == pytest.approx(turned @ sure.covariance @ turned.T, rel=0.01, abs=1e-8)


@pytest.mark.parametrize("medium", ["pencils", "washes"])
def test_what_both_films_rest_on_moves_both(kit: KitFit, medium: str) -> None:
    """The same of pencils and of washes, in their own parameters."""
    film = getattr(kit, medium)
    sure = replace(film, covariance=1e-4 * film.covariance, noise=Noise(0.0, 0.0), measuring=0.0)
    one, other = film.colorants
    whole = KitFit(pencils=sure) if medium == "pencils" else KitFit(washes=sure)
    wanted, given = laid((one, 1), (other, 1)), laid((one, 2))
    turned = jacobian(sure, given) - jacobian(sure, wanted)
    found = compare(whole, wanted, whole, given).covariance()
    assert found == pytest.approx(turned @ sure.covariance @ turned.T, rel=0.03, abs=1e-7)


ALIKE = (
    laid((KELP, 1), (DUNE, 2)),
    laid((FERN, 1), (ROOT, 2)).then(Recipe((TreatmentStep(Treatment.SOLVENT, Tool.SWAB),))),
    laid((LOAM, 1), (REED, 1)),
    laid((KELP, 1), (FERN, 2)),
    laid((LOAM, 1), (KELP, 1)),
    laid((KELP, 1), (LOAM, 1), (FERN, 1)).then(
        Recipe((TreatmentStep(Treatment.SOLVENT, Tool.SWAB),))
    ),
)
"""Markers, pencils treated, washes, and media over each other, a marker's dye through a wash."""


@pytest.mark.parametrize("recipe", ALIKE)
def test_a_recipe_differs_from_itself_by_the_hand_and_the_reading(
    kit: KitFit, recipe: Recipe
) -> None:
    """Of a hand that never scatters only the instrument's noise is left, and else a little more."""
    steady = KitFit(*(replace(one, noise=replace(one.noise, hand=0.0)) for one in kit.fits))
    reading = max(one.measuring for one in kit.fits) ** 2 * np.eye(3)
    found = compare(steady, recipe, steady, recipe).covariance()
    assert found == pytest.approx(reading, abs=1e-9)
    by_hand = np.trace(compare(kit, recipe, kit, recipe).covariance())
    assert np.trace(reading) < by_hand < 0.9 * np.trace(predict(kit, recipe).covariance)


def test_recipes_that_share_nothing_differ_by_both(kit: KitFit) -> None:
    """A marker and a pencil have nothing in common: what is unsure of each adds up."""
    wanted, given = laid((KELP, 1)), laid((FERN, 1))
    whole = leeway(kit, wanted).on_the_whole().covariance()
    found = compare(kit, wanted, kit, given).covariance()
    assert found == pytest.approx(whole + predict(kit, given).covariance)


def test_what_trials_taught_since_is_not_shared(
    fit: MarkerFit, colorants: Sequence[Colorant]
) -> None:
    """A person's own laying of a recipe differs by the hand that trials found, too."""
    heavy = replace(fit, absorption=fit.absorption * 1.3, strength=fit.strength * 1.3)
    recipes = [laid((c, n)) for c in colorants[:4] for n in (1, 2)]
    trials = [Trial(n, r, predict(heavy, r).lab) for n, r in enumerate(recipes)]
    taught = learn(fit, trials).fit
    recipe = laid((colorants[0], 1), (colorants[3], 1))
    same, since = (np.trace(compare(fit, recipe, f, recipe).covariance()) for f in (fit, taught))
    apart = leeway(fit, recipe).on_the_whole().covariance() + predict(taught, recipe).covariance
    assert same < since < np.trace(apart)


def test_swatches_and_trials_vary_together_as_a_covariance_does(
    fit: MarkerFit, colorants: Sequence[Colorant]
) -> None:
    """Of the two sets of parameters together no sum has a variance below 0."""
    trials = [Trial(1, laid((colorants[0], 1)), predict(fit, laid((colorants[0], 1))).lab)]
    for taught in (by_own_hand(fit), learn(fit, trials).fit):
        across = shared_covariance(fit, taught)
        whole = np.block([[fit.covariance, across], [across.T, taught.covariance]])
        assert np.linalg.eigvalsh(whole).min() > -1e-9
