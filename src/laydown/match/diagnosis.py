"""Why did it not come out? Likely causes of a color, ranked, and a test to tell them apart.

Each cause gives a set of colors (`laydown.match.mishaps`), and about each lies the usual scatter
of a patch. By Bayes's rule the color that was obtained says how likely each cause is. Causes that
it can't tell apart are said to be tied.
"""

import itertools
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.match.mishaps import (
    ByCause,
    CauseKind,
    film_outcomes,
    mishap_priors,
    mixed_outcomes,
    outcomes,
)
from laydown.match.mud import chroma_lost
from laydown.media.film.model import FilmFit
from laydown.media.kit.fit import AnyFit, predict
from laydown.media.marker.model import MarkerFit
from laydown.media.recipe import Paper, Recipe, Step
from laydown.reference.thresholds import thresholds

TIED = 5.0
"""A cause is tied with the likeliest unless that is more than so many times as likely (chosen)."""
BREADTH = 1.0
"""Standard deviation about each point of a cause [CIELAB units per axis], for the points of a cause
stand apart by about twice that (chosen)."""
BREADTHS = {CauseKind.RECIPE: 0.0, CauseKind.OTHER: 30.0}
"""The same where it is another: what is none of the usual causes may give nearly any color."""


@dataclass(frozen=True, slots=True)
class Cause:
    """A likely cause."""

    kind: CauseKind
    """What went wrong."""
    chance: float
    """How likely it is, 0 to 1, if it was one of those considered and only one."""
    words: str
    """The same in a sentence, with what exactly may have happened."""
    now: str
    next_time: str
    """What to do about it on this paper, and before the next one, in a sentence each."""


@dataclass(frozen=True, slots=True, eq=False)
class Diagnosis:
    """Why a trial came out as it did."""

    expected: FloatArray
    """Shape (3,), the Lab that the recipe leads to expect."""
    deviations: float
    """How many standard distances the color obtained is from that."""
    causes: tuple[Cause, ...]
    """Likeliest first; those under 1 in 100 left out."""
    tied: int
    """How many of the first can't be told apart."""
    test: str
    """One cheap test that would tell most; empty where nothing is to be told."""


def explain(
    fit: AnyFit,
    recipe: Recipe,
    lab: FloatArray,
    *,
    wanted: FloatArray | None = None,
    papers: Sequence[Paper] = (),
    noise: float = 0.0,
) -> Diagnosis:
    """Rank the likely causes of a color that was obtained.

    `fit`: the kit on the paper, as the person's *other* trials have moved it. `recipe`: as it was
    written down. `lab`: shape (3,), obtained. `wanted`: shape (3,), the color that was hoped for,
    where one was. `papers`: others that may have been taken. `noise`: of the measurement [CIELAB
    units per axis]. Causes are single; two at once are not considered.

    ``explain(fit, recipe, lab).causes[0].words`` is the likeliest cause as a sentence.
    """
    seen = predict(fit, recipe)
    spread = seen.covariance + noise**2 * np.eye(3)
    away = lab - seen.lab
    told = sorted(
        (
            (kind, *_weigh(kind, labs, lab, spread), details)
            for kind, (labs, details) in _outcomes(fit, recipe, papers).items()
            if len(labs)
        ),
        key=lambda item: (-item[1], item[0]),
    )
    logs = np.array([log for _, log, *_ in told])
    chances = np.exp(logs - logs.max())
    chances /= chances.sum()
    on_amounts = AMOUNT_ADVICE[bool(lab[0] < seen.lab[0])]
    causes = tuple(
        Cause(
            kind,
            float(chance),
            f"Perhaps {details[place]}."
            if kind is not CauseKind.RECIPE
            else _recipe_in_words(fit, recipe, lab, wanted),
            *(on_amounts if kind is CauseKind.AMOUNT else ADVICE[kind]),
        )
        for (kind, _, place, details), chance in zip(told, chances, strict=True)
        if chance >= 0.01
    )
    tied = int(np.sum(chances * TIED >= chances[0]))
    return Diagnosis(
        expected=seen.lab,
        deviations=float(np.sqrt(away @ np.linalg.solve(spread, away))),
        causes=causes,
        tied=tied,
        test=_test([c.kind for c in causes[: max(tied, 2)]], recipe, fit.paper.name),
    )


def _outcomes(fit: AnyFit, recipe: Recipe, papers: Sequence[Paper]) -> ByCause:
    """Return what each cause may give, by the model of the recipe's medium."""
    media = {colorant.medium for colorant in recipe.colorants}
    if len(media) > 1:
        return mixed_outcomes(fit, recipe)
    part = fit.of(*media)
    if isinstance(part, MarkerFit):
        return outcomes(part, recipe, papers)
    assert isinstance(part, FilmFit)
    return film_outcomes(part, recipe, papers)


def _weigh(
    kind: CauseKind, labs: FloatArray, lab: FloatArray, spread: FloatArray
) -> tuple[float, int]:
    """Return the log of prior times likelihood of a cause, and its likeliest point."""
    wider = spread + BREADTHS.get(kind, BREADTH) ** 2 * np.eye(3)
    away = lab - labs
    squares = np.einsum("ki,ki->k", away, np.linalg.solve(wider, away.T).T)
    logs = -0.5 * squares - 0.5 * np.linalg.slogdet(wider)[1] - np.log(len(squares))
    best = int(np.argmax(logs))
    total = logs[best] + np.log(np.sum(np.exp(logs - logs[best])))
    return float(total + np.log(mishap_priors()[kind])), best


ADVICE = {
    CauseKind.RECIPE: (
        "Keep it, or fix it from here.",
        "Ask for another recipe; where two colors dull each other, leave a gap between them.",
    ),
    CauseKind.SUPPLY: (
        "Compare the caps with the recipe, and note what you really laid.",
        "Color a dot of each on scrap before you begin.",
    ),
    CauseKind.ORDER: (
        "Leave it: the order on the paper can’t be changed.",
        "Lay them bottom first, as the recipe says, and let each dry.",
    ),
    CauseKind.NOT_DRY: (
        "Let it dry through, then look again.",
        "Wait until each coat is dry before the next one, and before you judge.",
    ),
    CauseKind.PAPER: (
        "Note the paper it really was.",
        "Color a few swatches on this paper, too; then I can count with it.",
    ),
    CauseKind.SOLVENT: (
        "Let it dry, then lay the last coat once more.",
        "Keep blender, solvent and water away until all of it is dry.",
    ),
    CauseKind.OTHER: (
        "Measure it again, and look at what you noted.",
        "Change one thing at a time, and note it.",
    ),
}
"""What to do about a cause now, and what to do next time (common practice)."""
AMOUNT_ADVICE = {
    True: (
        "It can’t be taken off: shift the colors beside it a step darker.",
        "Try it on scrap first, with a lighter hand.",
    ),
    False: (
        "Let it dry, then lay one more coat.",
        "Lay each coat slowly and evenly, and count them.",
    ),
}
"""The same for an amount: whether too much was laid (common practice)."""


def _recipe_in_words(
    fit: AnyFit, recipe: Recipe, lab: FloatArray, wanted: FloatArray | None
) -> str:
    """Say that the recipe gives this by itself, and by which two it turns to mud."""
    pair = muddy_pair(fit, recipe)
    lost = 0.0 if wanted is None else float(np.hypot(*wanted[1:]) - np.hypot(*lab[1:]))
    if pair is not None and (wanted is None or lost > thresholds()["mud"]):
        return (
            f"Nothing went wrong: {pair[0]} and {pair[1]} make mud together, and the recipe gives "
            "just this."
        )
    return "Nothing went wrong: within the usual scatter the recipe gives just this."


def muddy_pair(fit: AnyFit, recipe: Recipe) -> tuple[str, str] | None:
    """Return the names of the two neighbors that cost most chroma, or None where none cost much.

    `fit`: the markers. `recipe`: of steps of colorants.
    """
    steps = [step for step in recipe.steps if isinstance(step, Step)]
    pairs = list(itertools.pairwise(steps))
    lost = [chroma_lost(fit, Recipe(pair)) for pair in pairs]
    if not lost or max(lost) < thresholds()["mud"]:
        return None
    below, above = pairs[int(np.argmax(lost))]
    return below.words, above.words


TESTS = {
    CauseKind.PAPER: "Measure the bare paper beside the patch: if it isn't {paper}, that was it; "
    "if it is, the other cause stays.",
    CauseKind.SUPPLY: "Lay one even coat of {name} alone on a scrap of {paper} and measure it: if "
    "its hue is off, another colorant was taken; if only its depth is, the amount.",
    CauseKind.ORDER: "Lay the last two colorants on a scrap in both orders, side by side.",
    CauseKind.NOT_DRY: "Measure the same patch again when it is dry through; if nothing changes, "
    "lay it once more with each coat dry.",
    CauseKind.SOLVENT: "Lay the recipe once more on a scrap of {paper} with no solvent or blender "
    "near it: if it comes out as expected, solvent took it away.",
    CauseKind.AMOUNT: "Lay one even coat of {name} alone on a scrap of {paper}: it shows how much "
    "you lay.",
}
"""Cheapest first: the test that tells a cause from any that stands below it (common practice)."""


def _test(kinds: Sequence[CauseKind], recipe: Recipe, paper: str) -> str:
    """Return the cheapest test that parts the likeliest causes."""
    likely = set(kinds[:2])
    top = recipe.steps[-1]
    name = top.words if isinstance(top, Step) else "the last colorant"
    fitting = (words for kind, words in TESTS.items() if kind in likely)
    return next(fitting, "").format(name=name, paper=paper)
