"""A library in memory's stead: a small one in a temporary folder."""

from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest

from laydown.app.library import Library, open_named
from laydown.media.colorant import Colorant
from laydown.media.laydown import Laydown
from laydown.media.recipe import Recipe, Step
from laydown.media.swatch import Swatch

PAPER = "Gannet smooth"
KELP, DUNE = Colorant("Kelp", "Shoal"), Colorant("Dune", "Shoal")
GULL = Colorant("Gull", "Cliff")


def swatch(colorant: Colorant | None, level: float, *, coats: int = 1) -> Swatch:
    """Return an invented swatch with a slanting reflectance about a level."""
    steps = (Step(colorant, Laydown(coats=coats)),) if colorant else ()
    slant = np.linspace(-0.08, 0.08, 36)
    return Swatch(PAPER, Recipe(steps), level + slant * (1 if colorant else 0.1))


@pytest.fixture
def library(tmp_path: Path) -> Iterator[Library]:
    """Return a library with the ranges Shoal and Cliff on one paper."""
    opened = open_named(str(tmp_path / "library.db"))
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
    yield opened
    opened.close()
