"""Learn a person's own hand from trials: a Gaussian posterior on the model's own parameters.

The parameters are the effects of the fit, one log amount that all coats of the person share, what
each colorant has of its own, and what the readings of each picture have alike. Trials move them by
Gauss–Newton steps from what the fit and `HandPriors` expect; how far a hand may be from that is
learned along with it (`expectation`). Each trial is judged by what all *others* say of it: one that
lies too far out counts for next to nothing and is flagged, until others agree with it.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Generic

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.media.inference.fit import Fit, OneFit
from laydown.media.inference.fitting import Observation, Residuals, compare
from laydown.media.inference.posterior import (
    free_step,
    information,
    leave_one_out,
    log_evidence,
    pressed,
)
from laydown.media.inference.priors import HELD, BoolArray, HandPriors, Noise, usual_hand_priors
from laydown.media.swatch import FILL_DEVIATION, Fills, Trial

# What is expected of someone's trials before they are made, and what trials say of that.
#
# Until trials say otherwise the swatches are taken to be the person's own. How far another hand
# may be from them is one number, a share of what hands at large differ by. It is learned from the
# trials themselves, each of which may be a slip: another marker, wet paper, a color misread.

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


MOST_ROUNDS = 14
SETTLED = 1e-3
"""When no parameter moves by more than this after the noise was last fitted, it is done."""
TRIED = {
    "cover": (1.26 ** np.arange(0.0, 10.0), 0.7),
    "misfit": (1.2 ** np.arange(-2.0, 9.0), 0.5),
    "hand": (1.2 ** np.arange(-3.0, 6.0), 0.35),
}
"""What each kind of the fit's noise is multiplied by, to try, 1 among them, and the standard
deviation of that factor's natural log; the model is not believed to fit a person much better than
it fitted the swatches (chosen on simulated people, see docs/decisions/notebook.md)."""
AGAIN = EASING + 2
"""How far the hand may be and how much trials scatter is weighed when the easing is over, and again
in this round."""
LONGEST_STEP = 0.5
FARTHEST = 1.5
"""No log amount is farther than this from that of the swatches (chosen)."""
TOLD = 0.7
"""An effect whose standard deviation has fallen below this share of its prior is no longer called
assumed (chosen, no source)."""


@dataclass(frozen=True, slots=True, eq=False)
class Learned(Generic[OneFit]):
    """What was learned from t trials about a person's n colorants on a paper."""

    fit: OneFit
    """In the place of the one that swatches alone gave."""
    amount: float
    amount_deviation: float
    """Natural log of what the person lays in a coat, against who colored the swatches, and how well
    trials tell that of a hand of any kind."""
    strengths: FloatArray
    """Shape (n,), natural log of each colorant's own strength."""
    numbers: tuple[int, ...]
    """Of the trials, in their order."""
    residuals: FloatArray
    """Shape (t, 3), measured Lab minus what the other trials lead to expect."""
    spreads: FloatArray
    """Shape (t, 3, 3), the covariance of that."""
    distances: FloatArray
    """Shape (t,), how many standard distances off each is."""
    flagged: BoolArray
    """Shape (t,), which are too far out to count."""

    @property
    def flagged_numbers(self) -> tuple[int, ...]:
        """The numbers of the trials that were set aside."""
        return tuple(n for n, out in zip(self.numbers, self.flagged, strict=True) if out)


@dataclass(frozen=True, slots=True, eq=False)
class _Setting:
    """The fit, the trials as the model sees them, and what is expected before any.

    The parameters x are effects (E,), the shared amount, each colorant's own (n m,), and what
    pictures have alike; `lowest` and `highest` are their bounds.
    """

    fit: Fit
    trials: tuple[Observation, ...]
    pictures: FloatArray
    start: FloatArray
    expected: Expected
    precision: FloatArray
    lowest: FloatArray
    highest: FloatArray

    @property
    def size(self) -> int:
        """How many parameters there are, those of pictures aside."""
        return 1 + len(self.fit.covariance)


@dataclass(frozen=True, slots=True, eq=False)
class _State:
    """Parameters (p,); the trials compared, their residuals, Jacobians and trust, one by one."""

    x: FloatArray
    compared: Residuals
    residual: FloatArray
    jacobian: FloatArray
    trust: FloatArray


def learn(
    fit: OneFit,
    trials: Sequence[Trial],
    *,
    priors: HandPriors | None = None,
    fills: Fills | None = None,
    share: float | None = None,
) -> Learned[OneFit]:
    """Move a fit to a person's own hand, colorants and paper, as their trials tell it.

    Parameters
    ----------
    fit
        What swatches tell of one medium.
    trials
        On the fit's paper, of its colorants.
    priors
        How far the person may be from the swatches; the usual ones where None.
    fills
        Colorants whose fill has changed since they were swatched, by label: they stay wider.
    share
        How far the person is known to be from the swatches, as a share of the priors; where None,
        trials tell it, and until they do the swatches are the person's own.

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
    With J the Jacobian and R what a trial scatters by itself, the posterior precision is
    P + Σ w JᵀR⁻¹J. What the other trials say of one follows from it in closed form
    (`posterior.leave_one_out`); the trust w falls from 1 to 0 as the residual against them passes
    `OUT` standard distances.

    The model is made straight about the mode, so a few trials of a very strange hand leave regions
    that are a little too narrow.

    Examples
    --------
    ``learn(fit, trials).amount`` is e.g. 0.2 for a hand that lays 1.22 times what the swatches did.
    """
    setting = _setting(fit, trials, usual_hand_priors() if priors is None else priors)
    noise, known, share = fit.noise, share, 1.0 if share is None else share
    state = _look(setting, setting.start, np.ones(len(trials)))
    for number in range(MOST_ROUNDS if trials else 0):
        before, state = state, _next(setting, state, noise, limit=eased(number))
        if number in {EASING, AGAIN}:
            share = _likeliest_share(setting, state, noise) if known is None else known
            setting = replace(setting, precision=setting.expected.precision(share))
            noise = _expected_noise(setting, state, noise) if fit.trials_tell_noise else noise
        elif number > AGAIN and np.abs(state.x - before.x).max() < SETTLED:
            break
    told = _told_by_others(setting, state, noise)
    scatter, e, moved = state.compared.covariance(noise), len(fit.effects), state.x - setting.start
    taught = fit
    if np.any(told[2] <= OUT):
        covariance = _posterior(setting, state, scatter)[0][: setting.size, : setting.size]
        taught = replace(_taught(fit, setting, state.x, covariance, noise), hand_share=share)
    any_hand = replace(setting, precision=setting.expected.precision())
    return Learned(
        fit=_wider(taught, fills or {}),
        amount=float(moved[e]),
        amount_deviation=float(np.sqrt(_posterior(any_hand, state, scatter)[0][e, e])),
        strengths=moved[1 + fit.amounts],
        numbers=tuple(t.number for t in trials),
        residuals=told[0],
        spreads=told[1],
        distances=told[2],
        flagged=told[2] > OUT,
    )


def _setting(fit: Fit, trials: Sequence[Trial], priors: HandPriors) -> _Setting:
    pictures = picture_jacobian(trials)
    expected = _expected(fit, priors, pictures.shape[-1])
    free = np.full(pictures.shape[-1], np.inf)
    far = np.full(fit.own.shape, np.inf)
    far[:, 0] = FARTHEST
    limit = np.concatenate([[FARTHEST], far.ravel(), free])
    return _Setting(
        fit,
        tuple(
            Observation(
                fit.model_of(trial.recipe),
                trial.lab,
                float(np.hypot(fit.measuring, trial.own_noise)),
                fill=FILL_DEVIATION[trial.fill],
            )
            for trial in trials
        ),
        pictures,
        np.concatenate([fit.effects, [0.0], fit.own.ravel(), np.zeros(len(free))]),
        expected,
        expected.precision(),
        np.concatenate([np.minimum(fit.priors.lowest, fit.effects), -limit]),
        np.concatenate([np.maximum(fit.priors.highest, fit.effects), limit]),
    )


def _expected(fit: Fit, priors: HandPriors, pictures: int = 0) -> Expected:
    """Return what is expected of effects, amount, what colorants have, and what pictures do."""
    e, size = len(fit.effects), 1 + len(fit.covariance)
    old = [*range(e), *range(e + 1, size)]
    settled, another = np.eye(size + pictures), np.zeros(size + pictures)
    settled[:size, :size] = 0.0
    settled[np.ix_(old, old)] = fit.covariance
    another[:e] = fit.hand_effects(priors)
    another[e] = priors["amount"]
    another[1 + fit.amounts] = priors["strength"] * fit.colored
    return Expected(settled, another)


def _own(fit: Fit, x: FloatArray) -> FloatArray:
    """Return what colorants have of their own, shape (n, m), the shared amount taken in."""
    e = len(fit.effects)
    own = x[e + 1 : 1 + len(fit.covariance)].reshape(fit.own.shape).copy()
    own[:, 0] += x[e] * fit.colored
    return own


def _taken_in(fit: Fit) -> FloatArray:
    """Return what turns the covariance of x into the fit's: the shared amount joins each own."""
    e, p = len(fit.effects), len(fit.covariance)
    matrix = np.insert(np.eye(p), e, 0.0, axis=1)
    matrix[fit.amounts, e] = fit.colored
    return matrix


def _look(setting: _Setting, x: FloatArray, trust: FloatArray) -> _State:
    """Compare every trial with the model at x."""
    fit, e = setting.fit, len(setting.fit.effects)
    compared = compare(
        setting.trials, x[:e], _own(fit, x), fit.priors, crowding=fit.priors.crowding_sd
    )
    shared = compared.jacobian[..., fit.amounts] @ fit.colored
    jacobian = np.insert(compared.jacobian, e, shared, axis=-1)
    return _State(
        x,
        compared,
        compared.residual - setting.pictures @ x[setting.size :],
        np.concatenate([jacobian, setting.pictures], axis=-1),
        trust,
    )


def _posterior(
    setting: _Setting, state: _State, scatter: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Return the covariance of the parameters and the gradient of the log posterior."""
    hessian, gradient, _ = information(state.residual, state.jacobian, scatter, state.trust)
    gradient = gradient - setting.precision @ (state.x - setting.start)
    return np.asarray(np.linalg.inv(setting.precision + hessian)), gradient


def _newton_step(setting: _Setting, state: _State, scatter: FloatArray) -> tuple[FloatArray, ...]:
    """Return the covariance of the parameters, and the step to where the trials are likeliest."""
    covariance, gradient = _posterior(setting, state, scatter)
    stuck = pressed(state.x, gradient, setting.lowest, setting.highest)
    if stuck.any():
        return covariance, free_step(np.asarray(np.linalg.inv(covariance)), gradient, ~stuck)
    return covariance, np.asarray(covariance @ gradient)


def _next(setting: _Setting, state: _State, noise: Noise, *, limit: float) -> _State:
    """Take one step to where the trials are likelier, and judge each by the others."""
    _, step = _newton_step(setting, state, state.compared.covariance(noise))
    x = state.x + np.clip(step, -LONGEST_STEP, LONGEST_STEP)
    after = _look(setting, np.clip(x, setting.lowest, setting.highest), state.trust)
    return replace(after, trust=soundness(_told_by_others(setting, after, noise)[2], limit))


def _told_by_others(
    setting: _Setting, state: _State, noise: Noise
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return each trial's residual, its covariance and its distance as the others have it.

    As they have it once all is settled: a step on the way is shorter than they ask for.
    """
    scatter = state.compared.covariance(noise)
    covariance, step = _newton_step(setting, state, scatter)
    settled = state.residual - state.jacobian @ step
    return leave_one_out(settled, state.jacobian, scatter, state.trust, covariance)


def _likeliest_share(setting: _Setting, state: _State, noise: Noise) -> float:
    """Return how far the hand is likeliest to be, the model made straight where it is."""
    from_mean = state.residual + state.jacobian @ (state.x - setting.start)
    scatter = state.compared.covariance(noise)
    return likeliest_share(setting.expected, from_mean, state.jacobian, scatter)


def _expected_noise(setting: _Setting, state: _State, noise: Noise) -> Noise:
    """Return the noise that trials, each told by the others, lead to expect, one kind by one.

    Its log is averaged over all that they leave open: where they are few, the likeliest is often
    the least that is tried, and too sure. How far trials scatter can't be told by one, so they
    count for one less than there are, and one alone moves nothing.
    """
    usual, told = setting.fit.noise, 1.0 - 1.0 / max(float(state.trust.sum()), 1.0)

    def score(tried: Noise) -> float:
        _, spread, far = _told_by_others(setting, state, tried)
        logs = -0.5 * far**2 - 0.5 * np.linalg.slogdet(spread)[1]
        factors = [(getattr(tried, k) / getattr(usual, k), sd) for k, (_, sd) in TRIED.items()]
        unusual = sum((np.log(factor) / sd) ** 2 for factor, sd in factors)
        return float(told * (state.trust @ logs) - 0.5 * unusual)

    for kind, (factors, _) in TRIED.items():
        values = factors * getattr(usual, kind)
        scores = np.array([score(replace(noise, **{kind: value})) for value in values.tolist()])
        weights = np.exp(scores - scores.max())
        factor = np.exp(told * (weights @ np.log(factors)) / weights.sum())
        noise = replace(noise, **{kind: float(factor * getattr(usual, kind))})
    return noise


def _taught(
    fit: OneFit, setting: _Setting, x: FloatArray, covariance: FloatArray, noise: Noise
) -> OneFit:
    """Put the posterior into the place of a fit."""
    e, matrix = len(fit.effects), _taken_in(fit)
    prior_sd = np.maximum(np.diag(setting.precision)[:e], 1e-12) ** -0.5
    told = np.sqrt(np.diag(covariance)[:e]) < TOLD * prior_sd
    names = frozenset(np.array(fit.priors.names)[told].tolist())
    moved = fit.moved(x[:e], _own(fit, x), matrix @ covariance @ matrix.T, noise)
    return replace(moved, assumed=fit.assumed - names)


def _wider(fit: OneFit, fills: Fills) -> OneFit:
    """Return the fit with wider amounts where a colorant's fill has changed."""
    extra = [FILL_DEVIATION[fills[c.label]] if c.label in fills else 0.0 for c in fit.colorants]
    if not any(extra):
        return fit
    wider = fit.covariance.copy()
    wider[fit.amounts, fit.amounts] += np.square(extra)
    return replace(fit, covariance=wider)


def by_own_hand(fit: OneFit, *, priors: HandPriors | None = None, share: float = 1.0) -> OneFit:
    """Return the fit as unsure as it is before any trial for someone who didn't color its swatches.

    Parameters
    ----------
    fit
        What swatches tell of one medium.
    priors
        How far the person may be from the swatches; the usual ones where None.
    share
        Of that.
    """
    expected = _expected(fit, usual_hand_priors() if priors is None else priors)
    matrix = _taken_in(fit)
    wider = matrix @ expected.covariance(share) @ matrix.T
    return replace(fit, covariance=wider, hand_share=share)
