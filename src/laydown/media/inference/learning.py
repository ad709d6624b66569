"""Learn a person's own hand from trials: a Gaussian posterior on the model's own parameters.

The parameters are the effects of the fit, one log amount that all coats of the person share, what
each colorant has of its own, and what the readings of each picture have alike. Trials move them by
Gauss–Newton steps from what the fit and `HandPriors` expect; how far a hand may be from that is
learned along with it (`expectation`). Each trial is judged by what all *others* say of it: one that
lies too far out counts for next to nothing and is flagged, until others agree with it.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Generic, TypeAlias

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.media.inference.fit import Fit, OneFit
from laydown.media.inference.fitting import Observation, compare
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


Expected: TypeAlias = Callable[[float], FloatArray]
"""Covariance (p, p) of the parameters before any trial, for a share of what hands at large differ
by: what the swatches leave open, and how far each may be from person to person."""


def _inverse(matrix: FloatArray) -> FloatArray:
    return np.asarray(np.linalg.inv(matrix))


def eased(number: int) -> float:
    """Return the limit for a trial in a round.

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

    `expected`: before any trial. `from_mean`, `jacobian`, `scatter`: shapes (t, 3), (t, 3, p), (t,
    3, 3): the trials' differences from what the swatches lead to expect, Jacobians, and what each
    scatters by itself.

    A lone trial never raises the share. Where that makes its variance v times as large along one
    axis, on which it lies d standard deviations out, the log of its probability gains
    ½ d² (1 − 1/v) − ½ ln v; beyond d = `OUT` it is a slip already. That is largest at d = `OUT` and
    v = `OUT`², where it is `DOUBT`; along further axes the last term only grows.
    """
    scores = [
        _log_probability(_inverse(expected(share)), from_mean, jacobian, scatter)
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
        covariance = _inverse(precision + hessian)
        residual = from_mean - jacobian @ (covariance @ gradient)
        _, spread, far = leave_one_out(residual, jacobian, scatter, trust, covariance)
        trust = soundness(far, eased(number))
    sound = far <= OUT
    slips = -0.5 * np.linalg.slogdet(spread[~sound])[1] - SLIP
    together = log_evidence(from_mean[sound], jacobian[sound], scatter[sound], precision)
    return together + float(slips.sum())


def picture_jacobian(trials: Sequence[Trial]) -> FloatArray:
    """Return the Jacobian of trials' colors by what the readings of a picture have alike.

    Returns shape (t, 3, 3 g) for g pictures, per standard deviation of that error: so it is one
    more set of parameters, of mean 0 and variance 1, and never taken for a hand.

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


class _Learning:
    """What trials say of a fit's parameters, made straight where these are likeliest so far.

    The parameters x are effects (E,), the shared amount, each colorant's own (n m,), and what
    pictures have alike; `lowest` and `highest` are their bounds.
    """

    def __init__(self, fit: Fit, trials: Sequence[Trial], priors: HandPriors) -> None:
        self.fit, self.pictures = fit, picture_jacobian(trials)
        self.trials = tuple(
            Observation(
                fit.model_of(trial.recipe),
                trial.lab,
                float(np.hypot(fit.measuring, trial.own_noise)),
                fill=FILL_DEVIATION[trial.fill],
            )
            for trial in trials
        )
        alike, far = self.pictures.shape[-1], np.full(fit.own.shape, np.inf)
        far[:, 0] = FARTHEST
        limit = np.concatenate([[FARTHEST], far.ravel(), np.full(alike, np.inf)])
        self.lowest = np.concatenate([np.minimum(fit.priors.lowest, fit.effects), -limit])
        self.highest = np.concatenate([np.maximum(fit.priors.highest, fit.effects), limit])
        self.start = np.concatenate([fit.effects, [0.0], fit.own.ravel(), np.zeros(alike)])
        self.size = 1 + len(fit.covariance)
        """How many parameters there are, those of pictures aside."""
        self.expected = _expected(fit, priors, alike)
        self.precision = _inverse(self.expected(1.0))
        self.trust = np.ones(len(trials))
        self.look(self.start)

    def look(self, x: FloatArray) -> None:
        """Compare every trial with the model at x."""
        fit, e = self.fit, len(self.fit.effects)
        self.x, crowding = x, fit.priors.crowding_sd
        self.compared = compare(self.trials, x[:e], _own(fit, x), fit.priors, crowding=crowding)
        shared = self.compared.jacobian[..., fit.amounts] @ fit.colored
        jacobian = np.insert(self.compared.jacobian, e, shared, axis=-1)
        self.residual = self.compared.residual - self.pictures @ x[self.size :]
        self.jacobian = np.concatenate([jacobian, self.pictures], axis=-1)

    def posterior(
        self, scatter: FloatArray, precision: FloatArray
    ) -> tuple[FloatArray, FloatArray]:
        """Return the covariance of the parameters and the gradient of the log posterior."""
        hessian, gradient, _ = information(self.residual, self.jacobian, scatter, self.trust)
        gradient = gradient - precision @ (self.x - self.start)
        return _inverse(precision + hessian), gradient

    def newton_step(self, scatter: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return the parameters' covariance, and the step to where the trials are likeliest."""
        covariance, gradient = self.posterior(scatter, self.precision)
        stuck = pressed(self.x, gradient, self.lowest, self.highest)
        if stuck.any():
            return covariance, free_step(_inverse(covariance), gradient, ~stuck)
        return covariance, np.asarray(covariance @ gradient)

    def go_on(self, noise: Noise, *, limit: float) -> None:
        """Take one step to where the trials are likelier, and judge each by the others."""
        _, step = self.newton_step(self.compared.covariance(noise))
        x = self.x + np.clip(step, -LONGEST_STEP, LONGEST_STEP)
        self.look(np.clip(x, self.lowest, self.highest))
        self.trust = soundness(self.told_by_others(noise)[2], limit)

    def told_by_others(self, noise: Noise) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Return each trial's residual, its covariance and its distance as the others have it.

        As they have it once all is settled: a step on the way is shorter than they ask for.
        """
        scatter = self.compared.covariance(noise)
        covariance, step = self.newton_step(scatter)
        settled = self.residual - self.jacobian @ step
        return leave_one_out(settled, self.jacobian, scatter, self.trust, covariance)

    def likeliest_share(self, noise: Noise) -> float:
        """Return how far the hand is likeliest to be, the model made straight where it is."""
        from_mean = self.residual + self.jacobian @ (self.x - self.start)
        scatter = self.compared.covariance(noise)
        return likeliest_share(self.expected, from_mean, self.jacobian, scatter)

    def expected_noise(self, noise: Noise) -> Noise:
        """Return the noise that trials, each told by the others, lead to expect, one kind by one.

        Its log is averaged over all that they leave open: where they are few, the likeliest is
        often the least that is tried, and too sure. How far trials scatter can't be told by one, so
        they count for one less than there are, and one alone moves nothing.
        """
        usual, told = self.fit.noise, 1.0 - 1.0 / max(float(self.trust.sum()), 1.0)

        def score(tried: Noise) -> float:
            _, spread, far = self.told_by_others(tried)
            logs = -0.5 * far**2 - 0.5 * np.linalg.slogdet(spread)[1]
            factors = [(getattr(tried, k) / getattr(usual, k), sd) for k, (_, sd) in TRIED.items()]
            unusual = sum((np.log(factor) / sd) ** 2 for factor, sd in factors)
            return float(told * (self.trust @ logs) - 0.5 * unusual)

        for kind, (factors, _) in TRIED.items():
            values = factors * getattr(usual, kind)
            scores = np.array([score(replace(noise, **{kind: v})) for v in values.tolist()])
            weights = np.exp(scores - scores.max())
            factor = np.exp(told * (weights @ np.log(factors)) / weights.sum())
            noise = replace(noise, **{kind: float(factor * getattr(usual, kind))})
        return noise


def learn(
    fit: OneFit,
    trials: Sequence[Trial],
    *,
    priors: HandPriors | None = None,
    fills: Fills | None = None,
    share: float | None = None,
) -> Learned[OneFit]:
    """Move a fit to a person's own hand, colorants and paper, as their trials tell it.

    `fit`: what swatches tell of one medium. `trials`: on the fit's paper, of its colorants.
    `priors`: how far the person may be from the swatches; the usual ones where None. `fills`:
    colorants whose fill has changed since they were swatched, by label: they stay wider. `share`:
    how far the person is known to be from the swatches, as a share of the priors; where None,
    trials tell it, and until they do the swatches are the person's own. The fit that is returned
    answers in the place of the one given. Without any trial that counts it is the one given, but
    for changed fills. Raises NotMeasuredError for a trial with a colorant that was not swatched on
    this paper.

    With J the Jacobian and R what a trial scatters by itself, the posterior precision is
    P + Σ w JᵀR⁻¹J. What the other trials say of one follows from it in closed form
    (`posterior.leave_one_out`); the trust w falls from 1 to 0 as the residual against them passes
    `OUT` standard distances.

    The model is made straight about the mode, so a few trials of a very strange hand leave regions
    that are a little too narrow.

    ``learn(fit, trials).amount`` is e.g. 0.2 for a hand that lays 1.22 times what the swatches did.
    """
    learning = _Learning(fit, trials, usual_hand_priors() if priors is None else priors)
    noise, known, share = fit.noise, share, 1.0 if share is None else share
    for number in range(MOST_ROUNDS if trials else 0):
        before = learning.x
        learning.go_on(noise, limit=eased(number))
        if number in {EASING, AGAIN}:
            share = learning.likeliest_share(noise) if known is None else known
            learning.precision = _inverse(learning.expected(share))
            noise = learning.expected_noise(noise) if fit.trials_tell_noise else noise
        elif number > AGAIN and np.abs(learning.x - before).max() < SETTLED:
            break
    residuals, spreads, distances = learning.told_by_others(noise)
    scatter, e, size = learning.compared.covariance(noise), len(fit.effects), learning.size
    moved, taught = learning.x - learning.start, fit
    if np.any(distances <= OUT):
        covariance = learning.posterior(scatter, learning.precision)[0][:size, :size]
        taught = replace(_taught(fit, learning, covariance, noise), hand_share=share)
    of_any_hand, _ = learning.posterior(scatter, _inverse(learning.expected(1.0)))
    return Learned(
        fit=_wider(taught, fills or {}),
        amount=float(moved[e]),
        amount_deviation=float(np.sqrt(of_any_hand[e, e])),
        strengths=moved[1 + fit.amounts],
        numbers=tuple(t.number for t in trials),
        residuals=residuals,
        spreads=spreads,
        distances=distances,
        flagged=distances > OUT,
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
    return lambda share: settled + np.diag((share * another) ** 2 + HELD**2)


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


def _taught(fit: OneFit, learning: _Learning, covariance: FloatArray, noise: Noise) -> OneFit:
    """Put the posterior into the place of a fit."""
    x, e, matrix = learning.x, len(fit.effects), _taken_in(fit)
    prior_sd = np.maximum(np.diag(learning.precision)[:e], 1e-12) ** -0.5
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


def by_own_hand(fit: OneFit, *, share: float = 1.0) -> OneFit:
    """Return the fit as unsure as it is before any trial for someone who didn't color its swatches.

    `fit`: what swatches tell of one medium. `share`: of how far a person may be from them.
    """
    matrix = _taken_in(fit)
    wider = matrix @ _expected(fit, usual_hand_priors())(share) @ matrix.T
    return replace(fit, covariance=wider, hand_share=share)
