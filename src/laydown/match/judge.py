"""The answer for one wanted color: the recipe, what stays off, how sure, and what would help."""

from dataclasses import replace
from types import MappingProxyType

import numpy as np

from laydown.match.acceptance import acceptance
from laydown.match.mud import find_mud, notes_on_blending
from laydown.match.outcome import Candidate, Match, Origin, Verdict
from laydown.match.question import Question, doubt_of, left_open
from laydown.match.ranking import (
    BY_EYE,
    Found,
)
from laydown.match.words import difference, instructions, layer_that_helps, verdict
from laydown.media.kit.fit import color_of, next_swatch, predict, predict_lab
from laydown.media.recipe import Medium, Recipe, Step, format_recipe
from laydown.reference.thresholds import thresholds


def candidate_of(question: Question, recipe: Recipe) -> Candidate:
    """Judge one recipe, laid over what lies there, against the color that is asked for."""
    wanted, tolerance = question.target.lab, question.tolerance
    pile = question.over.then(recipe)
    ((_, known),) = left_open(question.fit, [pile])  # which the search asked for already, mostly
    seen = predict(question.fit, pile, covariance=known)
    covariance = question.covariance(seen.recipe, known=seen.covariance)
    chance = acceptance(wanted, seen.lab, covariance, tolerance=tolerance)
    doubt = float(doubt_of(wanted, seen.lab, covariance))
    judged = verdict(question, recipe, seen.lab, chance=chance, doubt=doubt)
    off = question.expected(seen.lab, covariance) + question.missed(seen.lab, covariance)
    cost = float(off) + question.effort(recipe)
    return Candidate(
        prediction=seen,
        cost=cost,
        difference=difference(wanted, seen.lab, judged),
        covariance=covariance,
        acceptance=chance,
        verdict=judged,
        instructions=instructions(recipe, over=question.over),
        mud=find_mud(question, recipe, cost),
    )


def own(question: Question) -> Recipe | None:
    """Return the recipe of the supplies that the color was asked by the name of, if it may be laid.

    Who owns the marker lays it, whatever comes nearer by the numbers: a swatch is one laying of it,
    and the next is nothing surer than another marker's.
    """
    recipe, limits = question.target.asked_as, question.limits
    if recipe is None or question.over.steps or recipe.length > limits.steps:
        return None
    at_hand = {colorant.label for colorant in question.fit.colorants}
    used = [(colorant.name, colorant.label) for colorant in recipe.colorants]
    if any(label not in at_hand or {name, label} & limits.without for name, label in used):
        return None
    coats = [step.laydown.coats for step in recipe.steps if isinstance(step, Step)]
    laid = len(coats) == len(recipe.steps) and max(coats, default=0) <= limits.coats
    return recipe if laid else None


GAIN = 0.05
"""A recipe that comes closer by less than this is not told of: it would be printed as no gain."""
LIFTED = 1.0
"""What gets lighter by so much is lifted; less is no more than what a computation leaves [L*]."""
TOLERANCES = MappingProxyType(
    {name: thresholds()[f"tolerance {name}"] for name in ("sketch", "class", "close")}
)
"""CIEDE2000 at which half of observers accept, by the name the user chooses."""


def match_of(question: Question, *, top: int) -> Match:
    """Find the best recipe for a wanted color and say all there is to say about it.

    Recipes are ranked by the difference to expect, doubt included, and by what each step and coat
    adds; verdicts and acceptance are at kL 1, where tolerances were measured. A color that was
    asked by the name of one's own colorant is answered by that. Up to `top` alternatives to the
    best are returned; all recipes begin with what lies there already. *Out of reach* is a verdict
    in the match, with the least difference of all recipes in its notes.

    ``match_of(question, top=0).best.instructions`` says what to do.
    """
    found = question.find(top + 1)
    recipe = own(question) or found.recipes[0]
    best = candidate_of(question, recipe)
    single = _single(question, recipe, best)
    told = (best.prediction.recipe, single.prediction.recipe)
    others = [other for other in found.recipes if question.over.then(other) not in told]
    alternatives = tuple(candidate_of(question, other) for other in others[:top])
    recipes = [c.prediction.recipe for c in (best, *alternatives)]
    return Match(
        target=question.target,
        best=best,
        single=single,
        alternatives=alternatives,
        considered=found.considered,
        notes=(
            *_notes_on_choice(question, found, recipe, best),
            *_notes_on_lifting(question, recipe),
            *_notes_on_start(question, best),
            *notes_on_blending(question, recipe),
            *_notes_on_trust(question, best),
        ),
        next_swatch=next_swatch(question.fit, recipes)[1],
    )


def _single(question: Question, recipe: Recipe, best: Candidate) -> Candidate:
    if recipe.length == 1:
        return best
    found = question.with_limits(steps=1).find(2)  # the bare paper may be the first
    laid = [r for r in found.recipes if r.steps] or list(found.recipes)
    return candidate_of(question, laid[0])


def plainer(recipe: Recipe, other: Recipe) -> bool:
    """Whether a recipe has fewer steps than another, or as many and fewer coats."""
    return (recipe.length, recipe.coats) < (other.length, other.coats)


def _notes_on_choice(
    question: Question, found: Found, recipe: Recipe, best: Candidate
) -> list[str]:
    notes, wanted, ranking = [], question.target.lab, question.ranking
    piles = [question.over.then(one) for one in found.recipes]
    labs = (
        np.array([lab for lab, _ in left_open(question.fit, piles)])
        if question.target.own_recipe is None  # they were ranked by just that
        else predict_lab(question.fit, piles)
    )
    off = ranking.difference(wanted, labs)
    nearest = found.recipes[int(np.argmin(off))]
    closer = float(ranking.difference(wanted, best.prediction.lab)) - float(off.min())
    if closer >= GAIN:
        kind = "plainer" if plainer(recipe, nearest) else "surer"
        notes.append(
            f"“{format_recipe(nearest)}” comes closer by {closer:.1f} as predicted; the {kind} "
            "recipe is given."
        )
    if best.verdict is Verdict.ANOTHER_LAYER:
        layer = layer_that_helps(question, recipe)
        notes.append(f"One more step would bring it: {format_recipe(layer or Recipe())}.")
    if best.verdict is Verdict.OUT_OF_REACH:
        # what comes nearest of all, at kL 1, whatever it asks
        nearest_of_all = replace(question, ranking=BY_EYE, watch=None).nearest()
        least, reaches = nearest_of_all.costs[0], format_recipe(nearest_of_all.recipes[0])
        notes.append(
            f"Out of reach: of all {found.considered:,} recipes within the limits none comes "
            f"closer than {least:.1f} (CIEDE2000)."
            if least > question.tolerance
            else f"Out of reach of what is worth laying; “{reaches}” comes within {least:.1f}."
        )
    return notes


_LIGHTENS = {Medium.MARKER: "lift", Medium.PENCIL: "cover", Medium.WASH: "cover"}
"""Only a marker takes up some of what lies below; pencils and opaque washes hide it."""


def _notes_on_lifting(question: Question, recipe: Recipe) -> list[str]:
    """Say which step is laid to lighten what lies below, for light is to come from the paper."""
    piles = [
        question.over.then(Recipe(recipe.steps[:count])) for count in range(len(recipe.steps) + 1)
    ]
    light = [color_of(question.fit, pile)[0] for pile in piles]
    return [
        f"{step.words} is laid to {_LIGHTENS[step.colorant.medium]}: it lightens what lies below."
        for step, before, after in zip(recipe.steps, light, light[1:], strict=False)
        if isinstance(step, Step) and after > before + LIFTED
    ]


def _notes_on_start(question: Question, best: Candidate) -> list[str]:
    if not question.over.steps:
        return []
    fresh = replace(question, over=Recipe(), watch=None)
    found = fresh.find()
    recipe = found.recipes[0]
    if found.costs[0] + thresholds()["noticeable"] >= best.cost:
        return []
    off = candidate_of(fresh, recipe).difference.delta_e
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
    if best.verdict is Verdict.UNSURE:
        notes.append("That is unsure: try it on a scrap first.")
    if not question.fit.paper.measured:
        notes.append("The paper itself was not measured: a usual white is assumed.")
    if question.target.origin is Origin.SCREEN:
        notes.append("The wanted color is a screen's, which is only roughly what you see.")
    return notes
