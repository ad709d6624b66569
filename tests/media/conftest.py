"""A made-up range that follows the model exactly, and the measured ink sets, read in place.

The source of the ink sets is told in ``test_ink_layers.py``.
"""

from collections.abc import Callable, Sequence
from pathlib import Path

import numpy as np
import pytest

from laydown.color.reconstruction import reflectance_from_xyz
from laydown.media.inference.forward import variants
from laydown.media.laydown import Laydown
from laydown.media.marker.pile import laid_steps, relative_reflectance
from laydown.media.recipe import Colorant, Paper, Recipe, Step
from laydown.media.swatch import Basis, Swatch

EFFECTS = np.array([0.35, 0.85, 0.10, -0.3, 0.3, -0.15, 0.45])
FOGRA = [f"FOGRA{number}L" for number in (28, 29, 30, 39, 40)]
SETS = [*FOGRA, "TR002", "TR003", "TR005", "TR006"]
INKS = {letter: Colorant(name, "Press") for letter, name in
        zip("CMYK", ("cyan", "magenta", "yellow", "black"), strict=True)}  # fmt: skip
PRINTED = ("", "C", "M", "Y", "K", "CM", "CY", "MY", "CMY")
WITH_BLACK = ("KC", "KM", "KY", "KCM", "KCY", "KMY", "KCMY")
"""Overprints with black, in the order of laying: presses print black first."""
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
        usual = variants(EFFECTS, np.zeros((len(coats), 1)), steps=len(steps))
        return relative_reflectance(steps, paper.reflectance, coats, usual)[0]

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


def read_solids(path: Path) -> dict[str, np.ndarray]:
    """Return XYZ of the solids and overprints by their inks' letters."""
    words = path.read_text(encoding="latin-1").split()
    names = words[words.index("BEGIN_DATA_FORMAT") + 1 : words.index("END_DATA_FORMAT")]
    cells = words[words.index("BEGIN_DATA") + 1 : words.index("END_DATA")]
    found = {}
    for start in range(0, len(cells), len(names)):
        row = dict(zip(names, cells[start : start + len(names)], strict=True))
        amounts = [float(row[f"CMYK_{letter}"]) for letter in "CMYK"]
        if set(amounts) <= {0.0, 100.0}:
            inks = "".join(i for i, amount in zip("CMYK", amounts, strict=True) if amount)
            found[inks] = np.array([float(row[f"XYZ_{letter}"]) for letter in "XYZ"])
    return found


@pytest.fixture(scope="session")
def sets(debian_data: Callable[[str, str], Path]) -> dict[str, dict[str, Swatch]]:
    """Swatches of nine measured ink sets by their inks' letters; bare paper under no letter."""
    known = {}
    for name in SETS:
        xyz = read_solids(debian_data("icc-profiles-free", f"usr/share/color/icc/{name}.ti3"))
        known[name] = {
            inks: Swatch(name, Recipe(tuple(Step(INKS[i]) for i in inks)),
                         reflectance_from_xyz(xyz["".join(sorted(inks, key="CMYK".index))]),
                         Basis.XYZ)
            for inks in (*PRINTED, *WITH_BLACK)
        }  # fmt: skip
    return known
