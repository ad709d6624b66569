"""What the notebook promises, on a few people; fifty are in ``benchmarks/learning.py``."""

import numpy as np
import pytest

from laydown.match.diagnosis import explain
from simulated.learning_bench import (
    PersonScored,
    flagged_shares,
    inside,
    mean_off,
    score_person,
    suggested_against_random,
)
from simulated.mishaps import KINDS, mishap, place
from simulated.people import HEAVIEST, LIGHTEST, STRENGTH, SwatchedRange, person

PEOPLE = 5
MISHAPS = 42


@pytest.fixture(scope="module")
def people(known: SwatchedRange) -> list[PersonScored]:
    """Five people with thirty trials each."""
    return [score_person(known, [2036, number], floor=False) for number in range(PEOPLE)]


def test_people_are_drawn_within_what_is_said(known: SwatchedRange) -> None:
    """Amounts lie between 0.6 and 1.5, and each marker's strength within 15 in 100."""
    for seed in range(20):
        who = person(known, np.random.default_rng(seed))
        own = np.exp(who.log_amounts) / who.hand.amount
        assert LIGHTEST <= who.hand.amount <= HEAVIEST
        assert np.all(np.abs(own - 1.0) <= STRENGTH)


def test_trials_bring_predictions_nearer(people: list[PersonScored]) -> None:
    """After 10 trials predictions are clearly nearer than before, after 30 nearer still."""
    before, at_10, at_30 = (mean_off(people, way) for way in ("before", "10", "30"))
    assert at_10 < 0.9 * before
    assert at_30 < at_10


def test_more_is_learned_than_the_amount(people: list[PersonScored]) -> None:
    """At 30 trials learning strengths and effects too is better than learning the amount alone."""
    assert mean_off(people, "30") < mean_off(people, "30, amount only")


def test_regions_hold_about_what_they_say(people: list[PersonScored]) -> None:
    """Of 125 colors, 80 % regions hold 70 to 92 in 100; before learning they hold far fewer."""
    assert 70.0 <= inside(people, "30")[80] <= 92.0
    assert inside(people, "before")[80] < 70.0


def test_slips_are_flagged_and_hands_are_not(people: list[PersonScored]) -> None:
    """At least 9 in 10 clear slips are flagged, and at most 3 in 100 of the rest."""
    count, found, false = flagged_shares(people)
    assert count >= 3
    assert found >= 0.9
    assert false <= 0.03


def test_suggested_trials_serve_a_lesson_better_than_random_ones(known: SwatchedRange) -> None:
    """Over six people the suggested ones leave less error, on the mean."""
    pairs = np.array([suggested_against_random(known, [4077, n]) for n in range(6)])
    assert pairs[:, 0].mean() < pairs[:, 1].mean()


def test_mishaps_are_explained(known: SwatchedRange) -> None:
    """Of 42 mishaps of one cause each, at least 85 in 100 are explained first or in the tie."""
    where = place(known)
    right = 0
    for number in range(MISHAPS):
        one = mishap(where, KINDS[number % len(KINDS)], np.random.default_rng([5, number]))
        found = explain(known.fit, one.recipe, one.lab, wanted=one.wanted, papers=where.papers)
        right += one.kind in [cause.kind for cause in found.causes[: found.tied]]
    assert right >= 0.85 * MISHAPS
