"""The plainest recipe that is as good as the best to the eye."""

from collections.abc import Iterator

from laydown.color.difference import ciede2000
from laydown.color.lab import lab_from_reflectance
from laydown.match.found import Found
from laydown.match.question import Question
from laydown.media.kit_fit import reflectance
from laydown.media.recipe import Recipe
from laydown.reference.thresholds import thresholds


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
