"""How much the hand scatters, the model misses and pigments differ, as film swatches tell it."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.media.film_model import OWN, FilmPriors

FACTORS = np.geomspace(0.25, 4.0, 17)
"""What the prior noise is multiplied by, to try."""
USUAL_COLORANTS = 6.0
"""As firmly as so many colorants would tell it, the usual spread of scattering is believed
(chosen)."""


@dataclass(frozen=True, slots=True, eq=False)
class FilmLeft:
    """What a fit leaves of one swatch.

    Parameters
    ----------
    away
        Shape (f,), its features less those that the prior's middle leads to, the model made
        straight at the fit.
    turned
        Shape (f, p), slopes by parameter; amounts in units of the hand's scatter.
    by_hand
        Shape (f, s), slopes by what each step lays.
    noise
        Of its measurement.
    steps
        How many the model may miss.
    trust
        1, or less for one far out.
    """

    away: FloatArray
    turned: FloatArray
    by_hand: FloatArray
    noise: float
    steps: int
    trust: float

    def own(self, hand: float, misfit: float) -> FloatArray:
        """Return what it scatters by itself, shape (f, f)."""
        plain = self.noise**2 + misfit**2 * self.steps
        own = hand**2 * self.by_hand @ self.by_hand.T + plain * np.eye(len(self.away))
        return np.asarray(own / self.trust)


def likeliest_film_noise(
    left: Sequence[FilmLeft],
    spread: FloatArray,
    amounts: Sequence[int],
    *,
    priors: FilmPriors,
    now: tuple[float, float],
) -> tuple[float, float]:
    """Return the hand and the misfit that make the swatches most probable, one after the other.

    All parameters are integrated out, so that noise isn't mistaken for what they could explain.

    Parameters
    ----------
    left
        The swatches, references aside.
    spread
        Shape (p,), prior standard deviations.
    amounts
        Places of the colorants' amounts among the parameters.
    priors
        Of the medium; the misfit is never below its lowest, for layers that no swatch shows miss
        by more than those that do.
    now
        The hand that the amounts are in units of, and the misfit to start from.
    """
    if not left:
        return now

    def score(hand: float, misfit: float) -> float:
        precision = spread**-2.0
        precision[amounts] *= (now[0] / hand) ** 2
        odds = (np.log(hand / priors.hand) / priors.hand_sd) ** 2
        odds += (np.log(misfit / priors.misfit) / priors.misfit_sd) ** 2
        return _evidence(left, precision, hand, misfit) - 0.5 * float(odds)

    hands = (priors.hand * FACTORS).tolist()
    hand = max(hands, key=lambda tried: score(tried, now[1]))
    misfits = np.maximum(priors.misfit * FACTORS, priors.misfit_lowest).tolist()
    return hand, max(misfits, key=lambda tried: score(hand, tried))


def _evidence(left: Sequence[FilmLeft], precision: FloatArray, hand: float, misfit: float) -> float:
    """Return the log probability of what is away from the prior's middle, parameters out."""
    weight, pull, total = np.diag(precision), np.zeros(len(precision)), 0.0
    for one in left:
        own = one.own(hand, misfit)
        places = np.flatnonzero(one.turned.any(axis=0))
        solved = np.linalg.solve(own, np.column_stack([one.turned[:, places], one.away]))
        weight[np.ix_(places, places)] += one.turned[:, places].T @ solved[:, :-1]
        pull[places] += one.turned[:, places].T @ solved[:, -1]
        total += float(one.away @ solved[:, -1]) + float(np.linalg.slogdet(own)[1])
    total -= float(pull @ np.linalg.solve(weight, pull))
    total += float(np.linalg.slogdet(weight)[1]) - float(np.log(precision).sum())
    return -0.5 * total


def likeliest_spreads(own: FloatArray, unsure: FloatArray, usual: FloatArray) -> FloatArray:
    """Return how far colorants differ in scattering, as those of the range do.

    One round of expectation and maximization: the mean square of what each has of its own, what
    is unsure of it included, the usual spreads counting as `USUAL_COLORANTS` more.

    Parameters
    ----------
    own
        Shape (n, 5), see `laydown.media.film_model.OWN`.
    unsure
        Shape (n, 5), its variance.
    usual
        Shape (5,); the amount's stays what it is.

    Examples
    --------
    Six colorants all alike halve the usual variance.

    >>> alike = likeliest_spreads(np.zeros((6, 5)), np.zeros((6, 5)), np.full(5, 0.4))
    >>> alike.round(3).tolist()
    [0.4, 0.283, 0.283, 0.283, 0.283]
    """
    squares = (own**2 + unsure).sum(axis=0)
    found = np.sqrt((USUAL_COLORANTS * usual**2 + squares) / (USUAL_COLORANTS + len(own)))
    return np.where(np.arange(len(OWN)) == 0, usual, found)
