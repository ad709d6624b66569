"""How much the hand scatters and the model misses, as the swatches themselves tell it."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.media.fitting import HUBER, Layered, Noise, Posterior, own_covariance, slopes_of
from laydown.media.priors import EFFECTS, Priors
from laydown.media.references import Reference

FACTORS = np.geomspace(0.25, 4.0, 17)
"""What the prior noise is multiplied by, to try."""


def amount_variances(references: Sequence[Reference], hand: float) -> FloatArray:
    """Return the variance of each reference swatch's log amount, shape (n,).

    Examples
    --------
    >>> two = Reference(np.ones(36), replicates=4, unsure=0.0, xyz_only=False)
    >>> amount_variances([two], 0.1).round(6).tolist()
    [0.0025]
    """
    return np.array([hand**2 / r.replicates + r.unsure**2 for r in references])


def likeliest_noise(
    layered: Sequence[Layered],
    references: Sequence[Reference],
    fitted: Posterior,
    *,
    ceiling: FloatArray,
    priors: Priors,
) -> Noise:
    """Return the noise that makes the swatches most probable, one kind after the other.

    All parameters are integrated out of the model made straight at the fit, so that noise isn't
    mistaken for what the parameters could explain.

    Parameters
    ----------
    layered, references
        The swatches.
    fitted
        A fit made with some noise near it.
    ceiling
        Shape (36,).
    priors
        Of the effects and of the noise.
    """
    slopes = [slopes_of(swatch, fitted.parameters, ceiling) for swatch in layered]
    turned = np.array([t.by_parameter for t in slopes])
    mean = np.concatenate([priors.mean, np.zeros(len(references))])
    away = np.array([t.left + t.by_parameter @ (fitted.parameters - mean) for t in slopes])
    trust = np.minimum(1.0, HUBER / np.maximum(fitted.distances, 1e-9))

    def score(noise: Noise) -> float:
        by_itself = _replicates(references, noise.hand) + _expected(noise, priors)
        if not layered:
            return by_itself
        own = [own_covariance(s, t, noise) for s, t in zip(layered, slopes, strict=True)]
        blocks = np.array(own) / trust[:, None, None]
        precision = np.concatenate(
            [priors.sd**-2.0, 1.0 / amount_variances(references, noise.hand)]
        )
        return by_itself + evidence(blocks, turned, away, np.diag(precision))

    noise = fitted.noise
    noise = max([replace(noise, hand=priors.hand * f) for f in FACTORS], key=score)
    noise = max([replace(noise, misfit=priors.misfit * f) for f in FACTORS], key=score)
    return max([replace(noise, cover=priors.cover * f) for f in FACTORS], key=score)


def evidence(
    blocks: FloatArray, turned: FloatArray, away: FloatArray, precision: FloatArray
) -> float:
    """Return the log probability of differences from the prior's mean, parameters integrated out.

    Parameters
    ----------
    blocks, turned, away
        Shapes (l, 3, 3), (l, 3, p), (l, 3): own covariances, slopes, differences.
    precision
        Shape (p, p), of the prior.
    """
    solved = np.linalg.solve(blocks, np.concatenate([turned, away[..., None]], axis=-1))
    weight = np.einsum("lip,liq->pq", turned, solved[..., :-1]) + precision
    pull = np.einsum("lip,li->p", turned, solved[..., -1])
    square = float(np.einsum("li,li->", away, solved[..., -1])) - float(
        pull @ np.linalg.solve(weight, pull)
    )
    volume = np.linalg.slogdet(blocks)[1].sum() + np.linalg.slogdet(weight)[1]
    return float(-0.5 * (square + volume - np.linalg.slogdet(precision)[1]))


def _replicates(references: Sequence[Reference], hand: float) -> float:
    count = sum(r.replicates - 1 for r in references)
    total = sum(r.scatter for r in references)
    return float(-count * np.log(hand) - 0.5 * total / hand**2)


def _expected(noise: Noise, priors: Priors) -> float:
    by_hand = np.log(noise.hand / priors.hand) / priors.hand_sd
    by_model = np.log(noise.misfit / priors.misfit) / priors.misfit_sd
    by_cover = np.log(noise.cover / priors.cover) / priors.cover_sd
    return float(-0.5 * (by_hand**2 + by_model**2 + by_cover**2))


def effects_only(posterior: Posterior) -> FloatArray:
    """Return the effects of a fit, shape (7,)."""
    return posterior.parameters[: len(EFFECTS)]
