from dataclasses import replace

import numpy as np
import pytest

from laydown.color.lab import lab_from_reflectance
from laydown.match.diagnosis import explain
from laydown.match.mishaps import CauseKind, film_outcomes
from laydown.match.mud import find_mud
from laydown.match.outcome import Target
from laydown.match.question import Question
from laydown.match.ranking import BY_EYE, Limits, Ranking
from laydown.media.film.fitting import fit_films
from laydown.media.film.model import FilmFit
from laydown.media.kit.fit import KitFit, predict
from laydown.media.laydown import Laydown
from laydown.media.marker.fitting import fit_markers
from laydown.media.recipe import (
    Colorant,
    Medium,
    Paper,
    Recipe,
    Step,
    Tool,
    Treatment,
    TreatmentStep,
    mixture,
)
from laydown.media.swatch import Swatch

PAPER = Paper("Plover", np.full(36, 0.9))
BAND = np.arange(36)
NAMES = ("Shell", "Reed", "Cove")
KITS = {m: tuple(Colorant(n, m.value, m) for n in NAMES) for m in Medium}


def _swatches(medium: Medium) -> list[Swatch]:
    return [
        Swatch("Plover", Recipe((Step(c, Laydown(n)),)),
               0.9 * np.exp(-0.8 * n * np.exp(-(((BAND - 11 * k - 6) / 7) ** 2))))
        for k, c in enumerate(KITS[medium])
        for n in (1, 2)
    ]  # fmt: skip


@pytest.fixture(scope="module")
def kit() -> KitFit:
    """Three colorants of each medium on one paper."""
    pencils, washes = (
        fit_films(_swatches(m), PAPER, m, colorants=list(KITS[m]))
        for m in (Medium.PENCIL, Medium.WASH)
    )
    return KitFit(fit_markers(_swatches(Medium.MARKER), PAPER), pencils, washes)


def part(kit: KitFit, medium: Medium) -> FilmFit:
    """Return the fit of pencils or of washes."""
    found = kit.of(medium)
    assert isinstance(found, FilmFit)
    return found


FILMS = [Medium.PENCIL, Medium.WASH]


@pytest.mark.parametrize("medium", FILMS)
def test_another_colorant_is_recognized(kit: KitFit, medium: Medium) -> None:
    """What another pencil or pan gives is explained by that one, by its name."""
    laid, noted = (Recipe((Step(KITS[medium][place]),)) for place in (2, 0))
    got = lab_from_reflectance(part(kit, medium).reflectance(laid))
    found = explain(kit, noted, got)
    assert found.causes[0].kind is CauseKind.SUPPLY
    assert "Cove was taken for Shell" in found.causes[0].words


@pytest.mark.parametrize("medium", FILMS)
def test_nothing_went_wrong_is_an_answer(kit: KitFit, medium: Medium) -> None:
    """What the recipe leads to expect is explained by the recipe."""
    recipe = Recipe((Step(KITS[medium][1]),))
    got = lab_from_reflectance(part(kit, medium).reflectance(recipe))
    assert explain(kit, recipe, got).causes[0].kind is CauseKind.RECIPE


def test_solvent_over_pencil_is_among_the_likely(kit: KitFit) -> None:
    """Pencil that met solvent by brush and was noted without it has that cause in the tie."""
    recipe = Recipe((Step(KITS[Medium.PENCIL][0], Laydown(2)),))
    wet = recipe.then(Recipe((TreatmentStep(Treatment.SOLVENT, Tool.BRUSH),)))
    pencils = part(kit, Medium.PENCIL)
    strong = replace(pencils, noise=replace(pencils.noise, hand=0.02))
    got = lab_from_reflectance(pencils.reflectance(wet))
    found = explain(replace(kit, pencils=strong), recipe, got)
    assert CauseKind.SOLVENT in [cause.kind for cause in found.causes]


def test_media_over_each_other_have_causes_too(kit: KitFit) -> None:
    """A pencil over marker for which another marker was taken below."""
    marker, pencil = KITS[Medium.MARKER], KITS[Medium.PENCIL]
    noted = Recipe((Step(marker[0]), Step(pencil[1])))
    laid = Recipe((Step(marker[2]), Step(pencil[1])))
    found = explain(kit, noted, predict(kit, laid).lab)
    assert found.causes[0].kind is CauseKind.SUPPLY


@pytest.mark.parametrize("medium", FILMS)
def test_each_point_of_a_cause_has_its_words(kit: KitFit, medium: Medium) -> None:
    """As many sentences as colors, for each cause."""
    recipe = Recipe(tuple(Step(c) for c in KITS[medium][:2]))
    gray = Paper("Gray", np.full(36, 0.5))
    for labs, details in film_outcomes(part(kit, medium), recipe, [gray]).values():
        assert labs.shape == (len(details), 3)
        assert np.isfinite(labs).all()


MIXED = mixture((1, KITS[Medium.WASH][0]), (2, KITS[Medium.WASH][1]))


def test_mud_with_a_mixture_is_named_by_the_mixture(kit: KitFit) -> None:
    """What turns muddy is the mixture as a whole, not the first colorant in it."""
    mixed = mixture((1, KITS[Medium.WASH][0]), (1, KITS[Medium.WASH][1]), laydown=Laydown(2))
    laid = Recipe((mixed, Step(KITS[Medium.WASH][2])))
    wanted = predict(kit, Recipe((mixed,))).lab
    asked = Question(Target("", wanted), kit, Limits(steps=2, coats=1), BY_EYE, 2.0, Recipe())
    mud = find_mud(asked, laid, 50.0)
    assert mud is not None
    assert mud.pair == ("mix 1 Shell + 1 Reed", "Cove")
    said = explain(kit, laid, predict(kit, laid).lab, wanted=wanted).causes[0].words
    assert "mix 1 Shell + 1 Reed and Cove make mud" in said


def test_a_test_of_a_mixture_lays_the_mixture(kit: KitFit) -> None:
    """Where a mixture may have been laid too strongly, the mixture is to be laid alone."""
    strong = Recipe((replace(MIXED, laydown=Laydown(3)),))
    found = explain(kit, Recipe((MIXED,)), predict(kit, strong).lab)
    assert "one even coat of mix 1 Shell + 2 Reed alone" in found.test


def test_a_coat_of_a_mixture_is_priced_by_its_parts() -> None:
    """Each colorant counts by its share of the mixture."""
    prices = tuple(
        (c.label, price) for c, price in zip(KITS[Medium.WASH][:2], (0.6, 0.3), strict=True)
    )
    assert Ranking(prices=prices).effort(Recipe((MIXED, MIXED))) == pytest.approx(0.8)
