"""Learn a person's own hand from trials: a Gaussian posterior on the model's own parameters.

The parameters are the effects of the fit, one log amount that all coats of the person share, one
log strength for each colorant, and what the readings of each picture have alike. Trials move them
by Gauss–Newton steps from what the fit and `hand_priors` expect; how far a hand may be from that is
learned along with it (`expectation`). Each trial is judged by what all *others* say of it: one that
lies too far out counts for next to nothing and is flagged, never swallowed.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.media.marker.expectation import Expected, Weighed, picture_slopes, weigh_shares
from laydown.media.marker.fitting import (
    BoolArray,
    Layered,
    Noise,
    Slopes,
    modeled_lab,
    own_covariance,
    slopes_of,
)
from laydown.media.marker.hand_priors import HandPriors, usual_hand_priors
from laydown.media.marker.learned import Learned, learned_from
from laydown.media.marker.model import MarkerFit
from laydown.media.marker.pile import laid_steps, unchanged
from laydown.media.marker.predicting import ground_of
from laydown.media.marker.priors import EFFECTS, usual_priors
from laydown.media.marker.shapes import reference_shapes
from laydown.media.swatch import FILL_DEVIATION, Fills, Trial

OUT = 3.583
"""Root of the 99.5 % point of chi-square, 3 degrees of freedom: a trial farther out is flagged."""
MOST_ROUNDS = 14
SETTLED = 1e-3
"""When no parameter moves by more than this after the noise was last fitted, it is done."""
EASING = 5
"""In the first rounds the limit for a trial is wider, so that a strange hand isn't taken for slips:
by so many times in the first round, falling to 1."""
HAND_FACTORS = np.geomspace(0.6, 2.5, 11)
COVER_FACTORS = np.geomspace(1.0, 8.0, 10)
MISFIT_FACTORS = np.geomspace(0.65, 4.0, 11)
"""What the noise of the fit is multiplied by, to try; the model is not believed to fit a person
much better than it fitted the swatches (chosen on simulated people, see
docs/decisions/notebook.md)."""
AGAIN = EASING + 2
"""How far the hand may be and how much trials scatter is weighed when the easing is over, and again
in this round."""
FACTOR_SD = np.array([0.35, 0.5, 0.7])
"""Standard deviations of the factors' natural logs (chosen, no source)."""
LONGEST_STEP = 0.5


@dataclass(frozen=True, slots=True, eq=False)
class _Setting:
    """The fit, the trials in numbers, and what is expected: parameters x of mean 0 offsets."""

    fit: MarkerFit
    trials: tuple[Layered, ...]
    fills: FloatArray
    pictures: FloatArray
    start: FloatArray
    expected: Expected
    precision: FloatArray


@dataclass(frozen=True, slots=True, eq=False)
class _Seen:
    """A trial against the model: residual, slopes, and what a deep pile may do to it (3,)."""

    slopes: Slopes
    turned: FloatArray
    crowded: FloatArray


@dataclass(frozen=True, slots=True, eq=False)
class _LearningState:
    """Parameters and, trial by trial: residual (t, 3), slopes (t, 3, p), own noise, trust."""

    x: FloatArray
    seen: tuple[_Seen, ...]
    left: FloatArray
    turned: FloatArray
    own: FloatArray
    trust: FloatArray


def learn(
    fit: MarkerFit,
    trials: Sequence[Trial],
    *,
    priors: HandPriors | None = None,
    fills: Fills | None = None,
) -> Learned:
    """Move a fit to a person's own hand, markers and paper, as their trials tell it.

    Parameters
    ----------
    fit
        From `fit_markers` or `pool`: what swatches tell.
    trials
        On the fit's paper, of its colorants.
    priors
        How far the person may be from the swatches; the usual ones where None.
    fills
        Colorants whose fill has changed since they were swatched, by label: they stay wider.

    Returns
    -------
    Learned
        Its fit answers in the place of the one given. Without any trial that counts it is the one
        given, but for changed fills.

    Raises
    ------
    NotMeasuredError
        For a trial with a colorant that was not swatched on this paper.

    Notes
    -----
    With J the slopes and R a trial's own covariance, the posterior precision is P + Σ w JᵀR⁻¹J.
    What the other trials say of one follows from it in closed form: with H = J C Jᵀ,
    H' = H + w H (R − w H)⁻¹ H is their uncertainty and r + w H' R⁻¹ r the residual against them.
    The trust w falls from 1 to 0 as that residual passes `OUT` standard distances.

    The model is made straight about the mode, so a few trials of a very strange hand leave regions
    that are a little too narrow.

    References
    ----------
    R. D. Cook, S. Weisberg, Residuals and Influence in Regression, Chapman and Hall 1982 (cases
    left out in closed form).

    Examples
    --------
    ``learn(fit, trials).amount`` is e.g. 0.2 for a hand that lays 1.22 times what the swatches did.
    """
    expected = usual_hand_priors() if priors is None else priors
    setting = _setting(fit, trials, expected)
    noise = Noise(fit.hand, fit.misfit, fit.cover)
    state = _look(setting, setting.start, noise, np.ones(len(trials)))
    for number in range(MOST_ROUNDS if trials else 0):
        easing = max(EASING * (1.0 - number / EASING), 1.0)
        before, state = state, _next(setting, state, noise, limit=OUT * easing)
        if number in {EASING, AGAIN}:
            share = _weighed(setting, state).likeliest
            setting = replace(setting, precision=setting.expected.precision(share))
            noise = _likeliest_noise(setting, state, noise)
        elif number > AGAIN and np.abs(state.x - before.x).max() < SETTLED:
            break
    covariance = _covariance(setting, state)
    residuals, spreads, distances = others_say(
        state.left, state.turned, state.own, state.trust, covariance
    )
    moved, size = state.x - setting.start, len(EFFECTS) + 1 + len(fit.colorants)
    return learned_from(
        fit,
        moved[:size],
        _weighed(setting, state).covariance[:size, :size],
        noise=noise,
        numbers=tuple(t.number for t in trials),
        residuals=residuals,
        spreads=spreads,
        distances=distances,
        flagged=distances > OUT,
        fills={} if fills is None else fills,
        prior_variance=1.0 / np.maximum(np.diag(setting.precision)[:size], 1e-12),
    )


def _setting(fit: MarkerFit, trials: Sequence[Trial], priors: HandPriors) -> _Setting:
    e, n, pictures = len(EFFECTS), len(fit.colorants), picture_slopes(trials)
    size = e + 1 + n
    old = [*range(e), *range(e + 1, size)]
    settled = np.eye(size + pictures.shape[-1])
    settled[:size, :size] = 0.0
    settled[np.ix_(old, old)] = fit.covariance
    settled[:size, :size] += np.diag([*priors.effects, 0.0, *np.full(n, priors.strength)]) ** 2
    expected = Expected(settled, e, priors.amount)
    return _Setting(
        fit,
        tuple(_in_numbers(fit, trial) for trial in trials),
        np.array([FILL_DEVIATION[t.fill] for t in trials]),
        pictures,
        np.concatenate([fit.effects, np.zeros(len(settled) - e)]),
        expected,
        expected.precision(),
    )


def _in_numbers(fit: MarkerFit, trial: Trial) -> Layered:
    ground, used = ground_of(fit, trial.recipe)
    shapes = tuple(
        np.zeros((0, 36))
        if fit.blender[place]
        else reference_shapes(
            ground.one_coat[i],
            ceiling=fit.ceiling,
            measuring=fit.measuring,
            xyz_only=bool(fit.xyz_only[place]),
        )
        for i, place in enumerate(used)
    )
    noise = float(np.hypot(fit.measuring, trial.own_noise))
    steps = laid_steps(trial.recipe)
    return Layered(trial.recipe, steps, used, ground, trial.lab, noise, shapes)


def _look(setting: _Setting, x: FloatArray, noise: Noise, trust: FloatArray) -> _LearningState:
    """Compare every trial with the model at x."""
    own, shared = np.split(x, [len(EFFECTS) + 1 + len(setting.fit.colorants)])
    seen = tuple(_see(setting, own, trial) for trial in setting.trials)
    left = np.array([s.slopes.left for s in seen]).reshape(-1, 3) - setting.pictures @ shared
    turned = np.array([s.turned for s in seen]).reshape(-1, 3, len(own))
    turned = np.concatenate([turned, setting.pictures], axis=-1)
    return _LearningState(x, seen, left, turned, _own(setting, seen, noise), trust)


def _see(setting: _Setting, x: FloatArray, trial: Layered) -> _Seen:
    e, colored = len(EFFECTS), 1.0 - setting.fit.blender
    places = np.concatenate([x[:e], x[e] * colored + x[e + 1 :]])
    slopes = slopes_of(trial, places, setting.fit.ceiling)
    shared = slopes.by_parameter[:, e:] @ colored
    tried = unchanged(x[:e], steps=len(trial.steps), colorants=len(trial.used), count=2)
    tried.amounts[:] = places[e:][list(trial.used)]
    tried.crowding[1] = usual_priors().crowding_sd
    lab = modeled_lab(trial.steps, trial.ground, setting.fit.ceiling, tried)
    return _Seen(slopes, np.insert(slopes.by_parameter, e, shared, axis=1), lab[1] - lab[0])


def _own(setting: _Setting, seen: Sequence[_Seen], noise: Noise) -> FloatArray:
    """Return the trials' own covariances, shape (t, 3, 3)."""
    own = np.zeros((len(seen), 3, 3))
    for place, (trial, fill, one) in enumerate(
        zip(setting.trials, setting.fills, seen, strict=True)
    ):
        by_fill = fill * one.slopes.by_hand
        own[place] = own_covariance(trial, one.slopes, noise) + by_fill @ by_fill.T
        own[place] += np.outer(one.crowded, one.crowded)
    return own


def _next(
    setting: _Setting, state: _LearningState, noise: Noise, *, limit: float
) -> _LearningState:
    """Take one step to where the trials are likelier, and judge each by the others."""
    now = replace(state, own=_own(setting, state.seen, noise))
    covariance = _covariance(setting, now)
    solved = np.linalg.solve(now.own, now.left[..., None])[..., 0]
    pull = np.einsum("t,tip,ti->p", now.trust, now.turned, solved)
    slope = pull - setting.precision @ (now.x - setting.start)
    step = np.clip(_free_step(setting, now, slope, covariance), -LONGEST_STEP, LONGEST_STEP)
    after = _look(setting, _inside(now.x + step, setting.fit), noise, now.trust)
    _, _, distances = others_say(after.left, after.turned, after.own, after.trust, covariance)
    trust = 1.0 / (1.0 + np.exp(np.clip(0.5 * (distances**2 - limit**2), -50.0, 50.0)))
    return replace(after, trust=trust)


def _free_step(
    setting: _Setting, state: _LearningState, slope: FloatArray, covariance: FloatArray
) -> FloatArray:
    """Return the Newton step in which no effect is pressed against its limit."""
    pressed = _pressed(state.x, slope)
    if not pressed.any():
        return np.asarray(covariance @ slope)
    free = np.flatnonzero(~pressed)
    step = np.zeros(len(slope))
    weight = np.linalg.inv(covariance)[np.ix_(free, free)]
    step[free] = np.linalg.solve(weight, slope[free])
    return step


def _pressed(x: FloatArray, slope: FloatArray) -> BoolArray:
    e, usual = len(EFFECTS), usual_priors()
    pressed = np.zeros(len(x), dtype=np.bool_)
    pressed[:e] = ((x[:e] <= usual.lowest) & (slope[:e] < 0)) | (
        (x[:e] >= usual.highest) & (slope[:e] > 0)
    )
    return pressed


def _inside(x: FloatArray, fit: MarkerFit) -> FloatArray:
    e, n, usual = len(EFFECTS), len(fit.colorants), usual_priors()
    effects, amounts, shared = np.split(x, [e, e + 1 + n])
    effects = np.clip(effects, usual.lowest, usual.highest)
    return np.concatenate([effects, np.clip(amounts, -1.5, 1.5), shared])


def _covariance(setting: _Setting, state: _LearningState) -> FloatArray:
    weighted = np.linalg.solve(state.own, state.turned) * state.trust[:, None, None]
    weight = np.einsum("tip,tiq->pq", state.turned, weighted)
    return np.asarray(np.linalg.inv(setting.precision + weight))


def others_say(
    left: FloatArray,
    turned: FloatArray,
    own: FloatArray,
    trust: FloatArray,
    covariance: FloatArray,
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return, for each trial, the residual, its covariance and distance as the others have it.

    Parameters
    ----------
    left, turned, own
        Shapes (t, 3), (t, 3, p), (t, 3, 3): residual, slopes, own noise.
    trust
        Shape (t,), what each counted for.
    covariance
        Shape (p, p), posterior of all.
    """
    w = trust[:, None, None]
    open_ = np.einsum("tip,pq,tjq->tij", turned, covariance, turned)
    without = open_ + w * open_ @ np.linalg.solve(own - w * open_, open_)
    solved = np.linalg.solve(own, left[..., None])
    residual = left + trust[:, None] * (without @ solved)[..., 0]
    spread = own + without
    squared = np.einsum("ti,ti->t", residual, np.linalg.solve(spread, residual[..., None])[..., 0])
    return residual, spread, np.sqrt(np.maximum(squared, 0.0))


def _weighed(setting: _Setting, state: _LearningState) -> Weighed:
    """Weigh how far the person may be from the swatches, the model made straight where it is."""
    away = state.left + state.turned @ (state.x - setting.start)
    own = state.own / state.trust[:, None, None]
    return weigh_shares(setting.expected, own, state.turned, away)


def _likeliest_noise(setting: _Setting, state: _LearningState, noise: Noise) -> Noise:
    """Return the noise under which the trials, each told by the others, are likeliest."""
    usual = setting.fit

    def score(tried: Noise) -> float:
        seen = replace(state, own=_own(setting, state.seen, tried))
        covariance = _covariance(setting, seen)
        _, spread, far = others_say(seen.left, seen.turned, seen.own, seen.trust, covariance)
        logs = -0.5 * far**2 - 0.5 * np.linalg.slogdet(spread)[1]
        factors = np.array([tried.hand, tried.misfit, tried.cover])
        factors = factors / np.array([usual.hand, usual.misfit, usual.cover])
        return float(state.trust @ logs - 0.5 * np.sum((np.log(factors) / FACTOR_SD) ** 2))

    noise = max([replace(noise, cover=usual.cover * f) for f in COVER_FACTORS], key=score)
    noise = max([replace(noise, misfit=usual.misfit * f) for f in MISFIT_FACTORS], key=score)
    return max([replace(noise, hand=usual.hand * f) for f in HAND_FACTORS], key=score)


def by_own_hand(fit: MarkerFit, *, priors: HandPriors | None = None) -> MarkerFit:
    """Return the fit as unsure as it is before any trial for someone who didn't color its swatches.

    Parameters
    ----------
    fit
        From `fit_markers` or `pool`.
    priors
        How far the person may be from the swatches; the usual ones where None.
    """
    expected = usual_hand_priors() if priors is None else priors
    colored = 1.0 - fit.blender
    amounts = expected.amount**2 * np.outer(colored, colored)
    amounts += expected.strength**2 * np.diag(colored)
    e = len(EFFECTS)
    covariance = fit.covariance.copy()
    covariance[:e, :e] += np.diag(expected.effects**2)
    covariance[e:, e:] += amounts
    return replace(fit, covariance=covariance)
