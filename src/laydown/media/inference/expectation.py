"""What is expected of someone's trials before they are made, and what trials say of that.

Until trials say otherwise the swatches are taken to be the person's own. How far another hand may
be from them is one number, a share of what hands at large differ by. It is learned from the trials
themselves, each of which may be a slip: another marker, wet paper, a color misread.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.media.inference.posterior import information, leave_one_out, log_evidence
from laydown.media.inference.priors import HELD
from laydown.media.swatch import Trial

SHARES = (0.0, 1.0)
"""Of what hands at large differ by, to try: the swatches' own hand, or another. Shares between
taught no better on simulated people."""
OUT = 3.583
"""Root of the 99.5 % point of chi-square, 3 degrees of freedom: a trial farther out is a slip. So a
slip is as likely to show any color as a sound trial is to show one just so far out."""
SLIP = 0.5 * OUT**2
"""By how much the log of the density of a slip lies below that of a sound trial at its highest."""
DOUBT = SLIP - 0.5 - float(np.log(OUT))
"""By how much the log of the odds falls from the swatches' own hand to another: as little as lets
no single trial, whatever its color, be told by another hand rather than by a slip."""
ROUNDS = 6
EASING = 5
"""In the first rounds the limit for a trial is wider, so that a strange hand isn't taken for slips:
by so many times in the first round, falling to 1."""


@dataclass(frozen=True, slots=True, eq=False)
class Expected:
    """What is expected of p parameters before any trial."""

    settled: FloatArray
    """Shape (p, p), the covariance that the swatches leave open."""
    another: FloatArray
    """Shape (p,), by how much each differs from person to person (standard deviations)."""

    def covariance(self, share: float = 1.0) -> FloatArray:
        """Return shape (p, p), for a share of what hands at large differ by."""
        return np.asarray(self.settled + np.diag((share * self.another) ** 2 + HELD**2))

    def precision(self, share: float = 1.0) -> FloatArray:
        """Return the inverse of the covariance."""
        return np.asarray(np.linalg.inv(self.covariance(share)))


def eased(number: int) -> float:
    """Return the limit for a trial in a round.

    Examples
    --------
    >>> [round(eased(number) / OUT, 9) for number in (0, 1, 4, 9)]
    [5.0, 4.0, 1.0, 1.0]
    """
    return OUT * max(EASING * (1.0 - number / EASING), 1.0)


def soundness(distances: FloatArray, limit: float = OUT) -> FloatArray:
    """Return how likely trials are no slips, by their distances from what all others say.

    A sound trial scatters by a Gaussian, a slip by a density as high as that at the limit.
    """
    return np.asarray(1.0 / (1.0 + np.exp(np.clip(0.5 * (distances**2 - limit**2), -50.0, 50.0))))


def likeliest_share(
    expected: Expected, from_mean: FloatArray, jacobian: FloatArray, scatter: FloatArray
) -> float:
    """Return how far the hand is likeliest to be from the swatches, the model made straight.

    Parameters
    ----------
    expected
        Before any trial.
    from_mean, jacobian, scatter
        Shapes (t, 3), (t, 3, p), (t, 3, 3): the trials' differences from what the swatches lead to
        expect, Jacobians, and what each scatters by itself.

    Notes
    -----
    A lone trial never raises the share. Where that makes its variance v times as large along one
    axis, on which it lies d standard deviations out, the log of its probability gains
    ½ d² (1 − 1/v) − ½ ln v; beyond d = `OUT` it is a slip already. That is largest at d = `OUT` and
    v = `OUT`², where it is `DOUBT`; along further axes the last term only grows.
    """
    scores = [
        _log_probability(expected.precision(share), from_mean, jacobian, scatter)
        - DOUBT * (share > 0.0)
        for share in SHARES
    ]
    return SHARES[int(np.argmax(scores))]


def _log_probability(
    precision: FloatArray, from_mean: FloatArray, jacobian: FloatArray, scatter: FloatArray
) -> float:
    """Return the log of how likely trials are, up to a constant: sound ones together, and slips."""
    trust = np.ones(len(from_mean))
    for number in range(ROUNDS):
        hessian, gradient, _ = information(from_mean, jacobian, scatter, trust)
        covariance = np.asarray(np.linalg.inv(precision + hessian))
        residual = from_mean - jacobian @ (covariance @ gradient)
        _, spread, far = leave_one_out(residual, jacobian, scatter, trust, covariance)
        trust = soundness(far, eased(number))
    sound = far <= OUT
    slips = -0.5 * np.linalg.slogdet(spread[~sound])[1] - SLIP
    together = log_evidence(from_mean[sound], jacobian[sound], scatter[sound], precision)
    return together + float(slips.sum())


def picture_jacobian(trials: Sequence[Trial]) -> FloatArray:
    """Return the Jacobian of trials' colors by what the readings of a picture have alike.

    Returns
    -------
    FloatArray
        Shape (t, 3, 3 g) for g pictures, per standard deviation of that error: so it is one more
        set of parameters, of mean 0 and variance 1, and never taken for a hand.

    Examples
    --------
    A trial with an instrument has none.

    >>> from laydown.media.recipe import Recipe
    >>> picture_jacobian([Trial(1, Recipe(), np.zeros(3))]).shape
    (1, 3, 0)
    """
    pictures = list(dict.fromkeys(t.picture for t in trials if t.picture and t.shared > 0.0))
    jacobian = np.zeros((len(trials), 3, 3 * len(pictures)))
    for rows, trial in zip(jacobian, trials, strict=True):
        if trial.picture in pictures:
            first = 3 * pictures.index(trial.picture)
            rows[:, first : first + 3] = trial.shared * np.eye(3)
    return jacobian
