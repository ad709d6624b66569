"""Compare observations with a model made straight, find the most probable parameters, the noise."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.color.lab import lab_from_reflectance
from laydown.media.inference.forward import Forward, Linear, linearize
from laydown.media.inference.leeway import See
from laydown.media.inference.posterior import (
    Descent,
    GaussianPrior,
    NormalEquations,
    log_evidence,
    most_probable,
    normal_equations,
    trust_within,
)
from laydown.media.inference.priors import BoolArray, Noise, Priors


@dataclass(frozen=True, slots=True, eq=False)
class Observation:
    """A patch that was measured."""

    model: Forward
    """Its recipe, as the model sees it."""
    features: FloatArray
    """Shape (f,), what was measured."""
    measuring: float
    """Noise of the measurement [CIELAB units per axis]."""
    see: See = lab_from_reflectance
    """From reflectance to what is compared: CIELAB, or more."""
    fill: float = 0.0
    """Added standard deviation of the log amounts, for what was running dry."""


@dataclass(frozen=True, slots=True, eq=False)
class Residuals:
    """What a model made straight at some parameters leaves of observations.

    One with fewer features than others is filled up by such as say nothing: no residual, no slope,
    a variance of 1.
    """

    observations: tuple[Observation, ...]
    straight: Linear
    """The observations, and the model of each."""
    residual: FloatArray
    """Shape (t, f), measured minus modeled."""
    jacobian: FloatArray
    """Shape (t, f, p)."""

    def covariance(self, noise: Noise) -> FloatArray:
        """Return what each observation scatters by itself, shape (t, f, f)."""
        noises = np.array([(o.measuring, o.fill) for o in self.observations])
        measuring, fill = noises.reshape(-1, 2).T
        return self.straight.covariance(noise, measuring=measuring, fill=fill)


def compare(
    observations: Sequence[Observation],
    effects: FloatArray,
    own: FloatArray,
    priors: Priors,
    *,
    units: FloatArray | float = 1.0,
    crowding: float = 0.0,
) -> Residuals:
    """Compare observations with the model at some parameters; these are as for `linearize`."""
    straight = linearize(
        [one.model for one in observations],
        effects,
        own,
        priors,
        units=units,
        sees=[one.see for one in observations],
        crowding=crowding,
    )
    residual = -straight.features
    for row, one in zip(residual, observations, strict=True):
        row[: len(one.features)] += one.features
    jacobian = straight.jacobian(len(effects) + own.size)
    return Residuals(tuple(observations), straight, residual, jacobian)


@dataclass(frozen=True, slots=True, eq=False)
class Fitted:
    """The most probable parameters (p,), what observations leave and say there, and the cost."""

    x: FloatArray
    equations: NormalEquations
    compared: Residuals
    cost: float
    prior: GaussianPrior
    huber: float

    @property
    def precision(self) -> FloatArray:
        """Shape (p, p), of the posterior; what was kept at its prior counts as unknown, too."""
        return np.asarray(self.equations.hessian + np.diag(self.prior.precision))

    def log_likelihood(
        self, noise: Noise, precision: FloatArray, which: BoolArray | slice = slice(None)
    ) -> float:
        """Return the log probability of observations under another noise, parameters out.

        Parameters
        ----------
        noise
            Of hand, model and cover.
        precision
            Shape (p,), of the prior under it.
        which
            Of the observations; those far out count as little as in the fit.
        """
        residual, jacobian = self.compared.residual[which], self.compared.jacobian[which]
        trust = trust_within(self.equations.distances, self.huber)[which]
        scatter = self.compared.covariance(noise)[which] / trust[:, None, None]
        from_mean = residual + jacobian @ (self.x - self.prior.mean)
        return log_evidence(from_mean, jacobian, scatter, np.diag(precision))


def fit_parameters(
    look: Callable[[FloatArray], Residuals],
    prior: GaussianPrior,
    noise: Noise,
    start: FloatArray,
    descent: Descent,
    *,
    huber: float,
    with_volume: bool,
) -> Fitted:
    """Find the most probable parameters for a given noise.

    Parameters
    ----------
    look
        Compares the observations with the model at some parameters.
    prior
        Of the parameters.
    noise
        What the observations scatter by.
    start
        Shape (p,).
    descent
        When to stop.
    huber, with_volume
        As for `normal_equations`.
    """

    def equations(x: FloatArray) -> tuple[NormalEquations, Residuals]:
        compared = look(x)
        scatter = compared.covariance(noise)
        told = normal_equations(
            compared.residual, compared.jacobian, scatter, huber=huber, with_volume=with_volume
        )
        return told, compared

    return Fitted(*most_probable(equations, prior, start, descent), prior, huber)
