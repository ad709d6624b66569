from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest

from laydown.media.film.fitting import fit_films
from laydown.media.inference.design import asked_by, sights, unsure, updated
from laydown.media.inference.learning import by_own_hand
from laydown.media.laydown import Laydown
from laydown.media.marker.fitting import fit_markers
from laydown.media.marker.model import MarkerFit
from laydown.media.recipe import Colorant, Medium, Paper, Recipe, Step
from laydown.media.swatch import Swatch
from laydown.plan.notebook import candidates_of, next_trials

PAPER = Paper("Gannet smooth", np.full(36, 0.9))
KIT = tuple(Colorant(name, "Shoal") for name in ("Kelp", "Dune", "Skiff", "Net"))
BAND = np.arange(36)


@pytest.fixture(scope="module")
def fit() -> MarkerFit:
    """Four markers in one and two coats."""
    swatches = [
        Swatch(PAPER.name, Recipe((Step(c, Laydown(n)),)),
               0.9 * np.exp(-0.7 * n * np.exp(-(((BAND - 9 * k - 4) / 8) ** 2))))
        for k, c in enumerate(KIT)
        for n in (1, 2)
    ]  # fmt: skip
    return fit_markers(swatches, PAPER)


LESSON = [Recipe((Step(KIT[0]), Step(KIT[1]))), Recipe((Step(KIT[2], Laydown(2)),))]


def test_trials_make_the_lesson_surer_one_after_the_other(fit: MarkerFit) -> None:
    """Each begins where the one before ended, and none is proposed twice."""
    chosen = next_trials(by_own_hand(fit), LESSON)
    assert chosen
    assert all(t.after < t.before for t in chosen)
    assert all(a.after == b.before for a, b in pairwise(chosen))
    assert len({t.recipe for t in chosen}) == len(chosen)


def test_the_first_is_the_best_of_all(fit: MarkerFit) -> None:
    """No other candidate alone would leave less unsure."""
    wide = by_own_hand(fit)
    (best,) = next_trials(wide, LESSON, most=1)
    asked = asked_by(wide, LESSON)
    others = [
        unsure(updated(wide.covariance, patch), asked)
        for patch in sights(wide, candidates_of(LESSON))
    ]
    assert best.after == pytest.approx(min(others))
    assert max(others) > best.after + 0.1


def test_only_colorants_of_the_lesson_are_tried(fit: MarkerFit) -> None:
    """Net is in no recipe, so trying it would teach this lesson little."""
    used = {c for t in next_trials(by_own_hand(fit), LESSON) for c in t.recipe.colorants}
    assert KIT[3] not in used


def test_nothing_is_worth_trying_when_all_is_sure(fit: MarkerFit) -> None:
    """A lesson that is known as well as it will be has no next trial."""
    sure = replace(fit, covariance=1e-4 * fit.covariance)
    assert next_trials(sure, LESSON) == ()
    assert next_trials(fit, []) == ()


def test_pencils_have_next_trials_too() -> None:
    """Trials of a lesson in pencil make it surer, and name none of its colorants twice alike."""
    kit = [Colorant(name, "Bank", Medium.PENCIL) for name in ("Moss", "Heath", "Peat")]
    swatches = [
        Swatch(PAPER.name, Recipe((Step(c, Laydown(n)),)),
               0.9 * np.exp(-0.7 * n * np.exp(-(((BAND - 11 * k - 6) / 8) ** 2))))
        for k, c in enumerate(kit)
        for n in (1, 2)
    ]  # fmt: skip
    films = fit_films(swatches, PAPER, Medium.PENCIL, colorants=kit)
    lesson = [Recipe((Step(kit[0]), Step(kit[1]))), Recipe((Step(kit[0], Laydown(2)),))]
    chosen = next_trials(by_own_hand(films), lesson)
    assert chosen
    assert chosen[-1].after < 0.8 * chosen[0].before
    assert kit[2] not in {c for t in chosen for c in t.recipe.colorants}
