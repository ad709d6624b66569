"""A made-up range whose swatches follow the model exactly, with effects that are known."""

from collections.abc import Callable, Sequence

import numpy as np
import pytest

from laydown.media.colorant import Colorant
from laydown.media.laydown import Laydown
from laydown.media.layering import Ground, laid_steps, relative_reflectance, unchanged
from laydown.media.paper import Paper
from laydown.media.recipe import Recipe, Step
from laydown.media.swatch import Swatch

EFFECTS = np.array([0.35, 0.85, 0.10, -0.3, 0.3, -0.15, 0.45])
NAMES = ("Shell", "Mist", "Reed", "Moss", "Cove", "Slate")


@pytest.fixture(scope="session")
def colorants() -> tuple[Colorant, ...]:
    """Six colorants from pale to dark, each absorbing elsewhere."""
    return tuple(Colorant(name, "Cliff") for name in NAMES)


@pytest.fixture(scope="session")
def paper() -> Paper:
    """A white that takes a little of every band."""
    return Paper("Plover", np.full(36, 0.88))


@pytest.fixture(scope="session")
def lay(colorants: tuple[Colorant, ...], paper: Paper) -> Callable[[Recipe], np.ndarray]:
    """Return the true reflectance of a recipe."""
    band = np.arange(36)
    depth = [(0.25 + 0.35 * k) * np.exp(-(((band - 6 * k - 2) / 8) ** 2)) for k in range(6)]
    one_coat = {c: paper.reflectance * np.exp(-d) for c, d in zip(colorants, depth, strict=True)}

    def truth(recipe: Recipe) -> np.ndarray:
        steps = laid_steps(recipe)
        coats = np.array([one_coat.get(c, paper.reflectance) for c in recipe.colorants]).reshape(
            -1, 36
        )
        variants = unchanged(EFFECTS, steps=len(steps), colorants=len(coats))
        return relative_reflectance(steps, Ground(paper.reflectance, coats), variants)[0]

    return truth


@pytest.fixture(scope="session")
def swatch(lay: Callable[[Recipe], np.ndarray], paper: Paper) -> Callable[..., Swatch]:
    """Return a swatch of steps given as (colorant, Laydown) or a colorant alone."""

    def make(*steps: Colorant | tuple[Colorant, Laydown]) -> Swatch:
        laid = [Step(s) if isinstance(s, Colorant) else Step(*s) for s in steps]
        recipe = Recipe(tuple(laid))
        return Swatch(paper.name, recipe, lay(recipe))

    return make


@pytest.fixture(scope="session")
def full(swatch: Callable[..., Swatch], colorants: Sequence[Colorant]) -> tuple[Swatch, ...]:
    """One coat and two coats of each, and three pale and dark pairs in both orders."""
    pairs = [(0, 5), (1, 4), (2, 5)]
    return (
        *(swatch(c) for c in colorants),
        *(swatch((c, Laydown(coats=2))) for c in colorants),
        *(swatch(colorants[a], colorants[b]) for a, b in pairs),
        *(swatch(colorants[b], colorants[a]) for a, b in pairs),
    )
