"""Seasons of noted trials: whether a kit still answers its own colors, and what one slip does.

The person colored the swatches themselves, so a trial has nothing new to tell but how it scattered.
Every third trial is read off a photograph, the others with an instrument.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cache

import numpy as np

from laydown.color.lab import ciede2000, lab_from_reflectance
from laydown.demo.oracle import Steadiness
from laydown.match.judge import candidate_of
from laydown.match.outcome import Target, Verdict
from laydown.match.question import Question
from laydown.match.ranking import Limits, usual_ranking
from laydown.media.inference.learning import learn
from laydown.media.kit.fit import predict, predict_lab
from laydown.media.marker.model import MarkerFit
from laydown.media.recipe import Recipe, Step
from laydown.media.swatch import Trial
from laydown.reference.thresholds import thresholds
from simulated.people import Person, SwatchedRange, any_recipe, color, slipped, true_labs

STAGES = (1, 3, 10, 30)
"""After so many trials it is looked."""
PHOTOGRAPH = 5.0
"""What a color read off a photograph may be off by [CIELAB units per axis]."""
TESTS = 40


@dataclass(frozen=True, slots=True, eq=False)
class Answer:
    """What is answered for a wanted color: the recipe, its verdict, and its chance."""

    recipe: Recipe
    verdict: Verdict
    acceptance: float


@dataclass(frozen=True, slots=True, eq=False)
class Season:
    """What was answered and how far predictions were off, before any trial and at each stage.

    Parameters
    ----------
    answers
        For each of the kit's own colors, at each stage; first before any trial.
    errors
        Mean CIEDE2000 from the truth, likewise.
    after_slip
        The answers after one false trial alone.
    wider
        By what factor one honest trial widened a prediction most (standard deviations).
    """

    answers: tuple[tuple[Answer, ...], ...]
    errors: tuple[float, ...]
    after_slip: tuple[Answer, ...]
    wider: float


def the_swatchers_own(known: SwatchedRange) -> Person:
    """Return who swatched a range: the same markers, the same hand."""
    return Person(known.bench, Steadiness(), np.zeros(len(known.dyes)))


def season(known: SwatchedRange, seed: Sequence[int]) -> Season:
    """Note thirty honest trials, and apart from them one false one."""
    rng = np.random.default_rng(seed)
    who = the_swatchers_own(known)
    trials = [honest_trial(known, who, n, rng) for n in range(STAGES[-1])]
    fits = [known.fit, *(learn(known.fit, trials[:n]).fit for n in STAGES)]
    tests = [any_recipe(known.colorants, rng) for _ in range(TESTS)]
    true = true_labs(who, tests)
    learned = (own_answers(known, fit) for fit in fits[1:])
    return Season(
        (answers_before(known), *learned),
        tuple(float(ciede2000(predict_lab(fit, tests), true).mean()) for fit in fits),
        own_answers(known, learn(known.fit, [false_trial(known, who, rng)]).fit),
        _widened(fits[0], fits[1], tests),
    )


def honest_trial(known: SwatchedRange, who: Person, number: int, rng: np.random.Generator) -> Trial:
    """Color a recipe and read it, every third time off a photograph; nothing is mixed up."""
    while (made := color(known, who, any_recipe(known.colorants, rng), number, rng)).mislabeled:
        pass
    if number % 3:
        return made.trial
    off = PHOTOGRAPH * rng.standard_normal(3) / np.sqrt(3.0)
    return replace(made.trial, lab=made.trial.lab + off, noise=PHOTOGRAPH / np.sqrt(3.0))


def false_trial(known: SwatchedRange, who: Person, rng: np.random.Generator) -> Trial:
    """Note a trial for something else: another marker, far too much laid, or a color misread."""
    recipe = any_recipe(known.colorants, rng)
    kind = int(rng.integers(3))
    laid = slipped(recipe, known.colorants, rng) if kind == 0 else recipe
    hand = replace(who.hand, amount=float(rng.uniform(1.4, 2.0))) if kind == 1 else who.hand
    lab = true_labs(replace(who, hand=hand), [laid])[0]
    return Trial(1, recipe, lab + (10.0 * rng.standard_normal(3) if kind == 2 else 0.0))


@cache
def answers_before(known: SwatchedRange) -> tuple[Answer, ...]:
    """Return what a kit answers before any trial: the same in every season."""
    return own_answers(known, known.fit)


def own_answers(known: SwatchedRange, fit: MarkerFit) -> tuple[Answer, ...]:
    """Return what a kit answers for the color of each of its own one-coat swatches."""
    return tuple(
        _answer(known, fit, Target(c.name, lab_from_reflectance(known.one_coat[c])))
        for c in known.colorants
    )


def _answer(known: SwatchedRange, fit: MarkerFit, target: Target) -> Answer:
    tolerance = thresholds()["tolerance class"]
    limits = Limits(steps=2, coats=2)
    asked = Question(
        target, fit, limits, usual_ranking("class"), tolerance, Recipe(), swatched=known.fit
    )
    recipe = asked.find().recipes[0]
    judged = candidate_of(asked, recipe)
    return Answer(recipe, judged.verdict, judged.acceptance)


def _widened(before: MarkerFit, after: MarkerFit, tests: Sequence[Recipe]) -> float:
    traces = [[np.trace(predict(fit, r).covariance) for r in tests] for fit in (before, after)]
    return float(np.sqrt(np.max(np.array(traces[1]) / np.array(traces[0]))))


def answered_by_themselves(known: SwatchedRange, answers: Sequence[Answer]) -> float:
    """Return which share of a kit's own colors is answered by the colorant itself."""
    own = [Recipe((Step(c),)) for c in known.colorants]
    return float(np.mean([a.recipe == r for a, r in zip(answers, own, strict=True)]))
