"""Learn a person's own hand with pencils or washes from trials, as `learning` does with markers."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.color.lab import lab_from_reflectance
from laydown.media.colorant import Colorant
from laydown.media.film.constants import film_reflectance
from laydown.media.film.laying import FilmStep, film_steps, film_unchanged
from laydown.media.film.model import OWN, FilmFit, film_priors
from laydown.media.film.predicting import film_ground, reference_doubts
from laydown.media.marker.expectation import Expected, Weighed, picture_slopes, weigh_shares
from laydown.media.marker.fitting import BoolArray
from laydown.media.marker.hand_priors import HandPriors, usual_hand_priors
from laydown.media.marker.learning import (
    AGAIN,
    EASING,
    LONGEST_STEP,
    MOST_ROUNDS,
    OUT,
    SETTLED,
    others_say,
)
from laydown.media.recipe import Recipe, Step
from laydown.media.swatch import FILL_DEVIATION, Trial

# Learn a person's own hand with pencils or washes from trials, as `learning` does with markers.
#
# The parameters are the effects of the fit (tooth, pressure, water, and what solvent and
# burnishing do), one log amount that all coats of the person share, and what each colorant has of
# its own.

STEP = 1e-3
OTHERWISE = 0.3
"""How far an effect may be from the fit's, as a share of its prior's deviation (chosen)."""


@dataclass(frozen=True, slots=True, eq=False)
class LearnedFilms:
    """What trials taught of pencils or washes; the fields are those of `learned.Learned`."""

    fit: FilmFit
    amount: float
    amount_deviation: float
    numbers: tuple[int, ...]
    residuals: FloatArray
    spreads: FloatArray
    distances: FloatArray
    flagged: BoolArray

    @property
    def flagged_numbers(self) -> tuple[int, ...]:
        """The numbers of the trials that were set aside."""
        return tuple(n for n, out in zip(self.numbers, self.flagged, strict=True) if out)


@dataclass(frozen=True, slots=True, eq=False)
class _SeenFilm:
    """Trials against the model: residuals (t, 3), slopes (t, 3, p), own noise (t, 3, 3)."""

    left: FloatArray
    turned: FloatArray
    own: FloatArray


def learn_films(
    fit: FilmFit, trials: Sequence[Trial], *, priors: HandPriors | None = None
) -> LearnedFilms:
    """Move a fit of pencils or washes to a person's own hand, as their trials tell it.

    Parameters
    ----------
    fit
        What swatches tell.
    trials
        On the fit's paper, of its colorants and its medium alone.
    priors
        How far amount and strengths may be from the swatches; the usual ones where None. Effects
        may differ by `OTHERWISE` of what their own priors leave open.

    Returns
    -------
    LearnedFilms
        Its fit answers in the place of the one given, which it is without any trial that counts.

    Raises
    ------
    NotMeasuredError
        For a trial with a colorant that was not swatched on this paper.

    Notes
    -----
    As in `laydown.media.marker.learning`, but the noise stays that of the fit.
    """
    pictures = picture_slopes(trials)
    expected = _expected(fit, usual_hand_priors() if priors is None else priors, pictures)
    start = np.concatenate([fit.effects, [0.0], fit.own.ravel(), np.zeros(pictures.shape[-1])])
    precision = expected.precision()
    x, trust = start, np.ones(len(trials))
    seen = _look(fit, trials, pictures, x)
    for number in range(MOST_ROUNDS if trials else 0):
        if number in {EASING, AGAIN}:
            precision = expected.precision(_weighed(expected, seen, trust, x - start).likeliest)
        covariance = _covariance(seen, trust, precision)
        solved = np.linalg.solve(seen.own, seen.left[..., None])[..., 0]
        pull = np.einsum("t,tip,ti->p", trust, seen.turned, solved)
        step = covariance @ (pull - precision @ (x - start))
        before, x = x, _inside(fit, x + np.clip(step, -LONGEST_STEP, LONGEST_STEP))
        seen = _look(fit, trials, pictures, x)
        limit = OUT * max(EASING * (1.0 - number / EASING), 1.0)
        far = others_say(seen.left, seen.turned, seen.own, trust, covariance)[2]
        trust = 1.0 / (1.0 + np.exp(np.clip(0.5 * (far**2 - limit**2), -50.0, 50.0)))
        if number > AGAIN and np.abs(x - before).max() < SETTLED:
            break
    said = others_say(seen.left, seen.turned, seen.own, trust, _covariance(seen, trust, precision))
    e, size = len(fit.effects), 1 + len(fit.covariance)
    covariance = _weighed(expected, seen, trust, x - start).covariance[:size, :size]
    return LearnedFilms(
        fit=fit if np.all(said[2] > OUT) else _moved(fit, x[:size], covariance),
        amount=float(x[e]),
        amount_deviation=float(np.sqrt(covariance[e, e])),
        numbers=tuple(t.number for t in trials),
        residuals=said[0],
        spreads=said[1],
        distances=said[2],
        flagged=said[2] > OUT,
    )


def _expected(fit: FilmFit, priors: HandPriors, pictures: FloatArray) -> Expected:
    """Return what is expected of effects, amount, what colorants have, and what pictures do."""
    e, size = len(fit.effects), len(fit.covariance) + 1
    old = [*range(e), *range(e + 1, size)]
    settled = np.eye(size + pictures.shape[-1])
    settled[:size, :size] = 1e-12 * np.eye(size)
    settled[np.ix_(old, old)] += fit.covariance
    settled[:e, :e] += np.diag((OTHERWISE * film_priors(fit.medium).sd) ** 2)
    amounts = e + 1 + len(OWN) * np.arange(len(fit.colorants))
    settled[amounts, amounts] += priors.strength**2
    return Expected(settled, e, priors.amount)


def _weighed(expected: Expected, seen: _SeenFilm, trust: FloatArray, moved: FloatArray) -> Weighed:
    """Weigh how far the person may be from the swatches, the model made straight where it is."""
    away = seen.left + seen.turned @ moved
    return weigh_shares(expected, seen.own / trust[:, None, None], seen.turned, away)


def _look(fit: FilmFit, trials: Sequence[Trial], pictures: FloatArray, x: FloatArray) -> _SeenFilm:
    own, shared = np.split(x, [1 + len(fit.covariance)])
    seen = [_see(fit, trial, own) for trial in trials]
    turned = np.array([s[1] for s in seen]).reshape(-1, 3, len(own))
    return _SeenFilm(
        np.array([s[0] for s in seen]).reshape(-1, 3) - pictures @ shared,
        np.concatenate([turned, pictures], axis=-1),
        np.array([s[2] for s in seen]).reshape(-1, 3, 3),
    )


def _see(fit: FilmFit, trial: Trial, x: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Compare a trial with the model at x and differentiate the model by steps of `STEP`."""
    e, m = len(fit.effects), len(OWN)
    recipe = trial.recipe
    steps, ground = film_steps(recipe, fit.medium), film_ground(fit, recipe)
    used = [fit.index(colorant) for colorant in recipe.colorants]
    own = x[e + 1 :].reshape(-1, m)[used].copy()
    own[:, 0] += x[e]
    u, s = len(used), len(steps)
    shapes = reference_doubts(fit, recipe)
    k = sum(len(rows) for rows in shapes)
    tried = film_unchanged(x[:e], own, steps=s, count=1 + e + u * m + s + k)
    signs = np.where(x[:e] + STEP > film_priors(fit.medium).highest, -STEP, STEP)
    tried.effects[1 + np.arange(e), np.arange(e)] += signs
    places = np.arange(u * m)
    tried.own[1 + e + places, places // m, places % m] += STEP
    row = 1 + e + u * m
    tried.fresh[row + np.arange(s), np.arange(s)] += STEP
    row += s
    for place, rows in enumerate(shapes):
        tried.shapes[row : row + len(rows), place] = rows
        row += len(rows)
    lab = lab_from_reflectance(film_reflectance(steps, fit.medium, ground, tried))
    widths = np.concatenate([signs, np.full(u * m + s, STEP), np.ones(k)])
    turned = ((lab[1:] - lab[0]) / widths[:, None]).T
    slopes = np.zeros((3, len(x)))
    slopes[:, :e] = turned[:, :e]
    by_own = turned[:, e : e + u * m].reshape(3, u, m)
    slopes[:, e] = by_own[:, :, 0].sum(axis=1)
    for place, index in enumerate(used):
        slopes[:, e + 1 + m * index : e + 1 + m * (index + 1)] = by_own[:, place]
    own_noise = _own(fit, trial, steps, turned[:, e + u * m : e + u * m + s])
    by_shape = turned[:, e + u * m + s :]
    return trial.lab - lab[0], slopes, own_noise + by_shape @ by_shape.T


def _own(fit: FilmFit, trial: Trial, steps: Sequence[FilmStep], by_hand: FloatArray) -> FloatArray:
    coats = np.array([step.laydown.coats if step.laydown else 1 for step in steps])
    hand = np.hypot(fit.hand / np.sqrt(coats), FILL_DEVIATION[trial.fill])
    roots = by_hand * hand
    plain = fit.measuring**2 + trial.own_noise**2 + fit.misfit**2 * len(steps)
    return np.asarray(roots @ roots.T + plain * np.eye(3))


def _covariance(seen: _SeenFilm, trust: FloatArray, precision: FloatArray) -> FloatArray:
    if not len(seen.own):
        return np.asarray(np.linalg.inv(precision))
    weighted = np.linalg.solve(seen.own, seen.turned) * trust[:, None, None]
    weight = np.einsum("tip,tiq->pq", seen.turned, weighted)
    return np.asarray(np.linalg.inv(precision + weight))


def _inside(fit: FilmFit, x: FloatArray) -> FloatArray:
    priors, e = film_priors(fit.medium), len(fit.effects)
    low = np.minimum(priors.lowest, fit.effects)
    high = np.maximum(priors.highest, fit.effects)
    return np.concatenate([np.clip(x[:e], low, high), np.clip(x[e : e + 1], -1.5, 1.5), x[e + 1 :]])


def _moved(fit: FilmFit, x: FloatArray, covariance: FloatArray) -> FilmFit:
    """Put a posterior into the place of a fit: the shared amount goes into each colorant's own."""
    e, n, m = len(fit.effects), len(fit.colorants), len(OWN)
    own = x[e + 1 :].reshape(n, m).copy()
    own[:, 0] += x[e]
    turn = np.zeros((e + n * m, e + 1 + n * m))
    turn[:e, :e] = np.eye(e)
    turn[e:, e + 1 :] = np.eye(n * m)
    turn[e + m * np.arange(n), e] = 1.0
    return replace(fit, effects=x[:e], own=own, covariance=turn @ covariance @ turn.T)


def film_look(fit: FilmFit, recipe: Recipe) -> tuple[FloatArray, FloatArray]:
    """Return how a recipe's Lab turns with the fit's parameters (3, p), and its own noise (3, 3).

    Parameters
    ----------
    fit
        Of pencils or washes.
    recipe
        Of that medium alone.
    """
    e = len(fit.effects)
    here = np.concatenate([fit.effects, [0.0], fit.own.ravel()])
    _, slopes, own = _see(fit, Trial(0, recipe, np.zeros(3)), here)
    return np.delete(slopes, e, axis=1), own


def films_by_own_hand(fit: FilmFit, *, priors: HandPriors | None = None) -> FilmFit:
    """Return the fit as unsure as it is before any trial for someone who didn't color its swatches.

    Parameters
    ----------
    fit
        Of pencils or washes.
    priors
        As in `learn_films`.
    """
    expected = usual_hand_priors() if priors is None else priors
    x = np.concatenate([fit.effects, [0.0], fit.own.ravel()])
    return _moved(fit, x, _expected(fit, expected, picture_slopes([])).covariance())


TRIED = np.linspace(-2.0, 2.0, 161)
"""Log amounts to try; between them the best is found by a parabola."""


def film_log_ratio(mine: FilmFit, place: int, theirs: FilmFit, other: int) -> tuple[float, float]:
    """Return the log of the amount of theirs that looks most like my swatch, and what is unsure.

    Parameters
    ----------
    mine, theirs
        Fits of each person's swatches, of one medium on one paper.
    place, other
        Of the colorant in each.

    Notes
    -----
    Their film is laid as my swatch was laid, times an amount; the nearest CIELAB counts. Where no
    amount comes near, since pigment or paper differ, the distance left counts as unsure by how much
    amount it is worth.
    """
    laid, colorant = mine.reference_laydowns[place], theirs.colorants[other]
    ground = film_ground(theirs, Recipe((Step(colorant),)))
    own = theirs.own[[other]] * np.where(np.arange(len(OWN)) == 0, 0.0, 1.0)
    tried = film_unchanged(theirs.effects, own, steps=1, count=len(TRIED))
    tried.fresh[:, 0] = TRIED
    seen = film_reflectance([FilmStep(((0, 1.0),), laid)], theirs.medium, ground, tried)
    labs = lab_from_reflectance(seen)
    off = ((labs - lab_from_reflectance(mine.references[place])) ** 2).sum(axis=-1)
    best = int(np.clip(np.argmin(off), 1, len(TRIED) - 2))
    before, here, after = off[best - 1 : best + 2]
    curve = max(float(before - 2.0 * here + after), 1e-12)
    step = float(TRIED[1] - TRIED[0])
    moved = float(np.clip(0.5 * (before - after) / curve, -0.5, 0.5))
    noise = mine.measuring**2 + theirs.measuring**2
    return float(TRIED[best]) + moved * step, float(np.sqrt(2.0 * noise / curve)) * step


def with_borrowed_films(
    mine: FilmFit,
    theirs: FilmFit,
    colorants: Sequence[Colorant],
    *,
    log_amount: float,
    variance: float,
) -> FilmFit:
    """Return my fit with colorants that only they have swatched, as if my hand had laid them.

    Parameters
    ----------
    mine, theirs
        Of one medium on one paper; how the paper takes a film is mine.
    colorants
        Those wanted of theirs.
    log_amount, variance
        Natural log of mine over theirs, and the variance that adds to their amounts.
    """
    places, e, m = (
        [theirs.index(c) for c in colorants],
        len(film_priors(mine.medium).names),
        len(OWN),
    )
    rows = [e + m * place + j for place in places for j in range(m)]
    added = theirs.covariance[np.ix_(rows, rows)].copy()
    amounts = m * np.arange(len(places))
    added[amounts, amounts] += variance
    own = theirs.own[places].copy()
    own[:, 0] += log_amount
    return replace(
        mine,
        colorants=(*mine.colorants, *(theirs.colorants[p] for p in places)),
        references=np.concatenate([mine.references, theirs.references[places]]),
        reference_laydowns=(
            *mine.reference_laydowns,
            *(theirs.reference_laydowns[p] for p in places),
        ),
        own=np.concatenate([mine.own, own]),
        covariance=_side_by_side(mine.covariance, added),
        xyz_only=np.concatenate([mine.xyz_only, theirs.xyz_only[places]]),
        most_coats=np.concatenate([mine.most_coats, theirs.most_coats[places]]),
    )


def _side_by_side(one: FloatArray, other: FloatArray) -> FloatArray:
    whole = np.zeros((len(one) + len(other), len(one) + len(other)))
    whole[: len(one), : len(one)] = one
    whole[len(one) :, len(one) :] = other
    return whole
