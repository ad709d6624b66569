"""An invented kit of a few markers, fitted, for choices over many matches."""

import warnings
from types import ModuleType

import numpy as np
import pytest

from laydown.color.arrays import FloatArray
from laydown.color.spectra import WAVELENGTHS
from laydown.media.laydown import Laydown
from laydown.media.marker.fitting import fit_markers
from laydown.media.marker.model import MarkerFit
from laydown.media.recipe import Colorant, Paper, Recipe, Step
from laydown.media.swatch import Swatch

WHITE: FloatArray = np.full(36, 0.88)


def dye(middle: float, *, depth: float, breadth: float = 50.0, gray: float = 0.0) -> FloatArray:
    """Return what a coat of an invented dye with one band absorbs, shape (36,)."""
    band = np.exp(-(((WAVELENGTHS - middle) / breadth) ** 2))
    return np.asarray(depth * (band + gray), dtype=np.float64)


DYES = {
    "Straw": dye(440, depth=0.5),
    "Ochre": dye(450, depth=1.6, breadth=70),
    "Brick": dye(510, depth=1.5, breadth=60),
    "Rose": dye(530, depth=0.7),
    "Sky": dye(620, depth=0.5, breadth=60),
    "Navy": dye(600, depth=1.9, breadth=80),
    "Fog": dye(550, depth=0.25, breadth=400),
    "Slate": dye(550, depth=1.0, breadth=400),
}


def layered(*parts: tuple[str, float]) -> FloatArray:
    """Return the reflectance of amounts of dye as a clear film on white."""
    return np.asarray(WHITE * np.exp(-sum(amount * DYES[name] for name, amount in parts)))


@pytest.fixture(scope="session")
def quay() -> MarkerFit:
    """Return the invented range Quay, fitted from one and two coats."""
    paper = Paper("Gannet smooth", WHITE)
    swatches = [Swatch(paper.name, Recipe(), WHITE)]
    for name in DYES:
        for coats in (1, 2):
            step = Step(Colorant(name, "Quay"), Laydown(coats=coats))
            swatches.append(Swatch(paper.name, Recipe((step,)), layered((name, 0.9 * coats + 0.1))))
    return fit_markers(swatches, paper)


@pytest.fixture(scope="session")
def colour() -> ModuleType:
    """Import colour-science, which remarks on import that it can't plot here."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import colour  # noqa: PLC0415 slow and noisy, so only where it is needed
    return colour
