from dataclasses import replace

import numpy as np
import pytest

from laydown.color.lab import lab_from_reflectance
from laydown.match.diagnosis import explain
from laydown.match.mishaps import CauseKind, mishap_priors, outcomes
from laydown.media.kit.fit import predict
from laydown.media.laydown import Laydown
from laydown.media.marker.fitting import fit_markers
from laydown.media.marker.model import MarkerFit
from laydown.media.recipe import Colorant, Paper, Recipe, Step
from laydown.media.swatch import Swatch

PAPER = Paper("Plover", np.full(36, 0.9))
BAND = np.arange(36)
NAMES = ("Shell", "Reed", "Cove", "Slate")
KIT = tuple(Colorant(name, "Cliff") for name in NAMES)


@pytest.fixture(scope="module")
def fit() -> MarkerFit:
    """Four markers, each absorbing elsewhere, in one and two coats and three pairs."""
    depth = [(0.5 + 0.3 * k) * np.exp(-(((BAND - 10 * k - 3) / 7) ** 2)) for k in range(4)]
    swatches = [
        Swatch("Plover", Recipe((Step(c, Laydown(n)),)), 0.9 * np.exp(-n * d))
        for c, d in zip(KIT, depth, strict=True)
        for n in (1, 2)
    ]
    swatches += [
        Swatch("Plover", Recipe((Step(KIT[i]), Step(KIT[j]))), 0.9 * np.exp(-depth[i] - depth[j]))
        for i, j in ((0, 3), (3, 0), (1, 2), (2, 1), (0, 2), (2, 0))
    ]
    return fit_markers(swatches, PAPER, colorants=list(KIT))


def lay(*steps: tuple[int, int]) -> Recipe:
    """Return a recipe of places in the kit and coats."""
    return Recipe(tuple(Step(KIT[place], Laydown(coats)) for place, coats in steps))


def test_another_colorant_is_recognized(fit: MarkerFit) -> None:
    """What another marker gives is explained by that marker, by its name."""
    got = predict(fit, lay((2, 1))).lab
    found = explain(fit, lay((1, 1)), got)
    assert found.causes[0].kind is CauseKind.SUPPLY
    assert "Cove was taken for Reed" in found.causes[0].words
    assert found.deviations > 3


def test_too_much_is_recognized(fit: MarkerFit) -> None:
    """A coat of 1.9 times the color is an amount, and the test is one coat alone."""
    strong = replace(fit, absorption=1.9 * fit.absorption, strength=1.9 * fit.strength)
    found = explain(fit, lay((3, 1)), predict(strong, lay((3, 1))).lab)
    kinds = [cause.kind for cause in found.causes[: found.tied]]
    assert CauseKind.AMOUNT in kinds
    assert found.test


def test_another_paper_is_recognized_and_named(fit: MarkerFit) -> None:
    """A known gray paper is named, and the test is to measure the bare paper."""
    gray = Paper("Fulmar gray", np.full(36, 0.5))
    on_gray = predict(fit, lay((0, 1))).reflectance * 0.5 / 0.9
    found = explain(fit, lay((0, 1)), lab_from_reflectance(on_gray), papers=[gray])
    assert found.causes[0].kind is CauseKind.PAPER
    assert "Fulmar gray" in found.causes[0].words
    assert "bare paper" in found.test


def test_nothing_went_wrong_is_an_answer(fit: MarkerFit) -> None:
    """What the recipe leads to expect is explained by the recipe, first of all."""
    found = explain(fit, lay((1, 1), (2, 1)), predict(fit, lay((1, 1), (2, 1))).lab)
    assert found.causes[0].kind is CauseKind.RECIPE
    assert found.deviations == pytest.approx(0.0, abs=1e-6)


def test_mud_is_named_by_its_two(fit: MarkerFit) -> None:
    """Where a vivid color was wanted and two colorants dull each other, both are named."""
    recipe = lay((1, 3), (3, 3))
    got = predict(fit, recipe).lab
    wanted = got.copy()
    wanted[1:] *= 1.0 + 40.0 / max(np.hypot(*got[1:]), 1.0)
    found = explain(fit, recipe, got, wanted=wanted)
    assert found.causes[0].kind is CauseKind.RECIPE
    assert "Reed and Slate make mud together" in found.causes[0].words


def test_each_cause_says_what_to_do_now_and_next_time(fit: MarkerFit) -> None:
    """Too little color takes another coat; too much can't be taken off, and asks for care."""
    amounts = {}
    for factor in (0.45, 1.9):
        laid = replace(fit, absorption=factor * fit.absorption, strength=factor * fit.strength)
        found = explain(fit, lay((3, 1)), predict(laid, lay((3, 1))).lab)
        assert all(cause.now and cause.next_time for cause in found.causes)
        amounts[factor] = next(c for c in found.causes if c.kind is CauseKind.AMOUNT)
    assert "one more coat" in amounts[0.45].now
    assert "can’t be taken off" in amounts[1.9].now
    assert "about half the usual color" in amounts[0.45].words
    assert "about twice the usual color" in amounts[1.9].words


def test_a_color_that_nothing_explains_is_said_to_be_so(fit: MarkerFit) -> None:
    """Far from all that any cause gives, none of the usual ones is blamed."""
    found = explain(fit, lay((0, 1)), np.array([30.0, 60.0, -60.0]))
    assert found.causes[0].kind is CauseKind.OTHER


def test_chances_add_up_and_ties_are_stated(fit: MarkerFit) -> None:
    """Chances are at most 1 in all, fall from cause to cause, and tied ones are within five."""
    found = explain(fit, lay((3, 2)), predict(fit, lay((3, 1))).lab)
    chances = [cause.chance for cause in found.causes]
    assert sum(chances) <= 1.0 + 1e-9
    assert chances == sorted(chances, reverse=True)
    assert all(chance * 5.0 >= chances[0] for chance in chances[: found.tied])


def test_every_cause_has_a_prior_and_they_add_to_about_one() -> None:
    """The table of priors names each cause."""
    assert set(mishap_priors()) == set(CauseKind)
    assert sum(mishap_priors().values()) == pytest.approx(1.0, abs=0.03)


def test_each_point_of_a_cause_has_its_words(fit: MarkerFit) -> None:
    """As many sentences as colors, for each cause."""
    for labs, details in outcomes(fit, lay((0, 1), (2, 2)), [PAPER]).values():
        assert labs.shape == (len(details), 3)
        assert np.isfinite(labs).all()
