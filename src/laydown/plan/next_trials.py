"""What to try next: the few trials that would make the recipes of a lesson surest."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.media.design import coats_of, one_coat
from laydown.media.film_learning import film_look
from laydown.media.film_model import FilmFit
from laydown.media.fitting import Layered, Noise, own_covariance, slopes_of
from laydown.media.kit_fit import MediumFit
from laydown.media.layering import laid_steps
from laydown.media.marker_model import MarkerFit
from laydown.media.predicting import ground_of
from laydown.media.recipe import Recipe

WORTHWHILE = 0.04
"""A trial that narrows what is unsure by a smaller share than this isn't worth its paper."""
WELL_ENOUGH = 0.5
"""When less than this is unsure [CIELAB units per recipe], nothing is worth trying (chosen)."""
MOST_PAIRS = 150


@dataclass(frozen=True, slots=True)
class NextTrial:
    """A trial worth making.

    Parameters
    ----------
    recipe
        What to lay.
    before, after
        What of the lesson is unsure [CIELAB units, root of the mean square over its recipes],
        without and with this trial and those before it.
    """

    recipe: Recipe
    before: float
    after: float


def next_trials(
    fit: MediumFit, recipes: Sequence[Recipe], *, most: int = 6
) -> tuple[NextTrial, ...]:
    """Choose trials, one after the other, each the best beside those before it.

    Parameters
    ----------
    fit
        As trials have moved it so far.
    recipes
        Of the lesson and of the fit's medium: those whose colors are to become surer.
    most
        How many trials at most.

    Returns
    -------
    tuple of NextTrial
        Empty where none is worth making: the lesson is known as well as it will be.

    Notes
    -----
    Of the model made straight at the fit, what is unsure after a trial doesn't depend on what it
    will show. The scatter of a patch itself, which no trial can take away, is not counted.
    """
    asked = [_look(fit, recipe)[0] for recipe in dict.fromkeys(recipes) if recipe.steps]
    if not asked:
        return ()
    candidates = candidates_of(recipes)
    looks = [_look(fit, candidate) for candidate in candidates]
    covariance, chosen = fit.covariance, list[NextTrial]()
    before = _open(covariance, asked)
    for _ in range(most):
        after = np.array([_open(_updated(covariance, *look), asked) for look in looks])
        after[[candidates.index(trial.recipe) for trial in chosen]] = np.inf
        best = int(np.argmin(np.round(after, 9)))
        if before < WELL_ENOUGH or after[best] > before * (1.0 - WORTHWHILE):
            break
        chosen.append(NextTrial(candidates[best], before, float(after[best])))
        covariance = _updated(covariance, *looks[best])
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


def _layered(fit: MarkerFit, recipe: Recipe) -> Layered:
    ground, used = ground_of(fit, recipe)
    none = (np.zeros((0, ground.paper.shape[-1])),) * len(used)
    return Layered(recipe, laid_steps(recipe), used, ground, np.zeros(3), fit.measuring, none)


def _middle(fit: MarkerFit) -> FloatArray:
    return np.concatenate([fit.effects, np.zeros(len(fit.colorants))])


def _look(fit: MediumFit, recipe: Recipe) -> tuple[FloatArray, FloatArray]:
    """Return the slopes and the own noise of a trial."""
    if isinstance(fit, FilmFit):
        return film_look(fit, recipe)
    trial = _layered(fit, recipe)
    slopes = slopes_of(trial, _middle(fit), fit.ceiling)
    return slopes.by_parameter, own_covariance(
        trial, slopes, Noise(fit.hand, fit.misfit, fit.cover)
    )


def _open(covariance: FloatArray, asked: Sequence[FloatArray]) -> float:
    squares = [np.trace(turned @ covariance @ turned.T) for turned in asked]
    return float(np.sqrt(np.mean(squares)))


def _updated(covariance: FloatArray, turned: FloatArray, own: FloatArray) -> FloatArray:
    gain = covariance @ turned.T
    return np.asarray(covariance - gain @ np.linalg.solve(turned @ gain + own, gain.T))
