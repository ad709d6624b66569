"""Fit the marker model to swatches: the most probable effects, and how sure they are.

Every one-coat swatch is taken as it is, up to the hand noise of its amount. The effects and those
amounts are then what makes the layered swatches most probable (maximum a posteriori), by damped
Gauss–Newton in CIELAB. Each layered swatch weighs by its own covariance: the hand noise of its
steps, the instrument's noise, the model's misfit. A swatch far out weighs less (Huber).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from laydown.color.arrays import FloatArray
from laydown.color.lab import lab_from_reflectance
from laydown.media.marker.pile import (
    Ground,
    LaidStep,
    Variants,
    misfit_at,
    relative_reflectance,
    unchanged,
)
from laydown.media.marker.priors import EFFECTS, SCALE, Priors
from laydown.media.recipe import Recipe

BoolArray: TypeAlias = NDArray[np.bool_]
STEP = 1e-4
"""Step of the finite differences, in an effect or a log amount."""
HUBER = 2.8
"""Root of the 95 % point of chi-square, 3 degrees of freedom: a swatch beyond it weighs less."""
MOST_ROUNDS = 40


@dataclass(frozen=True, slots=True, eq=False)
class Layered:
    """A swatch that shows how coats pile up, ready for the fit.

    Parameters
    ----------
    recipe
        What was laid.
    steps
        The same in numbers.
    used
        Places of its colorants among all.
    ground
        Paper and one coat of each of those.
    lab
        Shape (3,), as measured.
    noise
        Of its measurement [CIELAB units per axis].
    shapes
        For each colorant used, what its one coat's spectrum may be off by, see
        `laydown.media.marker.shapes`.
    """

    recipe: Recipe
    steps: tuple[LaidStep, ...]
    used: tuple[int, ...]
    ground: Ground
    lab: FloatArray
    noise: float
    shapes: tuple[FloatArray, ...]

    @property
    def further(self) -> int:
        """How many coats lie there beyond the first."""
        return max(self.recipe.coats - 1, 0)


@dataclass(frozen=True, slots=True, eq=False)
class Slopes:
    """A layered swatch against the model: what is left, and how the model turns.

    Parameters
    ----------
    left
        Shape (3,), measured minus modeled Lab.
    by_parameter
        Shape (3, p).
    by_hand
        Shape (3, s), per unit of hand noise of a coat.
    by_cover
        Shape (3, s − 1), per unit of the scatter of what lies below when a coat covers it; a
        marker errs alike with each coat.
    by_shape
        Shape (3, k), for what the references' spectra may be off by.
    scale
        Where the model was when it was differentiated.
    """

    left: FloatArray
    by_parameter: FloatArray
    by_hand: FloatArray
    by_cover: FloatArray
    by_shape: FloatArray
    scale: float


@dataclass(frozen=True, slots=True)
class Noise:
    """What swatches scatter by.

    Hand noise of a coat's log amount; misfit per further coat [CIELAB units]; scatter of the log
    of what lies below when a coat covers it.
    """

    hand: float
    misfit: float
    cover: float


@dataclass(frozen=True, slots=True, eq=False)
class Posterior:
    """The outcome of a fit: parameters, covariance, noise, each swatch's distance, and the cost."""

    parameters: FloatArray
    covariance: FloatArray
    noise: Noise
    distances: FloatArray
    cost: float


def modeled_lab(
    steps: tuple[LaidStep, ...], ground: Ground, ceiling: FloatArray, variants: Variants
) -> FloatArray:
    """Return Lab (v, 3) of a recipe for each variant."""
    return lab_from_reflectance(ceiling * relative_reflectance(steps, ground, variants))


def slopes_of(swatch: Layered, parameters: FloatArray, ceiling: FloatArray) -> Slopes:
    """Compare a swatch with the model and differentiate the model by steps of `STEP`."""
    effects, amounts = parameters[: len(EFFECTS)], parameters[len(EFFECTS) :]
    e, u, s = len(EFFECTS), len(swatch.used), len(swatch.steps)
    k = sum(len(rows) for rows in swatch.shapes)
    tried = unchanged(effects, steps=s, colorants=u, count=e + u + 2 * s + k)
    tried.amounts[:] = amounts[list(swatch.used)]
    signs = np.where(effects > 0.5, -STEP, STEP)
    rows = np.arange(e)
    tried.effects[1 + rows, rows] += signs
    tried.amounts[1 + e + np.arange(u), np.arange(u)] += STEP
    tried.fresh[1 + e + u + np.arange(s), np.arange(s)] += STEP
    row = 1 + e + u + s
    tried.covered[row + np.arange(s - 1), np.arange(1, s)] += STEP
    row += s - 1
    for place, rows_of_place in enumerate(swatch.shapes):
        tried.shapes[row : row + len(rows_of_place), place] = rows_of_place
        row += len(rows_of_place)
    lab = modeled_lab(swatch.steps, swatch.ground, ceiling, tried)
    widths = np.concatenate([signs, np.full(u + 2 * s - 1, STEP), np.ones(k)])
    turned = (lab[1:] - lab[0]) / widths[:, None]
    by_parameter = np.zeros((3, len(parameters)))
    by_parameter[:, :e] = turned[:e].T
    by_parameter[:, [e + place for place in swatch.used]] = turned[e : e + u].T
    coats = np.array([step.coats for step in swatch.steps])
    by_hand = turned[e + u : e + u + s].T / np.sqrt(coats)
    by_cover = turned[e + u + s : e + u + 2 * s - 1].T * coats[1:]
    by_shape = turned[e + u + 2 * s - 1 :].T
    return Slopes(
        swatch.lab - lab[0], by_parameter, by_hand, by_cover, by_shape, float(effects[SCALE])
    )


def own_covariance(swatch: Layered, slopes: Slopes, noise: Noise) -> FloatArray:
    """Return what a swatch scatters by itself, shape (3, 3): hand, instrument, misfit."""
    roots = np.concatenate(
        [noise.hand * slopes.by_hand, noise.cover * slopes.by_cover, slopes.by_shape], axis=1
    )
    misfit = misfit_at(slopes.scale, misfit=noise.misfit) * swatch.further
    plain = swatch.noise**2 + misfit**2
    return np.asarray(roots @ roots.T + plain * np.eye(3))


def fit_parameters(
    layered: Sequence[Layered],
    *,
    ceiling: FloatArray,
    priors: Priors,
    amount_variance: FloatArray,
    free: FloatArray,
    noise: Noise,
    start: FloatArray,
) -> Posterior:
    """Find the most probable parameters for given noise.

    Parameters
    ----------
    layered
        The swatches.
    ceiling
        Shape (36,).
    priors
        Of the effects.
    amount_variance
        Shape (n,), prior variance of each log amount.
    free
        Shape (7,), 1 for effects that may move, 0 for those that keep their prior.
    noise
        What swatches scatter by.
    start
        Shape (6 + n,).

    Returns
    -------
    Posterior
        Its covariance counts the effects that were kept as unknown, too.
    """
    mean = np.concatenate([priors.mean, np.zeros(len(amount_variance))])
    precision = np.concatenate([priors.sd**-2.0, 1.0 / amount_variance])
    movable = np.concatenate([free, np.ones(len(amount_variance))]) > 0
    x, damping = _inside(start, priors), 1e-3
    state = _normal(layered, x, ceiling, noise)
    cost = state.cost + float(precision @ (x - mean) ** 2)
    for _ in range(MOST_ROUNDS):
        slope = state.pull - precision * (x - mean)
        pressed = _pressed(x, slope, priors)
        step = _damped(state.weight + np.diag(precision), slope, movable & ~pressed, damping)
        tried = _inside(x + step, priors)
        next_state = _normal(layered, tried, ceiling, noise)
        next_cost = next_state.cost + float(precision @ (tried - mean) ** 2)
        if next_cost < cost:
            gained, moved = cost - next_cost, np.abs(tried - x).max()
            x, state, cost, damping = tried, next_state, next_cost, damping / 10.0
            if gained < 1e-6 or moved < 1e-7:
                break
        else:
            damping = max(damping, 1e-6) * 10.0
            if damping > 1e6:
                break
    covariance = np.asarray(np.linalg.inv(state.weight + np.diag(precision)), dtype=np.float64)
    return Posterior(x, covariance, noise, state.distances, cost)


@dataclass(frozen=True, slots=True, eq=False)
class _Normal:
    """Normal equations: weight JᵀWJ, pull JᵀWr, cost, and each swatch's distance."""

    weight: FloatArray
    pull: FloatArray
    cost: float
    distances: FloatArray


def _normal(
    layered: Sequence[Layered], x: FloatArray, ceiling: FloatArray, noise: Noise
) -> _Normal:
    weight, pull, cost = np.zeros((len(x), len(x))), np.zeros(len(x)), 0.0
    distances = np.zeros(len(layered))
    for number, swatch in enumerate(layered):
        slopes = slopes_of(swatch, x, ceiling)
        own = own_covariance(swatch, slopes, noise)
        solved = np.linalg.solve(own, np.column_stack([slopes.by_parameter, slopes.left]))
        distance = float(np.sqrt(max(float(slopes.left @ solved[:, -1]), 0.0)))
        trust = min(1.0, HUBER / distance) if distance > 0 else 1.0
        weight += trust * slopes.by_parameter.T @ solved[:, :-1]
        pull += trust * slopes.by_parameter.T @ solved[:, -1]
        cost += distance**2 if distance <= HUBER else 2.0 * HUBER * distance - HUBER**2
        cost += float(np.linalg.slogdet(own)[1])
        distances[number] = distance
    return _Normal(weight, pull, cost, distances)


def _inside(x: FloatArray, priors: Priors) -> FloatArray:
    effects = np.clip(x[: len(EFFECTS)], priors.lowest, priors.highest)
    return np.concatenate([effects, np.clip(x[len(EFFECTS) :], -2.0, 2.0)])


def _pressed(x: FloatArray, slope: FloatArray, priors: Priors) -> BoolArray:
    """Return shape (p,): which effects lie on a limit and would go beyond it."""
    e = len(EFFECTS)
    pressed = np.zeros(len(x), dtype=np.bool_)
    pressed[:e] = (x[:e] <= priors.lowest) & (slope[:e] < 0)
    pressed[:e] |= (x[:e] >= priors.highest) & (slope[:e] > 0)
    return pressed


def _damped(weight: FloatArray, slope: FloatArray, free: BoolArray, damping: float) -> FloatArray:
    """Solve the damped equations for the parameters that may move."""
    places = np.flatnonzero(free)
    step = np.zeros(len(slope))
    if len(places):
        block = weight[np.ix_(places, places)]
        step[places] = np.linalg.solve(block + damping * np.diag(np.diag(block)), slope[places])
    return step
