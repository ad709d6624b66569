"""What is expected of someone's trials before they are made, and how far trials widen that.

Until trials say otherwise the swatches are taken to be the person's own. How far another hand may
be from them is one number, a share of what hands at large differ by. It is learned from the trials
themselves: one that lies inside what was promised leaves it at its least, so that it can't move
what several swatches settled; more of them that agree raise it.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.media.inference.posterior import information, log_evidence
from laydown.media.inference.priors import HELD
from laydown.media.swatch import Trial

SHARES = np.linspace(0.05, 1.0, 20)
"""Of what hands at large differ by, to try; the least is there for the sake of the numbers."""
DOUBT = 1.0
"""By how much the log of the odds falls from the swatches' own hand to one of any kind: as little
as keeps one trial inside the region of 80 in 100 from raising the share (derived for one amount in
docs/decisions/notebook.md, and tried on simulated people)."""


@dataclass(frozen=True, slots=True, eq=False)
class Expected:
    """What is expected of p parameters before any trial.

    Parameters
    ----------
    settled
        Shape (p, p), the covariance for the hand that colored the swatches: what those leave open,
        and how one marker or paper differs from another of its name.
    place
        Of the log amount that all coats of a person have in common, 0 in `settled`.
    amount
        Its standard deviation among hands at large.
    """

    settled: FloatArray
    place: int
    amount: float

    def covariance(self, share: float = 1.0) -> FloatArray:
        """Return shape (p, p), for a share of what hands at large differ by."""
        covariance = self.settled.copy()
        covariance[self.place, self.place] += max(share * self.amount, HELD) ** 2
        return covariance

    def precision(self, share: float = 1.0) -> FloatArray:
        """Return the inverse of the covariance."""
        return np.asarray(np.linalg.inv(self.covariance(share)))


@dataclass(frozen=True, slots=True, eq=False)
class Weighed:
    """How likely each of `SHARES` is, and what trials teach if it is the right one.

    Parameters
    ----------
    odds
        Shape (shares,), probabilities.
    moved
        Shape (shares, p), how far the parameters move from what was expected.
    covariances
        Shape (shares, p, p), of the parameters.
    """

    odds: FloatArray
    moved: FloatArray
    covariances: FloatArray

    @property
    def likeliest(self) -> float:
        """The share that trials and doubt together make most probable."""
        return float(SHARES[int(np.argmax(self.odds))])

    @property
    def covariance(self) -> FloatArray:
        """Shape (p, p), about where the likeliest share leads, the share itself unsure.

        References
        ----------
        R. E. Kass, D. Steffey, Approximate Bayesian inference in conditionally independent
        hierarchical models, J. Am. Stat. Assoc. 84 (1989) 717–726.
        """
        apart = self.moved - self.moved[int(np.argmax(self.odds))]
        between = np.einsum("s,sp,sq->pq", self.odds, apart, apart)
        return np.asarray(np.einsum("s,spq->pq", self.odds, self.covariances) + between)


def weigh_shares(
    expected: Expected, from_mean: FloatArray, jacobian: FloatArray, scatter: FloatArray
) -> Weighed:
    """Weigh how far a hand may be from the swatches, the model made straight.

    Parameters
    ----------
    expected
        Before any trial.
    from_mean, jacobian, scatter
        Shapes (t, 3), (t, 3, p), (t, 3, 3): the trials' differences from what the swatches lead to
        expect, Jacobians, and what each scatters by itself over its trust.
    """
    ones = np.ones(len(from_mean))
    hessian, gradient, _ = information(from_mean, jacobian, scatter, ones)
    precisions = np.array([expected.precision(float(share)) for share in SHARES])
    evidence = [log_evidence(from_mean, jacobian, scatter, one) for one in precisions]
    logs = np.array(evidence) - DOUBT * SHARES
    covariances = np.asarray(np.linalg.inv(precisions + hessian))
    odds = np.exp(logs - logs.max())
    return Weighed(odds / odds.sum(), covariances @ gradient, covariances)


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
