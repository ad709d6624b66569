"""What the spectrum of a reference swatch may be off by, seen by XYZ or hidden from it."""

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.color.lab import lab_from_reflectance
from laydown.color.tristimulus import WEIGHTS_D50

SEEN_SHAPES = 3
"""Level, tilt and bend: the shapes that the instrument's noise of a reference is given."""
HIDDEN_SHAPES = 5
"""Further shapes, freed of what XYZ sees, that a spectrum guessed from XYZ may be off by."""
HIDDEN = 0.08
"""Standard deviation of ln R along each hidden shape; calibrated on simulated dyes, see
docs/decisions/0007-uncertainty.md."""


def reference_shapes(
    one_coat: FloatArray, *, ceiling: FloatArray, measuring: float, xyz_only: bool
) -> FloatArray:
    """Return what a reference's spectrum may be off by, in ln R, a standard deviation a row.

    Parameters
    ----------
    one_coat
        Shape (36,), relative to the ceiling.
    ceiling
        Shape (36,).
    measuring
        Noise of the instrument [CIELAB units per axis]; the seen shapes together come to it.
    xyz_only
        Whether the spectrum was guessed from XYZ, which adds shapes that XYZ doesn't see.

    Returns
    -------
    FloatArray
        Shape (shapes, 36).

    Notes
    -----
    A hidden shape h is made orthogonal to R times each color-matching weight, so to first order
    R exp(h) has the XYZ of R: a metameric black, see Wyszecki and Stiles, Color Science (1982).
    """
    bands = one_coat.shape[-1]
    waves = _waves(bands)
    small = 1e-3 * waves[:SEEN_SHAPES]
    base = lab_from_reflectance(ceiling * one_coat)
    moved = lab_from_reflectance(ceiling * one_coat * np.exp(small)) - base
    seen = small * measuring * np.sqrt(3.0 / float(np.sum(moved**2)))
    if not xyz_only:
        return np.asarray(seen)
    basis, _ = np.linalg.qr((ceiling * one_coat)[:, None] * WEIGHTS_D50)
    hidden = waves[SEEN_SHAPES:]
    return np.concatenate([seen, HIDDEN * (hidden - hidden @ basis @ basis.T)])


def _waves(bands: int) -> FloatArray:
    """Return cosines of none, one half, two halves … of a wave over the bands, of mean square 1."""
    place = (np.arange(bands) + 0.5) / bands
    order = np.arange(SEEN_SHAPES + HIDDEN_SHAPES)[:, None]
    return np.asarray(np.cos(np.pi * order * place) * np.where(order > 0, np.sqrt(2.0), 1.0))
