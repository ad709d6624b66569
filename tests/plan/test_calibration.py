from dataclasses import replace

import numpy as np
import pytest

from laydown.media.inference.learning import learn
from laydown.media.kit.fit import predict
from laydown.media.laydown import Laydown
from laydown.media.marker.fitting import fit_markers
from laydown.media.recipe import Colorant, Paper, Recipe, Step
from laydown.media.swatch import Swatch, Trial
from laydown.plan.notebook import REGIONS, calibrate, score


def test_regions_hold_their_share_of_errors_with_long_tails() -> None:
    """Of 4,000 errors of the stated covariance, 50, 80 and 95 in 100 lie inside."""
    rng = np.random.default_rng(1)
    root = np.array([[2.0, 0, 0], [0.5, 1.0, 0], [-0.3, 0.2, 1.5]])
    away = rng.normal(size=(4000, 3)) @ root.T * np.sqrt(8 / rng.chisquare(10, (4000, 1)))
    middle = np.tile([50.0, 0.0, 0.0], (4000, 1))
    found = score(middle, np.tile(root @ root.T, (4000, 1, 1)), middle + away)
    for region in REGIONS:
        assert found.inside[region] == pytest.approx(region, abs=1.5)
    assert found.log_score == pytest.approx(found.constant_log_score, abs=0.01)


def test_a_right_covariance_of_each_scores_above_a_constant_one() -> None:
    """Where errors differ from trial to trial, saying so is worth a higher log score."""
    rng = np.random.default_rng(2)
    sd = np.where(np.arange(2000) % 2, 4.0, 0.5)
    middle = np.tile([60.0, 5.0, 5.0], (2000, 1))
    covariance = sd[:, None, None] ** 2 * np.eye(3)
    found = score(middle, covariance, middle + sd[:, None] * rng.normal(size=(2000, 3)))
    assert found.log_score > found.constant_log_score + 0.5


def test_trials_are_judged_by_the_others() -> None:
    """After learning, a heavy hand's trials are nearer to what was expected than before."""
    paper = Paper("Plover", np.full(36, 0.9))
    kit = [Colorant(name, "Cliff") for name in ("Shell", "Reed", "Cove")]
    band = np.arange(36)
    depth = [0.6 * np.exp(-(((band - 12 * k - 5) / 8) ** 2)) for k in range(3)]
    fit = fit_markers(
        [Swatch("Plover", Recipe((Step(c),)), 0.9 * np.exp(-d))
         for c, d in zip(kit, depth, strict=True)],
        paper,
    )  # fmt: skip
    recipes = [Recipe((Step(c, Laydown(n)),)) for c in kit for n in (1, 2)]
    heavy = replace(fit, absorption=1.4 * fit.absorption, strength=1.4 * fit.strength)
    trials = [Trial(n, r, predict(heavy, r).lab) for n, r in enumerate(recipes, 1)]
    learned = learn(fit, trials)
    found = calibrate(
        [predict(fit, r) for r in recipes],
        trials,
        residuals=learned.residuals,
        spreads=learned.spreads,
        flagged=learned.flagged,
    )
    assert [one.number for one in found.trials] == [1, 2, 3, 4, 5, 6]
    assert found.after.mean < 0.4 * found.before.mean
    assert found.after.log_score > found.before.log_score
