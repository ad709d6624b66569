"""One recipe against one wanted color: what stays off, how sure that is, and what to do."""

from laydown.match.acceptance import acceptance
from laydown.match.instructions import instructions
from laydown.match.mud import find_mud
from laydown.match.outcome import Candidate
from laydown.match.question import Question
from laydown.match.verdict import verdict
from laydown.match.words import difference
from laydown.media.kit_fit import predict
from laydown.media.recipe import Recipe


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
