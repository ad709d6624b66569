"""What stays true over seasons of noted trials; thirty more in ``benchmarks/seasons.py``."""

import numpy as np
import pytest

from simulated.people import SwatchedRange
from simulated.seasons import Season, answered_by_themselves, season

pytestmark = pytest.mark.long

SEASONS = 5


@pytest.fixture(scope="module")
def seasons(known: SwatchedRange) -> list[Season]:
    """Five seasons of thirty honest trials, and of each one false trial apart."""
    return [season(known, [2050, number]) for number in range(SEASONS)]


def test_a_kits_own_colors_are_answered_by_themselves(
    known: SwatchedRange, seasons: list[Season]
) -> None:
    """After 1, 3, 10 and 30 honest trials at least 98 in 100 are, as before any."""
    for stage in range(len(seasons[0].answers)):
        shares = [answered_by_themselves(known, one.answers[stage]) for one in seasons]
        assert np.mean(shares) >= 0.98


def test_honest_trials_never_lead_away_from_the_truth(seasons: list[Season]) -> None:
    """In no season the mean error grows by more than 0.1, and after 30 trials it has fallen."""
    growth = np.array([np.array(one.errors) - one.errors[0] for one in seasons])
    assert growth.max() <= 0.1
    assert growth[:, -1].mean() < 0.0


def test_one_trial_widens_nothing(seasons: list[Season]) -> None:
    """No prediction is wider by more than 2 in 100 after one honest trial."""
    assert max(one.wider for one in seasons) < 1.02


def test_one_false_trial_changes_no_verdict(seasons: list[Season]) -> None:
    """Another marker, far too much laid or a color misread: all answers stay what they were."""
    for one in seasons:
        before = [(a.recipe, a.verdict) for a in one.answers[0]]
        assert [(a.recipe, a.verdict) for a in one.after_slip] == before
