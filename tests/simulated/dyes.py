"""A plain white sheet, and dyes invented for tests."""

import numpy as np

from laydown.color.spectra import WAVELENGTHS
from laydown.demo.oracle import Dye, Slab
from laydown.media.recipe import Colorant


def white_slab(*, share: float) -> Slab:
    """Return a plain white sheet, a little yellow, with the dye in its top share."""
    blue_end = (730.0 - WAVELENGTHS) / 350.0
    return Slab("Test white", 0.02 + 0.025 * blue_end, share=share)


def dye_set(seed: int, count: int) -> dict[Colorant, Dye]:
    """Invent test dyes: one to three bands each, twenty times as strong as another at most.

    Parameters
    ----------
    seed
        Of the generator; the same seed gives the same dyes.
    count
        How many.

    Returns
    -------
    dict[Colorant, Dye]
        By colorants “Dye 1”, “Dye 2” … of the range “Test”.

    Examples
    --------
    >>> [colorant.name for colorant in dye_set(1, 2)]
    ['Dye 1', 'Dye 2']
    """
    rng = np.random.default_rng(seed)
    dyes: dict[Colorant, Dye] = {}
    for number in range(1, count + 1):
        bands = rng.integers(1, 4)
        center = rng.uniform(400.0, 700.0, bands)[:, None]
        width = rng.uniform(20.0, 60.0, bands)[:, None]
        shape = np.exp(-0.5 * ((WAVELENGTHS - center) / width) ** 2).sum(axis=0) + 0.02
        peak = np.exp(rng.uniform(np.log(0.3), np.log(6.0)))
        solvent = float(rng.uniform(0.2, 0.9))
        dyes[Colorant(f"Dye {number}", "Test")] = Dye(peak * shape / shape.max(), solvent)
    return dyes
