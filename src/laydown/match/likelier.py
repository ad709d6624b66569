"""A blender's recipe against the best one without: the likelier to be accepted is recommended."""

from laydown.match.candidate import candidate_of
from laydown.match.outcome import Candidate
from laydown.match.plainer import plainest
from laydown.match.question import Question
from laydown.media.recipe import Recipe


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
