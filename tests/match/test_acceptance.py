"""The chance that an observer accepts."""

from math import hypot

import numpy as np
import pytest

from laydown.color.lab import ciede2000
from laydown.match.acceptance import (
    acceptance,
    acceptances,
    accepting_share,
    may_each_pass,
    may_pass,
)
from laydown.reference.thresholds import thresholds

WANTED = np.array([60.0, 20.0, 30.0])
CERTAIN = np.zeros((3, 3))


def test_the_same_color_known_for_certain_is_accepted_by_all() -> None:
    """Nobody rejects what can't be told apart."""
    assert acceptance(WANTED, WANTED, CERTAIN, tolerance=2.25) == pytest.approx(1.0)


def test_half_accept_at_the_tolerance() -> None:
    """That is what the tolerance means."""
    lab = WANTED + np.array([2.0, 0.0, 0.0])
    far = float(ciede2000(WANTED, lab))
    assert acceptance(WANTED, lab, CERTAIN, tolerance=far) == pytest.approx(0.5)


def test_a_farther_color_is_accepted_by_fewer() -> None:
    """The chance falls from all to none as lightness moves off."""
    labs = WANTED + np.linspace(0, 15, 8)[:, None] * np.array([1.0, 0.0, 0.0])
    chances = [acceptance(WANTED, lab, CERTAIN, tolerance=2.25) for lab in labs]
    assert chances == sorted(chances, reverse=True)
    assert chances[-1] < 1e-3


def test_less_certainty_lowers_a_good_chance_and_raises_a_bad_one() -> None:
    """A spread takes a match at the target away from it, and one far off nearer to it."""
    wide = np.eye(3) * 4.0
    far = WANTED + np.array([5.0, 0.0, 0.0])
    assert acceptance(WANTED, WANTED, wide, tolerance=2.25) < 0.8
    assert acceptance(WANTED, far, wide, tolerance=2.25) > acceptance(
        WANTED, far, CERTAIN, tolerance=2.25
    )


@pytest.mark.parametrize("spread", [0.5, 1.0, 3.0])
def test_the_rule_agrees_with_drawing_by_chance(spread: float) -> None:
    """A hundred thousand draws from the same covariance give the same chance to 0.02."""
    rng = np.random.default_rng(2)
    root = spread * np.array([[1.0, 0.3, 0.0], [0.0, 1.2, -0.4], [0.0, 0.0, 0.8]])
    lab = WANTED + np.array([1.0, -1.0, 0.5])
    cloud = lab + rng.standard_normal((100_000, 3)) @ root
    drawn = accepting_share(ciede2000(WANTED, cloud), tolerance=2.25).mean()
    assert acceptance(WANTED, lab, root.T @ root, tolerance=2.25) == pytest.approx(drawn, abs=0.02)


def test_shares_of_observers_are_those_of_a_normal_distribution() -> None:
    """Half accept what is off by the tolerance, 97.5 % what is 1.959964 deviations nearer."""
    spread = hypot(thresholds()["observer spread"], thresholds()["formula spread"])
    off = 2.0 * np.exp(-spread * np.array([0.0, 1.959964]))
    np.testing.assert_allclose(accepting_share(off, tolerance=2.0), [0.5, 0.975], atol=1e-7)


@pytest.mark.parametrize("sd", [0.0, 1.0, 6.0])
def test_who_may_pass_is_what_the_chances_say(sd: float) -> None:
    """Whether the points in the middle decide it or all are asked."""
    rng, wanted = np.random.default_rng(8), np.array([55.0, 10.0, -20.0])
    labs = wanted + rng.normal(size=(300, 3)) * 5.0
    roots = sd * rng.normal(size=(300, 3, 3)) / np.sqrt(3.0)
    covariances = roots @ roots.swapaxes(1, 2)
    chances = acceptances(wanted, labs, covariances, tolerance=4.5).tolist()
    passing = may_each_pass(wanted, labs, covariances, tolerance=4.5).tolist()
    assert passing == [may_pass(chance) for chance in chances]
    assert {*passing} == {True, False}
