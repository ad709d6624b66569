"""Simulated mishaps, each of one cause, for the diagnosis to find. All of it is invented."""

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.color.lab import ciede2000, lab_from_reflectance
from laydown.demo.oracle import Dye, SimulatedBench, Steadiness, set_up, swatch, truth
from laydown.match.diagnosis import muddy_pair
from laydown.match.mishaps import CauseKind
from laydown.media.film.drying import saunderson
from laydown.media.laydown import Laydown, Wait
from laydown.media.recipe import Colorant, Paper, Recipe, Step
from simulated.people import SwatchedRange, any_recipe, slipped

NOTICED = 3.0
"""A mishap is one that people ask about: so far (CIEDE2000) from what they expected."""
BLENDER = Colorant("Rinse", "Test", blender=True)
Draw = Callable[["SimulatedBench", "SwatchedRange", Recipe, np.random.Generator], FloatArray]


@dataclass(frozen=True, slots=True, eq=False)
class Mishap:
    """What was noted, what was wanted and obtained, and what had truly happened."""

    kind: CauseKind
    recipe: Recipe
    wanted: FloatArray
    lab: FloatArray


@dataclass(frozen=True, slots=True, eq=False)
class MishapPlace:
    """A range and the papers around it, on one of which something may go wrong."""

    known: SwatchedRange
    others: tuple[SimulatedBench, ...]
    papers: tuple[Paper, ...]


def place(known: SwatchedRange) -> MishapPlace:
    """Put two further papers beside a range's own: a cream one and a gray one."""
    slab = known.bench.slab
    blue_end = np.linspace(1.0, 0.0, 36)
    slabs = (
        replace(slab, name="Invented cream", absorption=slab.absorption + 0.25 * blue_end),
        replace(slab, name="Invented gray", absorption=slab.absorption + 0.35),
    )
    others = tuple(set_up(s, known.dyes, known.bench.effects) for s in slabs)
    papers = tuple(Paper(b.paper, truth(b, Recipe())) for b in others)
    return MishapPlace(known, others, papers)


KINDS = tuple(kind for kind in CauseKind if kind is not CauseKind.OTHER)
"""What is simulated; something else can't be."""


def mishap(where: MishapPlace, kind: CauseKind, rng: np.random.Generator) -> Mishap:
    """Draw a mishap of one cause that is far enough off to be asked about."""
    while True:
        recipe = _recipe(where, kind, rng)
        usual = lab_from_reflectance(truth(where.known.bench, recipe))
        lab = lab_from_reflectance(_gone_wrong(where, kind, recipe, rng))
        wanted = usual
        if kind is CauseKind.RECIPE:
            wanted = _hoped(where, recipe)
        if ciede2000(wanted, lab) >= NOTICED:
            return Mishap(kind, recipe, wanted, lab)


def _hoped(where: MishapPlace, recipe: Recipe) -> FloatArray:
    """Return what someone hopes for who thinks of colors as of lights: the mean of the parts."""
    parts = [truth(where.known.bench, Recipe((step,))) for step in recipe.steps]
    return np.asarray(lab_from_reflectance(np.array(parts)).mean(axis=0))


def _recipe(where: MishapPlace, kind: CauseKind, rng: np.random.Generator) -> Recipe:
    while True:
        recipe = any_recipe(where.known.colorants, rng)
        if kind in {CauseKind.ORDER, CauseKind.RECIPE} and len(recipe.steps) < 2:
            continue
        if kind is CauseKind.RECIPE and muddy_pair(where.known.fit, recipe) is None:
            continue
        return recipe


def _gone_wrong(
    where: MishapPlace, kind: CauseKind, recipe: Recipe, rng: np.random.Generator
) -> FloatArray:
    bench, hand = where.known.bench, Steadiness()
    if kind is CauseKind.AMOUNT:
        amount = float(rng.choice([rng.uniform(0.4, 0.75), rng.uniform(1.35, 2.0)]))
        hand = replace(hand, amount=amount)
    elif kind is CauseKind.SUPPLY:
        recipe = slipped(recipe, where.known.colorants, rng)
    elif kind is CauseKind.ORDER:
        order = rng.permutation(len(recipe.steps))
        recipe = Recipe(tuple(recipe.steps[int(i)] for i in order))
    elif kind is CauseKind.PAPER:
        bench = where.others[int(rng.integers(len(where.others)))]
    elif kind is CauseKind.SOLVENT:
        coats = int(rng.integers(2, 4))
        recipe = recipe.then(Recipe((Step(BLENDER, Laydown(coats=coats)),)))
        bench = _with_blender(bench)
    elif kind is CauseKind.NOT_DRY:
        return _not_dry(bench, recipe, rng)
    return swatch(bench, recipe, hand, rng).reflectance


def _with_blender(bench: SimulatedBench) -> SimulatedBench:
    rinse = Dye(np.zeros(36), solvent=1.0)
    effects = replace(bench.effects, lifting=0.8)
    return replace(bench, dyes={**bench.dyes, BLENDER.label: rinse}, effects=effects)


def _not_dry(bench: SimulatedBench, recipe: Recipe, rng: np.random.Generator) -> FloatArray:
    """Lay over wet ground, or read before it is dry."""
    if len(recipe.steps) > 1 and rng.random() < 0.5:
        wet = float(rng.choice([rng.uniform(0.4, 0.7), rng.uniform(1.4, 1.8)]))
        bench = replace(bench, effects=replace(bench.effects, wet=wet))
        laid = tuple(
            replace(step, laydown=replace(step.laydown, wait=Wait.WET))
            if number and isinstance(step, Step)
            else step
            for number, step in enumerate(recipe.steps)
        )
        return swatch(bench, Recipe(laid), Steadiness(), rng).reflectance
    dry = swatch(bench, recipe, Steadiness(), rng).reflectance
    wet_surface = saunderson(np.minimum(dry, 1.0), external=0.02, internal=0.45, specular=False)
    return np.asarray(dry + rng.uniform(0.5, 1.0) * (wet_surface - dry))
