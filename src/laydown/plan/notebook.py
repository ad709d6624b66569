"""What the notebook suggests: trials to make, and recipes restated for another hand."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cache
from itertools import product
from math import sqrt
from statistics import NormalDist
from types import MappingProxyType

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.color.lab import ciede2000
from laydown.color.value import value_from_lab
from laydown.media.inference.design import asked_by, sights, unsure, updated
from laydown.media.inference.fit import Fit
from laydown.media.inference.priors import BoolArray
from laydown.media.kit.fit import MediumFit, Prediction, predict_lab
from laydown.media.laydown import Laydown, Pressure, Stroke
from laydown.media.marker.design import coats_of, one_coat
from laydown.media.recipe import AnyStep, Medium, Recipe, Step
from laydown.media.swatch import Trial
from laydown.reference.thresholds import thresholds

WORTHWHILE = 0.04
"""A trial that narrows what is unsure by a smaller share than this isn't worth its paper."""
WELL_ENOUGH = 0.5
"""When less than this is unsure [CIELAB units per recipe], nothing is worth trying (chosen)."""
MOST_PAIRS = 150


@dataclass(frozen=True, slots=True)
class NextTrial:
    """A trial worth making."""

    recipe: Recipe
    """What to lay."""
    before: float
    after: float
    """What of the lesson is unsure [CIELAB units, root of the mean square over its recipes],
    without and with this trial and those before it."""


def next_trials(fit: Fit, recipes: Sequence[Recipe], *, most: int = 6) -> tuple[NextTrial, ...]:
    """Choose trials, one after the other, each the best beside those before it.

    `fit`: as trials have moved it so far. `recipes`: of the lesson and of the fit's medium: those
    whose colors are to become surer. It is empty where no trial is worth making: the lesson is
    known as well as it will be.

    Of the model made straight at the fit, what is unsure after a trial doesn't depend on what it
    will show. The scatter of a patch itself, which no trial can take away, is not counted.
    """
    laid = [recipe for recipe in dict.fromkeys(recipes) if recipe.steps]
    if not laid:
        return ()
    asked, candidates = asked_by(fit, laid), candidates_of(recipes)
    patches = sights(fit, candidates)
    covariance, chosen = fit.covariance, list[NextTrial]()
    before = unsure(covariance, asked)
    for _ in range(most):
        after = np.array([unsure(updated(covariance, patch), asked) for patch in patches])
        after[[candidates.index(trial.recipe) for trial in chosen]] = np.inf
        best = int(np.argmin(np.round(after, 9)))
        if before < WELL_ENOUGH or after[best] > before * (1.0 - WORTHWHILE):
            break
        chosen.append(NextTrial(candidates[best], before, float(after[best])))
        covariance = updated(covariance, patches[best])
        before = float(after[best])
    return tuple(chosen)


def candidates_of(recipes: Sequence[Recipe]) -> list[Recipe]:
    """Return the trials considered: the recipes, their beginnings, their colorants alone."""
    colorants = list(dict.fromkeys(c for r in recipes for c in r.colorants if not c.blender))
    begun = [Recipe(r.steps[:n]) for r in recipes for n in range(2, len(r.steps))]
    listed = [
        *recipes,
        *begun[:MOST_PAIRS],
        *(one_coat(c) for c in colorants),
        *(coats_of(c, 2) for c in colorants),
    ]
    return [r for r in dict.fromkeys(listed) if r.steps]


COATS = (1, 2, 3, 4)
STROKES = (Stroke.EVEN, Stroke.QUICK, Stroke.SOAKED)
NUMBERS = {1: "one", 2: "two", 3: "three", 4: "four"}
PRESSURES = {Pressure.MEDIUM: "", Pressure.LIGHT: "light ", Pressure.HEAVY: "heavy "}
WATER = {0.0: "", 0.5: "half water", 0.75: "three quarters water"}
QUALITY = {Stroke.EVEN: "", Stroke.QUICK: "light ", Stroke.SOAKED: "soaked "}


@dataclass(frozen=True, slots=True, eq=False)
class Restated:
    """A recipe of someone else's in one's own hand."""

    theirs: Recipe
    mine: Recipe
    """What they lay, and what comes nearest to it by one's own hand."""
    as_written: float
    off: float
    """How far (CIEDE2000) one would be from their color by their recipe, and by one's own."""
    words: tuple[str, ...]
    """Step by step: “where they lay one coat of Kelp, lay two light ones”."""


def restate(recipe: Recipe, *, theirs: MediumFit, mine: MediumFit) -> Restated:
    """Find how to lay someone else's recipe so that their color comes out.

    `recipe`: steps of one medium. `mine`: a fit on the same paper as theirs, with all colorants of
    the recipe. Returns, over one to four coats and all strokes, pressures or dilutions of each
    step, the nearest; the recipe as it stands unless another is noticeably nearer.
    """
    wanted = predict_lab(theirs, [recipe])[0]
    options = [recipe, *_ways(recipe)]
    far = ciede2000(predict_lab(mine, options), wanted)
    effort = np.array([_effort(option, recipe) for option in options])
    best = int(np.lexsort((effort, np.round(far, 6)))[0])
    enough = far <= far[best] + 0.5 * thresholds()["noticeable"]
    chosen = int(min(np.flatnonzero(enough), key=lambda i: (effort[i], far[i])))
    if far[0] <= far[chosen] + thresholds()["noticeable"]:
        chosen = 0
    own = options[chosen]
    return Restated(recipe, own, float(far[0]), float(far[chosen]), _words(recipe, own))


def _ways(recipe: Recipe) -> list[Recipe]:
    coats = COATS[:3] if sum(isinstance(step, Step) for step in recipe.steps) > 2 else COATS
    each = list[list[AnyStep]]()
    for step in recipe.steps:
        if isinstance(step, Step):
            ways = product(coats, _touches(step))
            each.append([replace(step, laydown=replace(laid, coats=n)) for n, laid in ways])
        else:
            each.append([step])
    return [Recipe(steps) for steps in product(*each)]


def _touches(step: Step) -> list[Laydown]:
    """Return the ways to lay one coat of a step's medium."""
    laid = step.laydown
    if step.colorant.medium is Medium.PENCIL:
        return [replace(laid, pressure=pressure) for pressure in PRESSURES]
    if step.colorant.medium is Medium.WASH:
        return [replace(laid, dilution=d) for d in sorted({*WATER, laid.dilution})]
    return [replace(laid, stroke=stroke) for stroke in STROKES]


def _effort(option: Recipe, recipe: Recipe) -> float:
    """Return how many coats an option has, and how many are touched otherwise than theirs."""
    pairs = zip(option.steps, recipe.steps, strict=True)
    return option.coats + 0.5 * sum(_touch(a) != _touch(b) for a, b in pairs)


def _touch(step: AnyStep) -> Laydown | None:
    return replace(step.laydown, coats=1) if isinstance(step, Step) else None


def _words(theirs: Recipe, mine: Recipe) -> tuple[str, ...]:
    said = []
    for a, b in zip(theirs.steps, mine.steps, strict=True):
        if isinstance(a, Step) and isinstance(b, Step) and a != b:
            said.append(
                f"Where they lay {_coats(a.laydown)} of {a.colorant.name}, lay "
                f"{_coats(b.laydown, short=True)}."
            )
    return tuple(said) or ("Lay it as they do.",)


def _coats(laid: Laydown, *, short: bool = False) -> str:
    """Write “one coat”, or, where coats are understood, “two light ones”.

    >>> _coats(Laydown(2, Stroke.QUICK), short=True), _coats(Laydown())
    ('two light ones', 'one coat')
    """
    many, quality = laid.coats != 1, QUALITY[laid.stroke] or PRESSURES[laid.pressure]
    noun = ("one" if short else "coat") + "s" * many
    number = NUMBERS.get(laid.coats, str(laid.coats))
    water = f" with {WATER[laid.dilution]}" if WATER.get(laid.dilution) else ""
    if short and not quality:
        return (number if many else "one even coat") + water
    if short and not many:
        return f"one {quality}coat{water}"
    return f"{number} {quality}{noun}{water}"


SHARE = 0.8
"""The share of outcomes that a stated margin or range is meant to hold."""
POINTS = 1024
"""Points of the cloud that stands for what a color may turn out to be."""
_PLASTIC = 1.2207440846057596
"""Root of x⁴ = x + 1, whose powers spread points evenly over a cube (Roberts' sequence)."""


def value_margin(lab: FloatArray, covariance: FloatArray) -> float:
    """Return by how many value steps a color may come out lighter or darker, 80 times in 100.

    `lab`: shape (3,), the predicted CIELAB. `covariance`: shape (3, 3) [CIELAB²]. Returns half the
    range in value steps. Value runs nearly straight with L*, so that the range is taken as even on
    both sides.

    A step of value is about ten units of L*, so ± 1.28 units of one are about an eighth of a step:

    >>> round(value_margin(np.array([50.0, 0.0, 0.0]), np.diag([1.0, 0.0, 0.0])), 2)
    0.13
    """
    reach = NormalDist().inv_cdf((1.0 + SHARE) / 2.0) * sqrt(max(float(covariance[0, 0]), 0.0))
    ends = np.array([[max(lab[0] + side * reach, 0.0), 0.0, 0.0] for side in (1.0, -1.0)])
    light, dark = value_from_lab(ends)
    return float(light - dark) / 2.0


def difference_range(
    wanted: FloatArray, lab: FloatArray, covariance: FloatArray
) -> tuple[float, float]:
    """Return the range of CIEDE2000 that holds 80 in 100 outcomes, a tenth left out at each end.

    `wanted`, `lab`: shape (3,), CIELAB of the target and of the prediction. `covariance`: shape (3,
    3), of target and prediction together [CIELAB²]. Returns low and high. With no uncertainty both
    are the difference itself. Where the prediction lies on the target the low end is still above 0:
    three coordinates seldom all come out right.

    Source: M. Roberts, *The unreasonable effectiveness of quasirandom sequences*, 2018, for the
    points: no chance is drawn, so the same question has the same answer.

    >>> gray = np.array([50.0, 0.0, 0.0])
    >>> difference_range(gray, gray, np.zeros((3, 3)))
    (0.0, 0.0)
    """
    spreads, axes = np.linalg.eigh(covariance)
    cloud = lab + (_cloud() * np.sqrt(np.maximum(spreads, 0.0))) @ axes.T
    tail = (1.0 - SHARE) / 2.0
    low, high = np.quantile(ciede2000(wanted, cloud), (tail, 1.0 - tail))
    return float(low), float(high)


@cache
def _cloud() -> FloatArray:
    """Spread points as a standard normal in three dimensions, shape (POINTS, 3)."""
    steps = _PLASTIC ** -np.arange(1.0, 4.0)
    cube = (0.5 + np.outer(np.arange(1, POINTS + 1), steps)) % 1.0
    below = NormalDist().inv_cdf
    return np.array([[below(float(share)) for share in row] for row in cube])


# How good predictions were: trials against what was expected, before and after learning.

REGIONS = MappingProxyType({50: 2.028, 80: 4.467, 95: 8.9})
"""Squared distances that hold so many in 100, of Student's t with 10 degrees of freedom and the
stated covariance (.8 times 3 F(3, 10)): what is not modeled of people gives longer tails than a
Gaussian's (docs/decisions/notebook.md)."""


@dataclass(frozen=True, slots=True)
class Score:
    """How a way of predicting did over trials."""

    mean: float
    """CIEDE2000 of predicted from measured, its mean."""
    largest: float
    """The same, the largest."""
    value: float
    """Mean of the absolute difference in value steps."""
    inside: dict[int, float]
    """For each region, in 100: the share of trials in it, in 100."""
    log_score: float
    """Mean natural log of the probability density of what was measured; higher is better."""
    constant_log_score: float
    """The same, had every prediction had the one covariance that fits best in hindsight."""


@dataclass(frozen=True, slots=True, eq=False)
class Compared:
    """A trial against its predictions."""

    number: int
    """Of the trial."""
    measured: FloatArray
    """Shape (3,), Lab."""
    before: FloatArray
    after: FloatArray
    """Shape (3,), expected by swatches alone, and by swatches and all *other* trials."""
    off_before: float
    off_after: float
    """CIEDE2000 of those."""
    flagged: bool
    """Whether the trial was set aside."""


@dataclass(frozen=True, slots=True, eq=False)
class Calibration:
    """Every trial compared, and the scores before and after, without those set aside."""

    trials: tuple[Compared, ...]
    before: Score
    after: Score


def calibrate(
    seen: Sequence[Prediction],
    trials: Sequence[Trial],
    *,
    residuals: FloatArray,
    spreads: FloatArray,
    flagged: BoolArray,
) -> Calibration:
    """Compare trials with what was expected of them.

    `seen`: what swatches alone predict of each trial's recipe. `trials`: at least one. `residuals`,
    `spreads`, `flagged`: as learning has them, where each trial is judged by what all others teach.
    """
    measured = np.array([trial.lab for trial in trials])
    before = np.array([one.lab for one in seen])
    after = measured - residuals
    kept = ~flagged if not flagged.all() else np.ones(len(trials), dtype=bool)
    own = np.array([(t.noise**2) * np.eye(3) for t in trials])
    wide = np.array([one.covariance for one in seen]) + own
    far = ciede2000(before, measured), ciede2000(after, measured)
    rows = zip(trials, measured, before, after, *far, flagged, strict=True)
    compared = tuple(
        Compared(t.number, m, b, a, float(f), float(g), bool(out)) for t, m, b, a, f, g, out in rows
    )
    return Calibration(
        compared,
        score(before[kept], wide[kept], measured[kept]),
        score(after[kept], spreads[kept], measured[kept]),
    )


def score(predicted: FloatArray, covariance: FloatArray, measured: FloatArray) -> Score:
    """Score predictions against what was measured.

    `predicted`, `measured`: shape (t, 3), Lab. `covariance`: shape (t, 3, 3).

    A prediction that is right lies in every region.

    >>> exact = score(np.array([[50.0, 0, 0]]), np.eye(3)[None], np.array([[50.0, 0, 0]]))
    >>> exact.inside[50], exact.mean
    (100.0, 0.0)
    """
    away = measured - predicted
    squares = _squares(away, covariance)
    far = ciede2000(predicted, measured)
    values = np.abs(value_from_lab(measured) - value_from_lab(predicted))
    constant = away.T @ away / len(away) + 1e-6 * np.eye(3)
    same = np.broadcast_to(constant, covariance.shape)
    return Score(
        mean=float(far.mean()),
        largest=float(far.max()),
        value=float(values.mean()),
        inside={n: float(100.0 * np.mean(squares <= limit)) for n, limit in REGIONS.items()},
        log_score=_log_score(squares, covariance),
        constant_log_score=_log_score(_squares(away, same), same),
    )


def _squares(away: FloatArray, covariance: FloatArray) -> FloatArray:
    solved = np.linalg.solve(covariance, away[..., None])[..., 0]
    return np.asarray(np.einsum("ti,ti->t", away, solved))


def _log_score(squares: FloatArray, covariance: FloatArray) -> float:
    volume = np.linalg.slogdet(covariance)[1]
    return float(np.mean(-0.5 * (squares + volume + 3.0 * np.log(2.0 * np.pi))))
