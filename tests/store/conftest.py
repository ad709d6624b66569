"""Libraries to try things on, and swatches to put into them."""

from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np
import pytest

from laydown.media.colorant import Colorant
from laydown.media.laydown import Laydown
from laydown.media.recipe import Recipe, Step
from laydown.media.swatch import Swatch
from laydown.store.library import Library, open_library

KELP = Colorant("Kelp", "Estuary", code="k one")
DUNE = Colorant("Dune", "Estuary")
FIG = Colorant("Fig", "Orchard")


def swatch(*steps: Step, level: float = 0.5, paper: str = "Gannet smooth") -> Swatch:
    """Return a swatch with a sloping spectrum about a level."""
    return Swatch(paper, Recipe(steps), level + np.linspace(-0.1, 0.1, 36) / 3)


def one(colorant: Colorant, coats: int = 1) -> Step:
    """Return a step of even coats."""
    return Step(colorant, Laydown(coats=coats))


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """Where the library of a test lies."""
    return tmp_path / "library.db"


@pytest.fixture
def library(path: Path) -> Iterator[Library]:
    """An empty library in a file."""
    opened = open_library(path)
    yield opened
    opened.close()


@pytest.fixture
def fill() -> Callable[[Library], None]:
    """Return a function that takes five swatches of two ranges on one paper into a library."""

    def fill_library(library: Library) -> None:
        with library.work("take in five swatches") as work:
            work.add_swatches(
                [
                    swatch(level=0.85),
                    swatch(one(KELP), level=0.4),
                    swatch(one(KELP, 2), level=0.3),
                    swatch(one(KELP), one(DUNE), level=0.35),
                    swatch(one(FIG), level=0.2),
                ]
            )

    return fill_library
