"""How much the hand scatters and the model misses, as the swatches themselves tell it."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.media.marker.fitting import HUBER, Layered, Noise, Posterior, own_covariance, slopes_of
from laydown.media.marker.priors import (
    BLENDER,
    EFFECTS,
    HELD,
    LATER_COAT,
    LIFT,
    QUICK,
    SCALE,
    SOAKED,
    WET,
    Priors,
)
from laydown.media.marker.references import Reference, words_laid
from laydown.media.recipe import Recipe, Step

FACTORS = np.geomspace(0.25, 4.0, 17)
"""What the prior noise is multiplied by, to try."""


def amount_variances(references: Sequence[Reference], hand: float) -> FloatArray:
    """Return the variance of each reference swatch's log amount, shape (n,).

    Examples
    --------
    >>> two = Reference(np.ones(36), replicates=4, unsure=0.0, xyz_only=False)
    >>> amount_variances([two], 0.1).round(6).tolist()
    [0.0025]
    """
    return np.array([hand**2 / r.replicates + r.unsure**2 for r in references])


def likeliest_noise(
    layered: Sequence[Layered],
    references: Sequence[Reference],
    fitted: Posterior,
    *,
    ceiling: FloatArray,
    priors: Priors,
) -> Noise:
    """Return the noise that makes the swatches most probable, one kind after the other.

    All parameters are integrated out of the model made straight at the fit, so that noise isn't
    mistaken for what the parameters could explain.

    Parameters
    ----------
    layered, references
        The swatches.
    fitted
        A fit made with some noise near it.
    ceiling
        Shape (36,).
    priors
        Of the effects and of the noise.
    """
    slopes = [slopes_of(swatch, fitted.parameters, ceiling) for swatch in layered]
    turned = np.array([t.by_parameter for t in slopes])
    mean = np.concatenate([priors.mean, np.zeros(len(references))])
    away = np.array([t.left + t.by_parameter @ (fitted.parameters - mean) for t in slopes])
    trust = np.minimum(1.0, HUBER / np.maximum(fitted.distances, 1e-9))

    def score(noise: Noise) -> float:
        by_itself = _replicates(references, noise.hand) + _expected(noise, priors)
        if not layered:
            return by_itself
        own = [own_covariance(s, t, noise) for s, t in zip(layered, slopes, strict=True)]
        blocks = np.array(own) / trust[:, None, None]
        precision = np.concatenate(
            [priors.sd**-2.0, 1.0 / amount_variances(references, noise.hand)]
        )
        return by_itself + evidence(blocks, turned, away, np.diag(precision))

    noise = fitted.noise
    noise = max([replace(noise, hand=priors.hand * f) for f in FACTORS], key=score)
    noise = max([replace(noise, misfit=priors.misfit * f) for f in FACTORS], key=score)
    return max([replace(noise, cover=priors.cover * f) for f in FACTORS], key=score)


def evidence(
    blocks: FloatArray, turned: FloatArray, away: FloatArray, precision: FloatArray
) -> float:
    """Return the log probability of differences from the prior's mean, parameters integrated out.

    Parameters
    ----------
    blocks, turned, away
        Shapes (l, 3, 3), (l, 3, p), (l, 3): own covariances, slopes, differences.
    precision
        Shape (p, p), of the prior.
    """
    solved = np.linalg.solve(blocks, np.concatenate([turned, away[..., None]], axis=-1))
    weight = np.einsum("lip,liq->pq", turned, solved[..., :-1]) + precision
    pull = np.einsum("lip,li->p", turned, solved[..., -1])
    square = float(np.einsum("li,li->", away, solved[..., -1])) - float(
        pull @ np.linalg.solve(weight, pull)
    )
    volume = np.linalg.slogdet(blocks)[1].sum() + np.linalg.slogdet(weight)[1]
    return float(-0.5 * (square + volume - np.linalg.slogdet(precision)[1]))


def _replicates(references: Sequence[Reference], hand: float) -> float:
    count = sum(r.replicates - 1 for r in references)
    total = sum(r.scatter for r in references)
    return float(-count * np.log(hand) - 0.5 * total / hand**2)


def _expected(noise: Noise, priors: Priors) -> float:
    by_hand = np.log(noise.hand / priors.hand) / priors.hand_sd
    by_model = np.log(noise.misfit / priors.misfit) / priors.misfit_sd
    by_cover = np.log(noise.cover / priors.cover) / priors.cover_sd
    return float(-0.5 * (by_hand**2 + by_model**2 + by_cover**2))


def effects_only(posterior: Posterior) -> FloatArray:
    """Return the effects of a fit, shape (7,)."""
    return posterior.parameters[: len(EFFECTS)]


PAIRS_NEEDED = 3
"""Fewer layered swatches than this don't part a later coat, lift and scale from each other."""


def layered_recipes(recipes: Sequence[Recipe]) -> frozenset[Recipe]:
    """Return those in which at least two different colorants, none a blender, lie over each other.

    Examples
    --------
    >>> len(layered_recipes([Recipe()]))
    0
    """
    return frozenset(r for r in recipes if len({c for c in r.colorants if not c.blender}) > 1)


def both_orders(recipes: Sequence[Recipe]) -> frozenset[frozenset[str]]:
    """Return the pairs of colorants that were laid over each other in both orders, by label."""
    ordered: set[tuple[str, str]] = set()
    for recipe in layered_recipes(recipes):
        labels = [c.label for c in recipe.colorants]
        if len(labels) == 2:
            ordered.add((labels[0], labels[1]))
    return frozenset(frozenset(pair) for pair in ordered if pair[::-1] in ordered)


def blends(recipe: Recipe) -> bool:
    """Tell whether a colorless blender lies over a color somewhere in a recipe.

    Examples
    --------
    >>> from laydown.media.colorant import Colorant
    >>> kelp, rinse = Colorant("Kelp", "Estuary"), Colorant("Rinse", "Estuary", blender=True)
    >>> [blends(Recipe((Step(a), Step(b)))) for a, b in ((kelp, rinse), (rinse, kelp))]
    [True, False]
    """
    kinds = [step.colorant.blender for step in recipe.steps if isinstance(step, Step)]
    return False in kinds and True in kinds[kinds.index(False) :]


def bears_on(recipe: Recipe) -> frozenset[str]:
    """Return the effects that the color of a recipe of markers depends on.

    One even coat is known from its own swatch, whatever the effects are.

    Examples
    --------
    >>> from laydown.media.colorant import Colorant
    >>> kelp, dune = Step(Colorant("Kelp", "Estuary")), Step(Colorant("Dune", "Estuary"))
    >>> sorted(bears_on(Recipe((kelp,)))), sorted(bears_on(Recipe((kelp, dune))))
    ([], ['later coat', 'lift', 'scale'])
    """
    steps = [step for step in recipe.steps if isinstance(step, Step)]
    colored = [step for step in steps if not step.colorant.blender]
    found = set(words_laid(recipe))
    if sum(step.laydown.coats for step in colored) > 1:
        found |= {EFFECTS[SCALE], EFFECTS[LATER_COAT]}
    if layered_recipes([recipe]):
        found.add(EFFECTS[LIFT])
    if blends(recipe):
        found |= {EFFECTS[SCALE], EFFECTS[BLENDER]}
    return frozenset(found)


def free_effects(recipes: Sequence[Recipe], priors: Priors) -> FloatArray:
    """Return shape (7,): 1 for effects that these swatches tell, 0 for those that keep their prior.

    Parameters
    ----------
    recipes
        Of the swatches.
    priors
        An effect held there stays held.
    """
    free = np.zeros(len(EFFECTS))
    layered = layered_recipes(recipes)
    free[SCALE] = float(any(recipe.coats > 1 for recipe in recipes))
    free[LATER_COAT] = float(len(layered) >= PAIRS_NEEDED)
    free[LIFT] = float(len(both_orders(recipes)) >= PAIRS_NEEDED)
    free[BLENDER] = float(any(blends(recipe) for recipe in recipes))
    laid = frozenset().union(*(words_laid(recipe) for recipe in recipes))
    for effect in (QUICK, SOAKED, WET):
        free[effect] = float(EFFECTS[effect] in laid)
    return free * (priors.sd > 2.0 * HELD)
