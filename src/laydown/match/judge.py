"""The answer for one wanted color: the recipe, what stays off, how sure, and what would help."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from types import MappingProxyType

import numpy as np

from laydown.color.difference import ciede2000
from laydown.color.lab import lab_from_reflectance
from laydown.match.acceptance import acceptance
from laydown.match.blending import notes_on_blending
from laydown.match.mud import find_mud
from laydown.match.outcome import Candidate, Match, Origin, Target, Verdict
from laydown.match.question import Question
from laydown.match.ranking import BY_EYE, VALUE_FIRST, Ranking
from laydown.match.search.found import NOTHING, Found, Watch
from laydown.match.search.search import Finder
from laydown.match.space import USUAL_LIMITS, Limits
from laydown.match.words import difference, instructions, layer_that_helps, verdict
from laydown.media.kit.design import next_swatch
from laydown.media.kit.fit import AnyFit, predict, reflectance
from laydown.media.recipe import Recipe, format_recipe
from laydown.reference.thresholds import thresholds


def candidate_of(question: Question, recipe: Recipe, cost: float) -> Candidate:
    """Judge one recipe against the color that is asked for.

    Parameters
    ----------
    question
        What is asked.
    recipe, cost
        What is laid over what lies there, and what it was ranked by.
    """
    wanted = question.target
    seen = predict(question.fit, question.over.then(recipe))
    judged = verdict(question, recipe, seen.lab)
    covariance = question.covariance(seen)
    return Candidate(
        prediction=seen,
        cost=cost,
        difference=difference(wanted.lab, seen.lab, judged),
        covariance=covariance,
        acceptance=acceptance(wanted.lab, seen.lab, covariance, tolerance=question.tolerance),
        verdict=judged,
        instructions=instructions(recipe, over=question.over),
        mud=find_mud(question, recipe, cost),
    )


def plainest(question: Question, best: Found) -> tuple[Recipe, float]:
    """Return the recipe to recommend, with its cost.

    A recipe of fewer steps, then one of fewer coats, wins over the best unless that is noticeably
    better: closer by what is just perceptible, or within the tolerance where the plainer one isn't.

    Parameters
    ----------
    question
        What is asked.
    best
        What the search found for it; the first is the best of all.
    """
    for recipe, cost in _plainer(question, best.recipes[0]):
        if not _noticeably_better(question, best, recipe, cost):
            return recipe, cost
    return best.recipes[0], float(best.costs[0])


def _plainer(question: Question, best: Recipe) -> Iterator[tuple[Recipe, float]]:
    """Go through the best recipes of fewer steps and, for each number of steps, fewer coats."""
    for steps in range(best.length + 1):
        narrow = question.with_limits(steps=steps)
        enough = narrow.find() if steps < best.length else None
        most = enough.recipes[0].coats if enough else best.coats
        for coats in range(steps, most):
            found = question.with_limits(steps=steps, added_coats=coats).find()
            yield found.recipes[0], float(found.costs[0])
        if enough:
            yield enough.recipes[0], float(enough.costs[0])


def _noticeably_better(question: Question, best: Found, recipe: Recipe, cost: float) -> bool:
    if cost > best.costs[0] + thresholds()["noticeable"]:
        return True
    off, off_best = (_off(question, r) for r in (recipe, best.recipes[0]))
    return off_best <= question.tolerance < off


def _off(question: Question, recipe: Recipe) -> float:
    lab = lab_from_reflectance(reflectance(question.fit, question.over.then(recipe)))
    return float(ciede2000(question.target.lab, lab))


def surer_first(
    found: Found, sure: Sequence[float], *, top: int, margin: float
) -> tuple[Found, str]:
    """Reorder the recipes around the k-th by their chance of acceptance.

    Only recipes whose cost lies within the margin of the k-th change places, so one that is clearly
    closer stays before them and one that is clearly farther never comes in.

    Parameters
    ----------
    found
        From a search with ``within=margin``, so that none is missing.
    sure
        The chance that each of its recipes is accepted, in the same order.
    top
        How many to keep, the k.
    margin
        In CIEDE2000 as ranked, 0 or above.

    Returns
    -------
    tuple
        The best k, and a sentence that says what was done; empty where nothing changed places.

    Examples
    --------
    With a margin of 0 only recipes of the very cost of the k-th could change places.
    """
    if not len(found.costs):
        return found, ""
    last = found.costs[min(top, len(found.costs)) - 1]
    near = np.flatnonzero(np.abs(found.costs - last) <= margin)
    moved = sorted(near.tolist(), key=lambda i: (-sure[i], i))
    order = [i for i in range(len(found.costs)) if found.costs[i] < last - margin] + moved
    kept = order[:top]
    result = replace(found, recipes=tuple(found.recipes[i] for i in kept), costs=found.costs[kept])
    if kept == list(range(len(kept))):
        return result, ""
    return result, (
        f"Recipes within {margin:g} of each other in cost are in the order of how sure they are."
    )


def has_blender(recipe: Recipe) -> bool:
    """Tell whether a colorless blender is laid in a recipe."""
    return any(colorant.blender for colorant in recipe.colorants)


def likelier(question: Question, best: Candidate, recipe: Recipe) -> tuple[Candidate, Recipe]:
    """Return the recipe to recommend: not the blender's where another is likelier accepted.

    How much a blender carries off differs from colorant to colorant and is known for few of them,
    so a blended recipe may promise a nearer color and keep it less often.

    Parameters
    ----------
    question
        What is asked.
    best, recipe
        The plainest of the best recipes, judged, and what it lays over what lies there.
    """
    if not has_blender(recipe):
        return best, recipe
    blenders = frozenset(colorant.label for colorant in recipe.colorants if colorant.blender)
    without = question.with_limits(without=blenders)
    other, cost = plainest(without, without.find())
    judged = candidate_of(question, other, cost)
    return (judged, other) if judged.acceptance >= best.acceptance else (best, recipe)


NEAR = 0.1
"""Recipes whose cost is so near to that of the last one given are ordered by how sure they are.

In CIEDE2000 as ranked: an eighth of what is noticeable, so no order that an eye could judge moves.
"""
EVEN = 0.5
"""Below this chance of acceptance, *same* comes with a caution."""
TOLERANCES = MappingProxyType(
    {name: thresholds()[f"tolerance {name}"] for name in ("sketch", "class", "close")}
)
"""CIEDE2000 at which half of observers accept, by the name the user chooses."""


def match_color(
    target: Target,
    fit: AnyFit,
    *,
    limits: Limits = USUAL_LIMITS,
    ranking: Ranking = VALUE_FIRST,
    tolerance: str = "class",
    over: Recipe = NOTHING,
    watch: Watch | None = None,
    top: int = 5,
    finder: Finder | None = None,
    swatched: AnyFit | None = None,
) -> Match:
    """Find the best recipe for a wanted color and say all there is to say about it.

    Recipes are ranked by `ranking`, value first by default; differences, verdicts and acceptance
    are at kL 1, where tolerances were measured. A plainer recipe is recommended where a longer one
    is not noticeably better, and one without a colorless blender where that is likelier accepted.

    Parameters
    ----------
    target
        The wanted color.
    fit
        The kit on its paper.
    limits, ranking
        Which recipes, and what they are ranked by.
    tolerance
        A name in `TOLERANCES`.
    over
        What lies on the paper already; the recipes of the answer begin with it.
    watch
        Told (done, total) as the search goes on; may raise to cancel.
    top
        How many alternatives to the best to return at most. Those whose costs lie within `NEAR` of
        the last one's are in the order of how sure they are, and a note says so.
    finder
        Who searches the recipes, where the caller keeps tables.
    swatched
        What swatches alone tell of the kit, where trials have moved the fit.

    Returns
    -------
    Match
        *Out of reach* is a verdict in it, with the least difference of all recipes in its notes.

    Examples
    --------
    ``match_color(target, fit, tolerance="close").best.instructions`` says what to do.
    """
    question = Question(
        target, fit, limits, ranking, TOLERANCES[tolerance], over, watch, finder, swatched
    )
    found = question.find(top + 1, within=NEAR)
    recipe, cost = plainest(question, found)
    best, recipe = likelier(question, candidate_of(question, recipe, cost), recipe)
    surest, said = _surest(question, found, top + 1)
    others = [p for p in zip(surest.recipes, surest.costs, strict=True) if p[0] != recipe]
    alternatives = tuple(candidate_of(question, r, float(c)) for r, c in others[:top])
    recipes = [c.prediction.recipe for c in (best, *alternatives)]
    return Match(
        target=target,
        best=best,
        single=_single(question, recipe, best),
        alternatives=alternatives,
        considered=found.considered,
        notes=(
            *_notes_on_choice(question, found, recipe, best),
            *_notes_on_start(question, best),
            *notes_on_blending(question, recipe),
            *_notes_on_trust(question, best),
            *([said] if said else []),
        ),
        next_swatch=next_swatch(fit, recipes)[1],
    )


def _surest(question: Question, found: Found, top: int) -> tuple[Found, str]:
    """Keep the best, those about as good as the last in the order of how sure they are."""
    if len(found.costs) < 2:
        return found, ""
    seen = [predict(question.fit, question.over.then(recipe)) for recipe in found.recipes]
    sure = [
        acceptance(
            question.target.lab, one.lab, question.covariance(one), tolerance=question.tolerance
        )
        for one in seen
    ]
    return surer_first(found, sure, top=top, margin=NEAR)


def _single(question: Question, recipe: Recipe, best: Candidate) -> Candidate:
    if recipe.length == 1:
        return best
    found = question.with_limits(steps=1).find(2)
    laid = [i for i, r in enumerate(found.recipes) if r.steps] or [0]
    return candidate_of(question, found.recipes[laid[0]], float(found.costs[laid[0]]))


def _at_least_a_tenth(amount: float) -> str:
    return f"{amount:.1f}" if amount >= 0.05 else "less than 0.1"


def _notes_on_choice(
    question: Question, found: Found, recipe: Recipe, best: Candidate
) -> list[str]:
    notes = []
    nearest = found.recipes[0]
    if recipe != nearest:
        unsure = has_blender(nearest) and not has_blender(recipe)
        closer = float(best.cost - found.costs[0])
        notes.append(
            f"“{format_recipe(nearest)}” comes closer by {_at_least_a_tenth(closer)}, "
            + (
                "but what its blender carries off is less sure: the likelier recipe is given."
                if unsure
                else "which the eye would not notice: the plainer recipe is given."
            )
        )
    if best.verdict is Verdict.ANOTHER_LAYER:
        layer = layer_that_helps(question, recipe)
        notes.append(f"One more step would bring it: {format_recipe(layer or Recipe())}.")
    if best.verdict is Verdict.OUT_OF_REACH:
        least = replace(question, ranking=BY_EYE, watch=None).find().costs[0]
        notes.append(
            f"Out of reach: of all {found.considered:,} recipes within the limits none comes "
            f"closer than {least:.1f} (CIEDE2000)."
        )
    return notes


def _notes_on_start(question: Question, best: Candidate) -> list[str]:
    if not question.over.steps:
        return []
    fresh = replace(question, over=Recipe(), watch=None)
    recipe, cost = plainest(fresh, fresh.find())
    if cost + thresholds()["noticeable"] >= best.cost:
        return []
    off = candidate_of(fresh, recipe, cost).difference.delta_e
    note = (
        f"A fresh start is better: “{format_recipe(recipe)}” on bare paper comes within "
        f"{off:.1f}, over what lies there it is {best.difference.delta_e:.1f}."
    )
    return [note]


def _notes_on_trust(question: Question, best: Candidate) -> list[str]:
    notes = list(best.prediction.warnings)
    assumed = question.fit.assumed_for(best.prediction.recipe)
    if assumed:
        notes.append(f"Assumed, since no swatch tells it yet: {', '.join(sorted(assumed))}.")
    if best.verdict is Verdict.SAME and best.acceptance < EVEN:
        notes.append("The same is expected, but that is unsure: try it on a scrap first.")
    if not question.fit.paper.measured:
        notes.append("The paper itself was not measured: a usual white is assumed.")
    if question.target.origin is Origin.SCREEN:
        notes.append("The wanted color is a screen's, which is only roughly what you see.")
    return notes
