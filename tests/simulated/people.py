"""Simulated people who color with a simulated range, each with a hand and markers of their own.

A person lays 0.6 to 1.5 times what was swatched; each of their markers is up to 15 in 100 stronger
or weaker than the one that was; their paper lifts and fills as it does for them; their hand
scatters; and one trial in twenty is written down wrong. All of it is invented.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import partial

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.color.lab import lab_from_reflectance
from laydown.demo.oracle import (
    Dye,
    Effects,
    SimulatedBench,
    Steadiness,
    set_up,
    swatch,
    truth,
)
from laydown.media.laydown import Laydown
from laydown.media.marker.design import minimum_design
from laydown.media.marker.fitting import fit_markers
from laydown.media.marker.model import MarkerFit
from laydown.media.marker.pile import strength_of
from laydown.media.recipe import Colorant, Paper, Recipe, Step
from laydown.media.swatch import Swatch, Trial
from simulated.dyes import dye_set, white_slab

MISLABELED = 0.05
LIGHTEST, HEAVIEST = 0.6, 1.5
STRENGTH = 0.15
measured = partial(swatch, scale=0.006, noise=0.006)
"""An ordinary hand-held instrument: about 0.2 CIELAB units per axis on one patch, which is what the
marker priors expect of one."""


@dataclass(frozen=True, slots=True, eq=False)
class SwatchedRange:
    """A range that a careful hand swatched: bench, colorants, swatches and their fit."""

    bench: SimulatedBench
    dyes: dict[Colorant, Dye]
    fit: MarkerFit
    swatches: tuple[Swatch, ...]

    @property
    def one_coat(self) -> dict[Colorant, FloatArray]:
        """What each colorant's one-coat swatch was measured as, shape (36,)."""
        alone = {Recipe((Step(c),)): c for c in self.colorants}
        return {alone[s.recipe]: s.reflectance for s in self.swatches if s.recipe in alone}

    @property
    def colorants(self) -> tuple[Colorant, ...]:
        """In the order of the fit."""
        return tuple(self.dyes)


@dataclass(frozen=True, slots=True, eq=False)
class Person:
    """Someone with that range.

    Parameters
    ----------
    bench
        Their own markers on their own paper.
    hand
        How they color.
    log_amounts
        Shape (n,), true natural log of what each of their markers lays against the swatched one.
    """

    bench: SimulatedBench
    hand: Steadiness
    log_amounts: FloatArray


@dataclass(frozen=True, slots=True, eq=False)
class Colored:
    """A trial as it was written down, what was truly laid, and whether the two differ."""

    trial: Trial
    laid: Recipe

    @property
    def mislabeled(self) -> bool:
        """Whether what was written down is not what was laid."""
        return self.trial.recipe != self.laid


def swatched_range(seed: int, *, colorants: int = 24, share: float = 0.1) -> SwatchedRange:
    """Invent a range and have its minimum design swatched and fitted.

    Parameters
    ----------
    seed
        Of everything about it.
    colorants
        How many.
    share
        The top share of the paper that dye goes into.
    """
    rng = np.random.default_rng([seed, 1])
    dyes = dye_set(seed, colorants)
    slab = replace(white_slab(share=share), name="Invented white")
    bench = set_up(slab, dyes, Effects(filling=0.3, lifting=0.5))
    strengths = [float(strength_of(dye.absorption)) for dye in dyes.values()]
    design = minimum_design(list(dyes), strengths)
    swatches = [measured(bench, recipe, Steadiness(), rng) for recipe in design]
    paper = Paper(slab.name, swatches[0].reflectance)
    fit = fit_markers(swatches[1:], paper, colorants=list(dyes))
    return SwatchedRange(bench, dyes, fit, tuple(swatches[1:]))


def person(known: SwatchedRange, rng: np.random.Generator) -> Person:
    """Draw a person."""
    amount = float(np.exp(rng.uniform(np.log(LIGHTEST), np.log(HEAVIEST))))
    strengths = 1.0 + rng.uniform(-STRENGTH, STRENGTH, len(known.dyes))
    dyes = {
        c.label: replace(dye, absorption=dye.absorption * strength)
        for (c, dye), strength in zip(known.dyes.items(), strengths, strict=True)
    }
    effects = replace(
        known.bench.effects, filling=rng.uniform(0.2, 0.4), lifting=rng.uniform(0.2, 1.0)
    )
    hand = Steadiness(amount=amount, spread=float(rng.uniform(0.04, 0.09)))
    bench = replace(known.bench, dyes=dyes, effects=effects)
    return Person(bench, hand, np.log(amount * strengths))


def any_recipe(colorants: Sequence[Colorant], rng: np.random.Generator) -> Recipe:
    """Draw a recipe of one to three steps of one or two coats."""
    count = int(rng.choice([1, 2, 3], p=[0.25, 0.5, 0.25]))
    chosen = rng.choice(len(colorants), count, replace=False)
    coats = rng.integers(1, 3, count)
    return Recipe(
        tuple(
            Step(colorants[int(c)], Laydown(coats=int(n)))
            for c, n in zip(chosen, coats, strict=True)
        )
    )


def color(
    known: SwatchedRange, who: Person, recipe: Recipe, number: int, rng: np.random.Generator
) -> Colored:
    """Have a person lay a recipe, measure it and write it down, now and then wrongly."""
    laid = recipe
    if rng.random() < MISLABELED:
        laid = slipped(recipe, known.colorants, rng)
    made = measured(who.bench, laid, who.hand, rng)
    return Colored(Trial(number, recipe, lab_from_reflectance(made.reflectance)), laid)


def slipped(recipe: Recipe, colorants: Sequence[Colorant], rng: np.random.Generator) -> Recipe:
    """Return the recipe with one colorant taken for another."""
    place = int(rng.integers(len(recipe.steps)))
    others = [c for c in colorants if c not in recipe.colorants]
    other = others[int(rng.integers(len(others)))]
    steps = list(recipe.steps)
    old = steps[place]
    assert isinstance(old, Step)
    steps[place] = replace(old, colorant=other)
    return Recipe(tuple(steps))


def true_labs(who: Person, recipes: Sequence[Recipe]) -> FloatArray:
    """Return what the person gets on the whole: an even coat, perfectly measured."""
    return lab_from_reflectance(
        np.array([truth(who.bench, r, amount=who.hand.amount) for r in recipes])
    )


def measured_labs(who: Person, recipes: Sequence[Recipe], rng: np.random.Generator) -> FloatArray:
    """Return what the person gets one time, measured."""
    made = [measured(who.bench, r, who.hand, rng).reflectance for r in recipes]
    return lab_from_reflectance(np.array(made))
