"""How good predictions were: trials against what was expected, before and after learning."""

from collections.abc import Sequence
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.color.difference import ciede2000
from laydown.color.value import value_from_lab
from laydown.media.inference.priors import BoolArray
from laydown.media.prediction import Prediction
from laydown.media.swatch import Trial

REGIONS = MappingProxyType({50: 2.366, 80: 4.642, 95: 7.815})
"""Points of chi-square with 3 degrees of freedom: squared distances that hold so many in 100."""


@dataclass(frozen=True, slots=True)
class Score:
    """How a way of predicting did over trials."""

    mean: float
    """CIEDE2000 of predicted from measured, its mean."""
    largest: float
    """The same, the largest."""
    value: float
    """Mean of the absolute difference in value steps."""
    inside: dict[int, float]
    """For each region, in 100: the share of trials in it, in 100."""
    log_score: float
    """Mean natural log of the probability density of what was measured; higher is better."""
    constant_log_score: float
    """The same, had every prediction had the one covariance that fits best in hindsight."""


@dataclass(frozen=True, slots=True, eq=False)
class Compared:
    """A trial against its predictions."""

    number: int
    """Of the trial."""
    measured: FloatArray
    """Shape (3,), Lab."""
    before: FloatArray
    after: FloatArray
    """Shape (3,), expected by swatches alone, and by swatches and all *other* trials."""
    off_before: float
    off_after: float
    """CIEDE2000 of those."""
    flagged: bool
    """Whether the trial was set aside."""


@dataclass(frozen=True, slots=True, eq=False)
class Calibration:
    """Every trial compared, and the scores before and after, without those set aside."""

    trials: tuple[Compared, ...]
    before: Score
    after: Score


def calibrate(
    seen: Sequence[Prediction],
    trials: Sequence[Trial],
    *,
    residuals: FloatArray,
    spreads: FloatArray,
    flagged: BoolArray,
) -> Calibration:
    """Compare trials with what was expected of them.

    Parameters
    ----------
    seen
        What swatches alone predict of each trial's recipe.
    trials
        At least one.
    residuals, spreads, flagged
        As learning has them, where each trial is judged by what all others teach.
    """
    measured = np.array([trial.lab for trial in trials])
    before = np.array([one.lab for one in seen])
    after = measured - residuals
    kept = ~flagged if not flagged.all() else np.ones(len(trials), dtype=bool)
    own = np.array([(t.noise**2) * np.eye(3) for t in trials])
    wide = np.array([one.covariance for one in seen]) + own
    far = ciede2000(before, measured), ciede2000(after, measured)
    compared = tuple(
        Compared(t.number, m, b, a, float(f), float(g), bool(out))
        for t, m, b, a, f, g, out in zip(
            trials, measured, before, after, *far, flagged, strict=True
        )
    )
    return Calibration(
        compared,
        score(before[kept], wide[kept], measured[kept]),
        score(after[kept], spreads[kept], measured[kept]),
    )


def score(predicted: FloatArray, covariance: FloatArray, measured: FloatArray) -> Score:
    """Score predictions against what was measured.

    Parameters
    ----------
    predicted, measured
        Shape (t, 3), Lab.
    covariance
        Shape (t, 3, 3).

    Examples
    --------
    A prediction that is right lies in every region.

    >>> exact = score(np.array([[50.0, 0, 0]]), np.eye(3)[None], np.array([[50.0, 0, 0]]))
    >>> exact.inside[50], exact.mean
    (100.0, 0.0)
    """
    away = measured - predicted
    squares = _squares(away, covariance)
    far = ciede2000(predicted, measured)
    values = np.abs(value_from_lab(measured) - value_from_lab(predicted))
    constant = away.T @ away / len(away) + 1e-6 * np.eye(3)
    same = np.broadcast_to(constant, covariance.shape)
    return Score(
        mean=float(far.mean()),
        largest=float(far.max()),
        value=float(values.mean()),
        inside={
            region: float(100.0 * np.mean(squares <= limit)) for region, limit in REGIONS.items()
        },
        log_score=_log_score(squares, covariance),
        constant_log_score=_log_score(_squares(away, same), same),
    )


def _squares(away: FloatArray, covariance: FloatArray) -> FloatArray:
    solved = np.linalg.solve(covariance, away[..., None])[..., 0]
    return np.asarray(np.einsum("ti,ti->t", away, solved))


def _log_score(squares: FloatArray, covariance: FloatArray) -> float:
    volume = np.linalg.slogdet(covariance)[1]
    return float(np.mean(-0.5 * (squares + volume + 3.0 * np.log(2.0 * np.pi))))
