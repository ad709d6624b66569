"""How well learning does on simulated people: errors before and after, regions, flags, suggestions.

The floor is the error that stays when a person's parameters are known as well as the model can hold
them: learned from many trials of theirs, perfectly even and perfectly measured.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.color.lab import ciede2000
from laydown.media.inference.learning import Learned, by_own_hand, learn
from laydown.media.inference.priors import HELD, BoolArray, usual_hand_priors
from laydown.media.kit.fit import predict
from laydown.media.marker.model import MarkerFit
from laydown.media.recipe import Recipe
from laydown.media.swatch import Trial
from laydown.plan.notebook import REGIONS, candidates_of, next_trials
from simulated.people import (
    Colored,
    Person,
    SwatchedRange,
    any_recipe,
    color,
    measured_labs,
    person,
    true_labs,
)

TESTS = 25
FLOOR_TRIALS = 150
LESSON = 10
SUGGESTED = 6
AMOUNT_ONLY = {n: sd if n == "amount" else HELD for n, sd in usual_hand_priors().items()}
"""Priors of a person where nothing but the amount may differ."""


@dataclass(frozen=True, slots=True, eq=False)
class Scored:
    """One way of predicting a person's test recipes.

    Parameters
    ----------
    off
        Shape (tests,), CIEDE2000 of predicted from measured.
    squares
        Shape (tests,), squared standard distances.
    volumes
        Shape (tests,), log determinants of the covariances.
    away
        Shape (tests, 3), measured minus predicted Lab.
    """

    off: FloatArray
    squares: FloatArray
    volumes: FloatArray
    away: FloatArray


@dataclass(frozen=True, slots=True, eq=False)
class PersonScored:
    """A person: scores by the name of the way, and for each trial mislabeled, effect, flagged."""

    scores: dict[str, Scored]
    mislabeled: BoolArray
    effects: FloatArray
    flagged: BoolArray


def score_fit(fit: MarkerFit, recipes: Sequence[Recipe], measured: FloatArray) -> Scored:
    """Predict recipes and compare them with what was measured."""
    seen = [predict(fit, recipe) for recipe in recipes]
    labs = np.array([p.lab for p in seen])
    wide = np.array([p.covariance for p in seen])
    away = measured - labs
    squares = np.einsum("ti,ti->t", away, np.linalg.solve(wide, away[..., None])[..., 0])
    return Scored(ciede2000(labs, measured), squares, np.linalg.slogdet(wide)[1], away)


def score_person(known: SwatchedRange, seed: Sequence[int], *, floor: bool = True) -> PersonScored:
    """Have one person make 30 trials, learn from them, and score what is then predicted.

    Parameters
    ----------
    known
        The range, as it was swatched.
    seed
        Of the person and all they do.
    floor
        Whether the floor is wanted too, which takes most of the time.
    """
    rng = np.random.default_rng(seed)
    who = person(known, rng)
    tests = [any_recipe(known.colorants, rng) for _ in range(TESTS)]
    measured = measured_labs(who, tests, rng)
    made = [color(known, who, any_recipe(known.colorants, rng), n, rng) for n in range(30)]
    trials = [one.trial for one in made]
    at_30 = learn(known.fit, trials)
    fits = {
        "before": known.fit,
        "10": learn(known.fit, trials[:10]).fit,
        "30": at_30.fit,
        "30, amount only": learn(known.fit, trials, priors=AMOUNT_ONLY).fit,
    }
    if floor:
        fits["floor"] = _floor(known, who, rng)
    effects = np.array([_effect(who, at_30, place, one) for place, one in enumerate(made)])
    return PersonScored(
        {name: score_fit(fit, tests, measured) for name, fit in fits.items()},
        np.array([one.mislabeled for one in made]),
        effects,
        at_30.flagged,
    )


def _floor(known: SwatchedRange, who: Person, rng: np.random.Generator) -> MarkerFit:
    many = [any_recipe(known.colorants, rng) for _ in range(FLOOR_TRIALS)]
    labs = true_labs(who, many)
    clean = [Trial(n, r, lab) for n, (r, lab) in enumerate(zip(many, labs, strict=True))]
    return learn(known.fit, clean).fit


def _effect(who: Person, learned: Learned[MarkerFit], place: int, made: Colored) -> float:
    """Return by how many stated standard errors a slip moved the color; 0 where there was none."""
    if not made.mislabeled:
        return 0.0
    noted, laid = true_labs(who, [made.trial.recipe, made.laid])
    away = laid - noted
    return float(np.sqrt(away @ np.linalg.solve(learned.spreads[place], away)))


def mean_off(people: Sequence[PersonScored], way: str) -> float:
    """Return the mean CIEDE2000 over people of one way of predicting."""
    return float(np.mean([one.scores[way].off.mean() for one in people]))


def fall(people: Sequence[PersonScored], way: str) -> float:
    """Return by what share the excess over the floor has fallen since before any trial."""
    floor = mean_off(people, "floor")
    return 1.0 - (mean_off(people, way) - floor) / (mean_off(people, "before") - floor)


def excess_against_amount_only(people: Sequence[PersonScored]) -> float:
    """Return the excess over the floor after 30 trials as a share of amount-only learning's."""
    floor = mean_off(people, "floor")
    return (mean_off(people, "30") - floor) / (mean_off(people, "30, amount only") - floor)


def inside(people: Sequence[PersonScored], way: str) -> dict[int, float]:
    """Return, for each region, the share of what was measured that lies in it, in 100."""
    squares = np.concatenate([one.scores[way].squares for one in people])
    return {region: float(100.0 * np.mean(squares <= limit)) for region, limit in REGIONS.items()}


def log_scores(people: Sequence[PersonScored], way: str) -> tuple[float, float]:
    """Return the mean log score, and that of the best constant covariance in hindsight."""
    squares = np.concatenate([one.scores[way].squares for one in people])
    volumes = np.concatenate([one.scores[way].volumes for one in people])
    away = np.concatenate([one.scores[way].away for one in people])
    constant = away.T @ away / len(away)
    fixed = -0.5 * (3.0 + np.linalg.slogdet(constant)[1] + 3.0 * np.log(2.0 * np.pi))
    return float(np.mean(-0.5 * (squares + volumes + 3.0 * np.log(2.0 * np.pi)))), float(fixed)


def flagged_shares(people: Sequence[PersonScored]) -> tuple[int, float, float]:
    """Return how many slips exceed three standard errors, their share flagged, and false flags."""
    slipped = np.concatenate([one.mislabeled for one in people])
    effects = np.concatenate([one.effects for one in people])
    flagged = np.concatenate([one.flagged for one in people])
    clear = slipped & (effects > 3.0)
    found = float(flagged[clear].mean()) if clear.any() else 1.0
    return int(clear.sum()), found, float(flagged[~slipped].mean())


def suggested_against_random(known: SwatchedRange, seed: Sequence[int]) -> tuple[float, float]:
    """Return the error of a lesson after suggested trials, and after random ones of the same kind.

    Parameters
    ----------
    known
        The range.
    seed
        Of the person, the lesson and all they do.
    """
    rng = np.random.default_rng(seed)
    who = person(known, rng)
    lesson = [any_recipe(known.colorants, rng) for _ in range(LESSON)]
    wanted = true_labs(who, lesson)
    chosen = [t.recipe for t in next_trials(by_own_hand(known.fit), lesson, most=SUGGESTED)]
    listed = candidates_of(lesson)
    drawn = [listed[int(i)] for i in rng.permutation(len(listed))[: len(chosen)]]
    errors = []
    for recipes in (chosen, drawn):
        trials = [color(known, who, r, n, rng).trial for n, r in enumerate(recipes)]
        errors.append(score_fit(learn(known.fit, trials).fit, lesson, wanted).off.mean())
    return float(errors[0]), float(errors[1])
