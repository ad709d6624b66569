"""What trials taught: the fit moved to the person, and what each trial says of the others."""

from dataclasses import dataclass, replace

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.media.marker.absorption import absorption, inverse
from laydown.media.marker.fitting import BoolArray, Noise
from laydown.media.marker.model import MarkerFit
from laydown.media.marker.pile import strength_of
from laydown.media.marker.priors import EFFECTS, SCALE
from laydown.media.swatch import FILL_DEVIATION, Fills

TOLD = 0.7
"""An effect whose standard deviation has fallen below this share of its prior is no longer called
assumed (chosen, no source)."""


@dataclass(frozen=True, slots=True, eq=False)
class Learned:
    """What was learned from t trials about a person's n colorants on a paper.

    Parameters
    ----------
    fit
        In the place of the one that swatches alone gave.
    amount, amount_deviation
        Natural log of what the person lays in a coat, against who colored the swatches.
    strengths, strength_deviations
        Shape (n,), natural log of each colorant's own strength.
    numbers
        Of the trials, in their order.
    residuals
        Shape (t, 3), measured Lab minus what the other trials lead to expect.
    spreads
        Shape (t, 3, 3), the covariance of that.
    distances
        Shape (t,), how many standard distances off each is.
    flagged
        Shape (t,), which are too far out to count.
    """

    fit: MarkerFit
    amount: float
    amount_deviation: float
    strengths: FloatArray
    strength_deviations: FloatArray
    numbers: tuple[int, ...]
    residuals: FloatArray
    spreads: FloatArray
    distances: FloatArray
    flagged: BoolArray

    @property
    def flagged_numbers(self) -> tuple[int, ...]:
        """The numbers of the trials that were set aside."""
        return tuple(n for n, out in zip(self.numbers, self.flagged, strict=True) if out)


def learned_from(
    fit: MarkerFit,
    moved: FloatArray,
    covariance: FloatArray,
    *,
    noise: Noise,
    numbers: tuple[int, ...],
    residuals: FloatArray,
    spreads: FloatArray,
    distances: FloatArray,
    flagged: BoolArray,
    fills: Fills,
    prior_variance: FloatArray,
) -> Learned:
    """Put a posterior into the place of a fit.

    Parameters
    ----------
    fit
        What the posterior started from.
    moved
        Shape (e + 1 + n,): how far effects, amount and strengths moved.
    covariance
        Shape (e + 1 + n,) squared, of those.
    noise
        What the trials scatter by.
    numbers, residuals, spreads, distances, flagged
        As in `Learned`.
    fills
        Colorants whose fill has changed since.
    prior_variance
        Shape (e + 1 + n,), of each before any trial, the others known.
    """
    e = len(EFFECTS)
    deviations = np.sqrt(np.diag(covariance))
    if not flagged.all():
        now = _moved_fit(fit, moved, covariance, noise=noise)
        told = deviations[:e] < TOLD * np.sqrt(prior_variance[:e])
        now = replace(now, assumed=fit.assumed - frozenset(np.array(EFFECTS)[told].tolist()))
    else:
        now = fit
    return Learned(
        fit=_widened(now, fills),
        amount=float(moved[e]),
        amount_deviation=float(deviations[e]),
        strengths=moved[e + 1 :],
        strength_deviations=deviations[e + 1 :],
        numbers=numbers,
        residuals=residuals,
        spreads=spreads,
        distances=distances,
        flagged=flagged,
    )


def _moved_fit(
    fit: MarkerFit, moved: FloatArray, covariance: FloatArray, *, noise: Noise
) -> MarkerFit:
    e, n = len(EFFECTS), len(fit.colorants)
    effects = fit.effects + moved[:e]
    colored = 1.0 - fit.blender
    amounts = moved[e] * colored + moved[e + 1 :]
    white = inverse(fit.paper_absorption, scale=fit.scale)
    coated = inverse(fit.paper_absorption + fit.absorption, scale=fit.scale)
    paper = absorption(white, scale=effects[SCALE])
    added = (absorption(coated, scale=effects[SCALE]) - paper) * np.exp(amounts)[:, None]
    turn = np.zeros((e + n, e + 1 + n))
    turn[:e, :e] = np.eye(e)
    turn[e:, e] = colored
    turn[e:, e + 1 :] = np.eye(n)
    return replace(
        fit,
        paper_absorption=paper,
        absorption=added,
        strength=strength_of(added) * colored,
        effects=effects,
        covariance=turn @ covariance @ turn.T,
        hand=noise.hand,
        misfit=noise.misfit,
        cover=noise.cover,
    )


def _widened(fit: MarkerFit, fills: Fills) -> MarkerFit:
    """Return the fit with wider amounts where a marker's fill has changed."""
    extra = [FILL_DEVIATION[fills[c.label]] if c.label in fills else 0.0 for c in fit.colorants]
    if not any(extra):
        return fit
    covariance = fit.covariance + np.diag([*np.zeros(len(EFFECTS)), *np.square(extra)])
    return replace(fit, covariance=covariance)
