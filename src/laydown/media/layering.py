"""From a recipe and the model's numbers to reflectance, for many sets of numbers at once.

Fitting and uncertainty both ask what a recipe would look like were the numbers a little different,
so everything here has a leading axis of variants.
"""

from dataclasses import dataclass

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.media.absorption import absorption, inverse
from laydown.media.colorant import Colorant
from laydown.media.marker_model import marker_step, stroke_effect, wet_effect
from laydown.media.pile import Number, Pile, bare, put, step_numbers, strength_of
from laydown.media.priors import BLENDER, LATER_COAT, LIFT, SCALE
from laydown.media.recipe import Recipe

EXACT = 0.15
"""Share of the model's misfit that stays where its scale is a law, at either end; chosen."""


def misfit_at(scale: float, *, misfit: float) -> float:
    """Return how far the model is off per further coat at a scale [CIELAB units].

    Clear film and dye through the fibre are limits that the scale has exactly. Between them it is
    a mixture that no physics demands; against radiative transfer it misses most where the dye lies
    in the top tenth of the paper, at scales about 2/3 to 0.8 (docs/decisions/0007-uncertainty.md).
    So the misfit goes as w² (1 − w).

    Parameters
    ----------
    scale
        w in [0, 1].
    misfit
        At its largest, where w = 2/3.

    Examples
    --------
    >>> round(misfit_at(2 / 3, misfit=0.4), 9), round(misfit_at(1.0, misfit=0.4), 9)
    (0.4, 0.06)
    """
    return misfit * (EXACT + (1.0 - EXACT) * 6.75 * scale**2 * (1.0 - scale))


@dataclass(frozen=True, slots=True)
class LaidStep:
    """A step in numbers: its colorant's place among those used, coats, stroke, wait, blender."""

    place: int
    coats: int
    stroke: int | None
    wet: int | None
    blender: bool


@dataclass(frozen=True, slots=True, eq=False)
class Ground:
    """The paper and, on it, one even coat of each colorant used in a recipe.

    Parameters
    ----------
    paper
        Shape (36,), relative to the ceiling.
    one_coat
        Shape (u, 36), relative to the ceiling.
    """

    paper: FloatArray
    one_coat: FloatArray


@dataclass(frozen=True, slots=True, eq=False)
class Variants:
    """Sets of numbers to try, v of them, for a recipe of s steps and u colorants.

    Parameters
    ----------
    effects
        Shape (v, 7).
    amounts
        Shape (v, u), natural log of each colorant's amount against its reference swatch.
    fresh
        Shape (v, s), natural log of the amount of each step as it is laid now.
    covered
        Shape (v, s), natural log of what each step leaves of what lies below it, beyond the lift.
    shapes
        Shape (v, u, 36), natural log of what each colorant's one-coat reflectance is multiplied by.
    crowding
        Shape (v,), see `laydown.media.pile.step_numbers`; 0 in the model itself.
    """

    effects: FloatArray
    amounts: FloatArray
    fresh: FloatArray
    covered: FloatArray
    shapes: FloatArray
    crowding: FloatArray


def laid_steps(recipe: Recipe) -> tuple[LaidStep, ...]:
    """Put a recipe into numbers.

    Raises
    ------
    BadRecipeError
        For steps that no marker can do.
    """
    steps = [marker_step(step) for step in recipe.steps]
    places: dict[Colorant, int] = {c: i for i, c in enumerate(recipe.colorants)}
    return tuple(
        LaidStep(
            places[step.colorant],
            step.laydown.coats,
            stroke_effect(step),
            wet_effect(step),
            step.colorant.blender,
        )
        for step in steps
    )


def unchanged(effects: FloatArray, *, steps: int, colorants: int, count: int = 1) -> Variants:
    """Return `count` variants that are all alike: these effects and no deviation."""
    return Variants(
        effects=np.tile(effects, (count, 1)),
        amounts=np.zeros((count, colorants)),
        fresh=np.zeros((count, steps)),
        covered=np.zeros((count, steps)),
        shapes=np.zeros((count, colorants, 36)),
        crowding=np.zeros(count),
    )


def pile_of(
    steps: tuple[LaidStep, ...], absorptions: FloatArray, variants: Variants
) -> tuple[Pile, FloatArray]:
    """Lay a recipe and return the pile and what each colorant has a share in it.

    Parameters
    ----------
    steps
        From `laid_steps`.
    absorptions
        Shape (v, u, 36), one even coat of each colorant.
    variants
        The numbers to lay it with; amounts and shapes are in `absorptions` already.

    Returns
    -------
    tuple
        The pile, and shape (v, u): amounts c so that the pile's absorption is Σ c a.
    """
    effects = variants.effects
    strengths = strength_of(absorptions)
    pile = bare((len(effects),), bands=absorptions.shape[-1])
    shares = np.zeros(absorptions.shape[:2])
    for number, step in enumerate(steps):
        keep, add = step_numbers(
            pile.strength,
            pile.amount,
            strength=0.0 if step.blender else strengths[:, step.place],
            coats=step.coats,
            later_coat=effects[:, LATER_COAT],
            lift=effects[:, BLENDER if step.blender else LIFT],
            blender=step.blender,
            stroke=_stroke(step, effects) * np.exp(variants.fresh[:, number]),
            wet=np.exp(effects[:, step.wet]) if step.wet is not None else 1.0,
            crowding=variants.crowding,
        )
        keep = keep * np.exp(variants.covered[:, number])
        a = absorptions[:, step.place]
        pile = put(pile, a, strength=strengths[:, step.place], keep=keep, add=add)
        shares = shares * keep[..., None]
        shares[:, step.place] += add
    return pile, shares


def _stroke(step: LaidStep, effects: FloatArray) -> Number:
    return np.asarray(np.exp(effects[:, step.stroke])) if step.stroke is not None else 1.0


def one_coat_absorptions(ground: Ground, variants: Variants) -> tuple[FloatArray, FloatArray]:
    """Return the paper's absorption (v, 36) and one even coat's of each colorant (v, u, 36)."""
    scale = variants.effects[:, SCALE, None]
    paper = absorption(ground.paper, scale=scale)
    coated = ground.one_coat * np.exp(variants.shapes)
    added = absorption(coated, scale=scale[..., None]) - paper[:, None, :]
    return paper, np.asarray(added * np.exp(variants.amounts)[..., None])


def relative_reflectance(
    steps: tuple[LaidStep, ...], ground: Ground, variants: Variants
) -> FloatArray:
    """Return the reflectance of a recipe relative to the ceiling, shape (v, 36)."""
    paper, added = one_coat_absorptions(ground, variants)
    pile, _ = pile_of(steps, added, variants)
    return inverse(paper + pile.absorption, scale=variants.effects[:, SCALE, None])
