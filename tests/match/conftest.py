"""Invented kits for the tests of the search, made straight from numbers."""

from collections.abc import Callable
from itertools import pairwise, product

import numpy as np
import pytest
from numpy.typing import NDArray

from laydown.match.ranking import (
    NOTHING,
    USUAL_LIMITS,
    VALUE_FIRST,
    Found,
    Limits,
    Ranking,
    in_order,
)
from laydown.match.search.recipes import recipe_space
from laydown.match.search.repertoire import repertoire
from laydown.match.search.shelves import choices, shelves, slots
from laydown.media.inference.priors import Noise
from laydown.media.kit.fit import AnyFit, KitFit
from laydown.media.marker.model import MODEL_VERSION, MarkerFit
from laydown.media.marker.pile import absorption as absorption_of
from laydown.media.marker.pile import strength_of
from laydown.media.marker.priors import STRAIGHT
from laydown.media.recipe import Colorant, Medium, Paper, Recipe, Step, may_follow

NAMES = ("Kelp", "Dune", "Shoal", "Tern", "Wrack", "Mist", "Buoy", "Rope", "Slate", "Fern", "Plum")
Spectra = NDArray[np.float64]


def dyes(seed: int, count: int) -> Spectra:
    """Make absorption spectra of one to three bell-shaped bands, pale to strong."""
    rng, band = np.random.default_rng(seed), np.arange(36)
    made = np.zeros((count, 36))
    for row in range(count):
        strength = 10 ** rng.uniform(-1.0, 0.8)
        for _ in range(rng.integers(1, 4)):
            middle, width = rng.uniform(-4, 40), rng.uniform(3, 9)
            made[row] += strength * rng.random() * np.exp(-0.5 * ((band - middle) / width) ** 2)
    return made


def make_kit(
    count: int = 5,
    *,
    seed: int = 0,
    scale: float = 0.6,
    later_coat: float = 0.8,
    lift: float = 0.1,
    blenders: int = 0,
    coats_limit: int = 6,
    assumed: frozenset[str] = frozenset(),
) -> MarkerFit:
    """Make a fit of invented dyes without any swatches; blenders come first and lift double."""
    absorption = dyes(seed, count)
    absorption[:blenders] = 0.0
    blender = np.array([1.0] * blenders + [0.0] * (count - blenders))
    names = [NAMES[i] if i < len(NAMES) else f"Pebble {i}" for i in range(count)]
    paper = Paper("Gannet smooth", np.linspace(0.8, 0.9, 36), coats_limit=coats_limit)
    return MarkerFit(
        model_version=MODEL_VERSION,
        medium=Medium.MARKER,
        paper=paper,
        colorants=tuple(
            Colorant(name, "Estuary", blender=i < blenders) for i, name in enumerate(names)
        ),
        ceiling=np.ones(36),
        paper_absorption=absorption_of(paper.reflectance, scale=scale),
        absorption=absorption,
        strength=strength_of(absorption),
        blender=blender,
        effects=np.array([scale, later_coat, lift, -0.25, 0.25, -0.1, min(1.0, 2.0 * lift)]),
        own=np.zeros((count, 1)),
        covariance=np.eye(7 + count) * 1e-4,
        noise=Noise(0.08, 0.5, 0.05),
        measuring=0.3,
        xyz_only=np.zeros(count),
        most_coats=np.ones(count),
        laid=frozenset(),
        assumed=assumed,
        odd=(),
        notes=(),
        swatched=(),
        bend=STRAIGHT,
    )


@pytest.fixture(scope="session")
def invented_kit() -> Callable[..., MarkerFit]:
    """Give the maker of invented kits."""
    return make_kit


def try_all(
    fit: AnyFit,
    lab: Spectra,
    *,
    limits: Limits = USUAL_LIMITS,
    ranking: Ranking = VALUE_FIRST,
    top: int = 10,
    over: Recipe = NOTHING,
) -> Found:
    """Color every recipe within the limits and rank them all: easy to trust, and slow."""
    space = recipe_space(fit, limits=limits, ranking=ranking, over=over)
    every = repertoire(fit, limits=limits, over=over)
    costs = ranking.difference(lab, every.lab) + space.effort(every.numbers)
    near = np.flatnonzero(costs <= np.sort(costs)[min(top, len(costs)) - 1] + 1e-6)
    recipes = [space.recipe(int(number)) for number in every.numbers[near]]
    order = in_order(costs[near], [recipe.key for recipe in recipes])[:top]
    return Found(tuple(recipes[i] for i in order), costs[near][order], len(every))


@pytest.fixture(scope="session")
def brute_force() -> Callable[..., Found]:
    """Return the search that tries every recipe, which the search must agree with."""
    return try_all


def go_through_all(fit: KitFit, limits: Limits, over: Recipe = NOTHING) -> list[Recipe]:
    """Return all recipes within the limits, one by one: the plain definition, slow on purpose."""
    found: list[Recipe] = []
    most = fit.paper.coats_limit if limits.total_coats is None else limits.total_coats
    fillings = {
        (medium, *slot): [one.step(slot, choice) for choice in choices(slot[1], len(one.colorants))]
        for medium, one in shelves(fit, limits.without).items()
        for slot in slots(medium, limits)
    }
    media = frozenset(s.colorant.medium for s in over.steps if isinstance(s, Step))

    def go(recipe: Recipe, below: frozenset[Medium], steps: int, budget: int) -> None:
        found.append(recipe)
        last = recipe.steps[-1] if recipe.steps else None
        for (medium, laid, parts), every in fillings.items():
            left, coats = steps - max(len(parts), 1), budget - laid.coats
            if left < 0 or coats < 0 or not may_follow(below, medium):
                continue
            for step in every:
                alike = isinstance(last, Step) and (last.colorant, last.mixed) == (
                    step.colorant,
                    step.mixed,
                )
                if not alike:
                    go(Recipe((*recipe.steps, step)), below | {medium}, left, coats)

    go(Recipe(), media, limits.steps, max(0, most - over.coats))
    return found


@pytest.fixture(scope="session")
def every_recipe() -> Callable[..., list[Recipe]]:
    """Return the plain list of all recipes, which the search's own must agree with."""
    return go_through_all


def go_through(
    colorants: int, *, steps: int, coats: int, budget: int
) -> list[tuple[tuple[int, int], ...]]:
    """Return recipes of markers as tuples of (colorant, coats): the plain definition."""
    choices = list(product(range(colorants), range(1, coats + 1)))
    return [
        row
        for k in range(steps + 1)
        for row in product(choices, repeat=k)
        if all(a[0] != b[0] for a, b in pairwise(row)) and sum(n for _, n in row) <= budget
    ]


@pytest.fixture(scope="session")
def laid_steps() -> Callable[..., list[tuple[tuple[int, int], ...]]]:
    """Return the plain list of all recipes of markers."""
    return go_through
