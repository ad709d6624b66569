"""How a recipe is judged, in one of five words."""

from dataclasses import replace

from laydown.color.arrays import FloatArray
from laydown.color.difference import ciede2000
from laydown.match.outcome import Verdict
from laydown.match.question import Question
from laydown.match.ranking import BY_EYE
from laydown.match.words import BLIND, difference, hue_term
from laydown.media.recipe import Recipe
from laydown.reference.thresholds import thresholds


def verdict(question: Question, recipe: Recipe, lab: FloatArray) -> Verdict:
    """Judge a recipe at kL 1, where tolerances were measured.

    *Same*: within the tolerance. Else *needs another layer*: one more step of one colorant, as the
    limits allow and the paper bears, would bring it within the tolerance. Else *same but for
    value*: within the tolerance once lightness is left out, and no more than a value step off; or
    *same but for hue*, likewise. Else *out of reach*.

    Parameters
    ----------
    question
        What is asked.
    recipe
        What is laid over what lies there.
    lab
        Shape (3,), the color that gives.
    """
    wanted, tolerance = question.target.lab, question.tolerance
    if ciede2000(wanted, lab) <= tolerance:
        return Verdict.SAME
    if layer_that_helps(question, recipe) is not None:
        return Verdict.ANOTHER_LAYER
    limits = thresholds()
    off = abs(difference(wanted, lab).value)
    if ciede2000(wanted, lab, k_L=BLIND) <= tolerance and off <= limits["value slack"]:
        return Verdict.BUT_VALUE
    if (
        ciede2000(wanted, lab, k_H=BLIND) <= tolerance
        and hue_term(wanted, lab) <= limits["hue slack"]
    ):
        return Verdict.BUT_HUE
    return Verdict.OUT_OF_REACH


def layer_that_helps(question: Question, recipe: Recipe) -> Recipe | None:
    """Return the step that, laid over a recipe, brings it within the tolerance; None if none."""
    further = replace(
        question.with_limits(steps=1), over=question.over.then(recipe), ranking=BY_EYE
    ).find()
    best = further.recipes[0]
    return best if best.steps and further.costs[0] <= question.tolerance else None
