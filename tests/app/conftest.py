"""A library in memory's stead: a small one in a temporary folder."""

import shutil
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np
import pytest

from laydown.app.library import Library, open_named
from laydown.media.laydown import Laydown
from laydown.media.recipe import Colorant, Recipe, Step
from laydown.media.swatch import Swatch

PAPER = "Gannet smooth"
KELP, DUNE = Colorant("Kelp", "Shoal"), Colorant("Dune", "Shoal")
GULL = Colorant("Gull", "Cliff")


def swatch(colorant: Colorant | None, level: float, *, coats: int = 1) -> Swatch:
    """Return an invented swatch with a slanting reflectance about a level."""
    steps = (Step(colorant, Laydown(coats=coats)),) if colorant else ()
    slant = np.linspace(-0.08, 0.08, 36)
    return Swatch(PAPER, Recipe(steps), level + slant * (1 if colorant else 0.1))


@pytest.fixture(scope="session")
def filled(tmp_path_factory: pytest.TempPathFactory, lay_library: Callable[[Path], Path]) -> Path:
    """Fill a library with the ranges Shoal and Cliff on one paper, for all tests to copy."""
    path = lay_library(tmp_path_factory.mktemp("filled") / "library.db")
    opened = open_named(str(path))
    with opened.work("fill") as work:
        work.add_swatches(
            [
                swatch(None, 0.9),
                swatch(KELP, 0.3),
                swatch(KELP, 0.15, coats=2),
                swatch(DUNE, 0.6),
                swatch(GULL, 0.5),
            ]
        )
    opened.close()
    return path


@pytest.fixture
def library(tmp_path: Path, filled: Path) -> Iterator[Library]:
    """Return a library with the ranges Shoal and Cliff on one paper."""
    opened = open_named(str(shutil.copyfile(filled, tmp_path / "library.db")))
    yield opened
    opened.close()
