"""Invented kits for the tests of the search, made straight from numbers."""

from collections.abc import Callable

import numpy as np
import pytest
from numpy.typing import NDArray

from laydown.match.ranking import VALUE_FIRST, Ranking
from laydown.match.search.found import NOTHING, Found, ranked
from laydown.match.search.loops import MARGIN
from laydown.match.search.on_paper import kit_on_paper
from laydown.match.search.repertoire import all_numbers
from laydown.match.space import USUAL_LIMITS, Limits
from laydown.media.colorant import Colorant, Paper
from laydown.media.laydown import Medium
from laydown.media.marker.absorption import absorption as absorption_of
from laydown.media.marker.marker import MODEL_VERSION, MarkerFit
from laydown.media.marker.pile import strength_of
from laydown.media.recipe import Recipe

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
        hand=0.08,
        cover=0.05,
        misfit=0.5,
        measuring=0.3,
        xyz_only=np.zeros(count),
        most_coats=np.ones(count),
        laid=frozenset(),
        assumed=assumed,
        odd=(),
        notes=(),
        swatched=(),
    )


@pytest.fixture(scope="session")
def invented_kit() -> Callable[..., MarkerFit]:
    """Give the maker of invented kits."""
    return make_kit


def try_all(
    fit: MarkerFit,
    lab: Spectra,
    *,
    limits: Limits = USUAL_LIMITS,
    ranking: Ranking = VALUE_FIRST,
    top: int = 10,
    over: Recipe = NOTHING,
) -> Found:
    """Color every recipe within the limits and rank them all: easy to trust, and slow."""
    kit = kit_on_paper(fit, limits, over, ranking)
    numbers, members = all_numbers(kit)
    costs = ranking.difference(lab, kit.lab(numbers))
    digits = np.stack(
        [
            numbers.astype(np.int64)
            // (len(kit.colorants) * limits.coats + 1) ** step
            % (len(kit.colorants) * limits.coats + 1)
            for step in range(members.shape[1])
        ],
        axis=1,
    )
    laid = digits > 0
    coats = np.where(laid, (digits - 1) % limits.coats + 1, 0)
    costs = costs + ranking.step * laid.sum(axis=1)
    costs += (coats * np.where(laid, np.append(kit.numbers.effort, 0.0)[members], 0.0)).sum(axis=1)
    last = np.sort(costs)[min(top, len(costs)) - 1]
    return ranked(kit, lab, numbers[costs <= last + MARGIN], ranking=ranking, top=top)


@pytest.fixture(scope="session")
def brute_force() -> Callable[..., Found]:
    """Return the search that tries every recipe, which the search must agree with."""
    return try_all
