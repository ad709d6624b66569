"""The Gaussian posterior of a model made straight: normal equations, evidence, cases left out.

The notation: r the residuals, J the Jacobian, R what each observation scatters by itself, P the
prior precision. Nothing here knows what the parameters are.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import TypeAlias, TypeVar

import numpy as np
from numpy.typing import NDArray

from laydown.color.arrays import FloatArray
from laydown.media.inference.priors import BoolArray, Noise, Priors

Seen = TypeVar("Seen")
"""What normal equations were made from."""
FACTORS = np.geomspace(1 / 16, 16.0, 33)
"""What the prior noise is multiplied by, to try."""
MANY = 64
"""From so many parameters on it pays to look for what is zero of their equations."""


NormalEquations: TypeAlias = tuple[FloatArray, FloatArray, float]
"""What observations say about p parameters at one place: Σ w JᵀR⁻¹J (p, p), of Gauss and Newton;
Σ w JᵀR⁻¹r (p,); and minus twice the log likelihood, up to a constant."""


def information(
    residual: FloatArray, jacobian: FloatArray, covariance: FloatArray, weights: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return Σ w JᵀR⁻¹J (p, p), Σ w JᵀR⁻¹r (p,) and rᵀR⁻¹r (t,).

    `residual`, `jacobian`, `covariance`: shapes (t, f), (t, f, p), (t, f, f). `weights`: shape
    (t,).
    """
    p, places = jacobian.shape[-1], None
    if len(residual) and p >= MANY:  # each observation goes with few of them
        places, jacobian = _gathered(jacobian)
    right = np.concatenate([jacobian, residual[..., None]], axis=-1)
    solved = np.linalg.solve(covariance, right)
    squares = np.einsum("tf,tf->t", residual, solved[..., -1])
    weighted = weights[:, None, None] * jacobian
    if places is None:
        rows = residual.size  # p may be 0
        both = weighted.reshape(rows, p).T @ solved.reshape(rows, p + 1)
        return both[:, :-1], both[:, -1], squares
    both = np.swapaxes(weighted, 1, 2) @ solved
    pairs = places[:, :, None] * (p + 1) + places[:, None, :]
    hessian = np.bincount(pairs.ravel(), both[..., :-1].ravel(), (p + 1) ** 2).reshape(p + 1, -1)
    gradient = np.bincount(places.ravel(), both[..., -1].ravel(), p + 1)
    return np.asarray(hessian[:p, :p], np.float64), np.asarray(gradient[:p], np.float64), squares


def _gathered(jacobian: FloatArray) -> tuple[NDArray[np.int64], FloatArray]:
    """Return which k parameters each observation goes with, shape (t, k), and by how much.

    Of a large range an observation goes with few colorants; what one has fewer than k is filled up
    by p, which stands for none.

    Returns the places, and the Jacobian there, shape (t, f, k).
    """
    t, f, p = jacobian.shape
    rows, columns = np.nonzero(jacobian.any(axis=1))
    counts = np.bincount(rows, minlength=t)
    within = np.arange(len(rows)) - np.repeat(np.cumsum(counts) - counts, counts)
    places = np.full((t, counts.max()), p)
    places[rows, within] = columns
    gathered = np.zeros((t, f, counts.max()))
    gathered[rows, :, within] = jacobian[rows, :, columns]
    return places, gathered


def solved(matrix: FloatArray, right: FloatArray) -> tuple[FloatArray, float]:
    """Solve symmetric positive definite equations; return the log determinant, too.

    Of many unknowns those are eliminated first no two of which go together, such as the amounts of
    colorants that never lie over each other: their block is diagonal, and what is left is small
    (Schur complement).

    `matrix`, `right`: shapes (p, p) and (p,).

    >>> x, volume = solved(np.diag([2.0, 4.0]), np.array([1.0, 1.0]))
    >>> x.tolist(), round(volume, 6) == round(float(np.log(8.0)), 6)
    ([0.5, 0.25], True)
    """
    if len(matrix) < MANY:
        return np.asarray(np.linalg.solve(matrix, right)), float(np.linalg.slogdet(matrix)[1])
    alone = _apart(matrix)
    own, rest = np.flatnonzero(alone), np.flatnonzero(~alone)
    diagonal, between = np.diag(matrix)[own], matrix[np.ix_(own, rest)]
    scaled = between / diagonal[:, None]
    left = matrix[np.ix_(rest, rest)] - between.T @ scaled
    x = np.empty(len(matrix))
    x[rest] = np.linalg.solve(left, right[rest] - scaled.T @ right[own])
    x[own] = right[own] / diagonal - scaled @ x[rest]
    return x, float(np.log(diagonal).sum() + np.linalg.slogdet(left)[1])


def _apart(matrix: FloatArray) -> BoolArray:
    """Return unknowns no two of which go together, shape (p,): first those that go with fewest."""
    together = matrix != 0.0
    np.fill_diagonal(together, val=False)
    others = np.count_nonzero(together, axis=1)
    alone = np.asarray(others == 0)
    barred = np.zeros(len(matrix), dtype=bool)
    for place in np.argsort(others, kind="stable")[np.count_nonzero(alone) :]:
        if not barred[place]:
            alone[place] = True
            barred |= together[place]
    return alone


def trust_within(distances: FloatArray, limit: float) -> FloatArray:
    """Return what observations count for by how far out they are (Huber): 1 within the limit."""
    return np.asarray(np.minimum(1.0, limit / np.maximum(distances, 1e-9)))


def normal_equations(
    residual: FloatArray,
    jacobian: FloatArray,
    covariance: FloatArray,
    *,
    huber: float,
    with_volume: bool,
) -> tuple[NormalEquations, FloatArray]:
    """Return the normal equations, observations far out weighing less, and how far out each is.

    `residual`, `jacobian`, `covariance`: shapes (t, f), (t, f, p), (t, f, f). `huber`: beyond this
    distance an observation's cost grows in proportion, not by the square. `with_volume`: whether
    the log determinants of R are part of the cost: R goes with the parameters. The distances are
    √(rᵀR⁻¹r), shape (t,).

    Source: P. J. Huber, Robust estimation of a location parameter, Ann. Math. Stat. 35 (1964)
    73–101.
    """
    alone = np.linalg.solve(covariance, residual[..., None])[..., 0]
    distances = np.sqrt(np.maximum(np.einsum("tf,tf->t", residual, alone), 0.0))
    hessian, gradient, _ = information(
        residual, jacobian, covariance, trust_within(distances, huber)
    )
    far = distances > huber
    cost = float(np.where(far, 2.0 * huber * distances - huber**2, distances**2).sum())
    if with_volume:
        cost += float(np.linalg.slogdet(covariance)[1].sum())
    return (hessian, gradient, cost), distances


@dataclass(frozen=True, slots=True, eq=False)
class GaussianPrior:
    """Mean (p,), precision (p,), the bounds (p,) of parameters, and which of them may move (p,)."""

    mean: FloatArray
    precision: FloatArray
    lowest: FloatArray
    highest: FloatArray
    movable: BoolArray

    def cost(self, x: FloatArray) -> float:
        """Return minus twice the log density, up to a constant."""
        return float(self.precision @ (x - self.mean) ** 2)

    def clip(self, x: FloatArray) -> FloatArray:
        """Return parameters brought within their bounds."""
        return np.clip(x, self.lowest, self.highest)


def pressed(
    x: FloatArray, gradient: FloatArray, lowest: FloatArray, highest: FloatArray
) -> BoolArray:
    """Return shape (p,): which parameters lie on a bound and would go beyond it."""
    return np.asarray(((x <= lowest) & (gradient < 0)) | ((x >= highest) & (gradient > 0)))


def most_probable(
    look: Callable[[FloatArray], tuple[NormalEquations, Seen]],
    prior: GaussianPrior,
    start: FloatArray,
    *,
    rounds: int,
    gain: float,
    move: float = 0.0,
    damping: tuple[float, float] = (0.1, 1e3),
    longest: float = np.inf,
) -> tuple[FloatArray, FloatArray, Seen, float]:
    """Find the most probable parameters by damped Gauss–Newton (Levenberg and Marquardt).

    Written out rather than asked of a library: every observation scatters in three or more
    correlated ways that go with the parameters, and a solver of plain least squares knows neither
    a residual's covariance, nor Huber's weights on its norm, nor the volume term.

    `look`: compares the observations with the model at some parameters; returns the normal
    equations there, and what they were made from. `prior`: of the parameters. `start`: shape (p,).
    `rounds`: at most. `gain`, `move`: a step that lowers the cost by less, or moves no parameter by
    more, is the last one. `damping`: below the one it isn't raised from, above the other no step
    helps any more. `longest`: no parameter moves by more in one step. Returns the parameters, the
    Hessian there, what it was made from, and minus twice the log posterior.

    Source: D. W. Marquardt, An algorithm for least-squares estimation of nonlinear parameters, J.
    Soc. Ind. Appl. Math. 11 (1963) 431–441.
    """
    x, damped = prior.clip(start), 1e-3
    (hessian, told, cost), seen = look(x)
    cost += prior.cost(x)
    for _ in range(rounds):
        gradient = told - prior.precision * (x - prior.mean)
        # what may not move, or is pressed against a bound, keeps still
        free = prior.movable & ~pressed(x, gradient, prior.lowest, prior.highest)
        curved = hessian + np.diag(prior.precision)
        step = np.clip(free_step(curved, gradient, free, damping=damped), -longest, longest)
        tried = prior.clip(x + step)
        following, seen_there = look(tried)
        gained = cost - following[2] - prior.cost(tried)
        if gained > 0.0:
            moved = np.abs(tried - x).max()
            x, (hessian, told, _), seen = tried, following, seen_there
            cost, damped = cost - gained, damped / 10.0
            if gained < gain or moved < move:
                break
        else:
            damped = max(damped, damping[0]) * 10.0
            if damped > damping[1]:
                break
    return x, hessian, seen, cost


def free_step(
    hessian: FloatArray, gradient: FloatArray, free: BoolArray, *, damping: float = 0.0
) -> FloatArray:
    """Return the Newton step of those parameters that are free, damped by their own curvature."""
    places, step = np.flatnonzero(free), np.zeros(len(gradient))
    if len(places):
        damped = hessian[np.ix_(places, places)]
        damped[np.diag_indices(len(places))] += damping * np.diag(damped)
        step[places] = solved(damped, gradient[places])[0]
    return step


def log_evidence(
    residual: FloatArray, jacobian: FloatArray, covariance: FloatArray, precision: FloatArray
) -> float:
    """Return the log probability of residuals from the prior's mean, parameters integrated out.

    Of a straight model with prior precision P: −½ (rᵀR⁻¹r − gᵀH⁻¹g + ln |R| + ln |H| − ln |P|),
    g = JᵀR⁻¹r, H = JᵀR⁻¹J + P (the matrix determinant lemma on R + J P⁻¹ Jᵀ).

    `residual`, `jacobian`, `covariance`: shapes (t, f), (t, f, p), (t, f, f). `precision`: shape
    (p, p).
    """
    hessian, gradient, squares = information(residual, jacobian, covariance, np.ones(len(residual)))
    mean, curvature = solved(hessian + precision, gradient)
    square = float(squares.sum()) - float(gradient @ mean)
    volume = np.linalg.slogdet(covariance)[1].sum() + curvature
    return float(-0.5 * (square + volume - solved(precision, gradient)[1]))


def without_lone(
    places: NDArray[np.int64], slopes: FloatArray, covariance: FloatArray, precision: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Integrate out the parameters that one observation at most goes with.

    What is left open of such a one is part of what its observation scatters by, R + j jᵀ / P; of a
    large range hardly any others are left.

    `places`, `slopes`: shapes (t, k) and (t, f, k), as of `Linear`. `covariance`, `precision`:
    shapes (t, f, f) and (p,). Returns, of those left, r of them: Jacobian (t, f, r), covariance (t,
    f, f) and precision (r,).
    """
    lone = np.bincount(places.ravel(), minlength=len(precision) + 1) <= 1
    rest = np.flatnonzero(~lone[:-1])
    kept = np.full(len(lone), len(rest))
    kept[rest] = np.arange(len(rest))
    jacobian = np.zeros((*slopes.shape[:2], len(rest) + 1))
    np.put_along_axis(jacobian, kept[places][:, None], slopes, axis=2)
    variance = np.append(np.where(lone[:-1], 1.0 / precision, 0.0), 0.0)
    roots = slopes * np.sqrt(variance)[places][:, None]
    return jacobian[..., :-1], covariance + roots @ roots.swapaxes(1, 2), precision[rest]


def likeliest_noise(
    log_likelihood: Callable[[Noise], float], priors: Priors, start: Noise
) -> Noise:
    """Return the noise that makes swatches most probable, one kind after the other.

    `log_likelihood`: of the swatches under a noise, all parameters integrated out (`log_evidence`),
    so that noise isn't mistaken for what the parameters could explain. `priors`: of the noise: its
    prior means times `FACTORS` are tried. `start`: a noise near it.
    """

    def score(noise: Noise) -> float:
        return log_likelihood(noise) + priors.log_density(noise)

    noise = likeliest_hand(log_likelihood, priors, start)
    noise = max(_misfits(priors, noise), key=score)
    if not priors.noise.cover:
        return noise
    covers = (priors.noise.cover * FACTORS).tolist()
    return max([replace(noise, cover=cover) for cover in covers], key=score)


def likeliest_hand(log_likelihood: Callable[[Noise], float], priors: Priors, start: Noise) -> Noise:
    """Return a noise with the hand that makes swatches most probable; see `likeliest_noise`."""
    tried = [replace(start, hand=hand) for hand in (priors.noise.hand * FACTORS).tolist()]
    return max(tried, key=lambda noise: log_likelihood(noise) + priors.log_density(noise))


def misfits_to_try(priors: Priors) -> list[float]:
    """Return the misfits that are tried, none below the lowest."""
    found: list[float] = np.maximum(priors.noise.misfit * FACTORS, priors.misfit_lowest).tolist()
    return found


def _misfits(priors: Priors, noise: Noise) -> list[Noise]:
    return [replace(noise, misfit=misfit) for misfit in misfits_to_try(priors)]


def expected_misfit(
    log_likelihood: Callable[[Noise], float], priors: Priors, noise: Noise
) -> float:
    """Return the root of the mean square of a model's misfit, as swatches and prior leave it open.

    Where they leave it wide open that is more than the likeliest, which would be too sure.

    `log_likelihood`, `priors`: as for `likeliest_noise`. `noise`: what that found.
    """
    tried = _misfits(priors, noise)
    scores = np.array([log_likelihood(one) + priors.log_density(one) for one in tried])
    weights = np.exp(scores - scores.max())
    squares = np.array([one.misfit for one in tried]) ** 2
    return float(np.sqrt(weights @ squares / weights.sum()))


def leave_one_out(
    residual: FloatArray,
    jacobian: FloatArray,
    covariance: FloatArray,
    trust: FloatArray,
    posterior: FloatArray,
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return, for each observation, residual, covariance and distance as all others have it.

    In closed form: with H = J C Jᵀ, H' = H + w H (R − w H)⁻¹ H is the others' uncertainty and
    r + w H' R⁻¹ r the residual against them.

    `residual`, `jacobian`, `covariance`: shapes (t, f), (t, f, p), (t, f, f). `trust`: shape (t,),
    w: what each counted for. `posterior`: shape (p, p), C: the covariance given all of them.

    Source: R. D. Cook, S. Weisberg, Residuals and Influence in Regression, Chapman and Hall 1982.
    """
    w = trust[:, None, None]
    hat = np.einsum("tip,pq,tjq->tij", jacobian, posterior, jacobian, optimize=True)
    without = hat + w * hat @ np.linalg.solve(covariance - w * hat, hat)
    solved = np.linalg.solve(covariance, residual[..., None])
    told = residual + trust[:, None] * (without @ solved)[..., 0]
    spread = covariance + without
    squares = np.einsum("ti,ti->t", told, np.linalg.solve(spread, told[..., None])[..., 0])
    return told, spread, np.sqrt(np.maximum(squares, 0.0))


NOTHING = 1e-12
"""An axis along which so small a share of the largest variance lies is none."""


def principal_axes(covariance: FloatArray, *, first: int | None = None) -> FloatArray:
    """Return the principal axes of parameters, each a standard deviation long, one a row.

    `covariance`: shape (p, p). `first`: the place of a parameter that is to vary along the first
    axis alone, the others as far as they go with it; None for none.
    """
    if first is None:
        values, vectors = np.linalg.eigh(covariance)
        kept = values > NOTHING * values.max(initial=0.0)
        return np.asarray((vectors[:, kept] * np.sqrt(values[kept])).T)
    along = covariance[first] / np.sqrt(covariance[first, first])
    rest = covariance - np.outer(along, along)
    rest[first], rest[:, first] = 0.0, 0.0
    return np.concatenate([along[None], principal_axes(rest)])
