"""The object-color solid: every XYZ that a surface which does not glow can have under D50."""

from functools import cache

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.color.tristimulus import WEIGHTS_D50, WHITE_D50


def inside_object_solid(xyz: FloatArray, *, tolerance: float = 1e-6) -> np.ndarray:
    """Tell which colors some reflectance between 0 and 1 can have.

    Parameters
    ----------
    xyz
        Shape (…, 3) under D50 [perfect white at Y = 100].
    tolerance
        How far outside still counts as inside [units of XYZ]; widen it for measured colors, which
        carry noise, and for brightened paper, which glows a little.

    Returns
    -------
    np.ndarray
        Shape (…), bool.

    Notes
    -----
    The solid of 36 bands is a sum of 36 segments, from 0 to each band's XYZ. A point lies in it
    when along every direction it lies between the two extremes of the solid, and only directions
    square to two of the bands need be asked: 630 of them, exactly, with no sampling. Their
    extremes are MacAdam's optimal colors, whose reflectance is 0 or 1 and changes twice at most.
    Between bands 10 nm wide nothing changes, so the solid is a hair smaller than that of a
    continuous spectrum: by 0.4 % of its volume and nowhere by more than 0.25 units of XYZ, all of
    it at colors purer than any colorant.

    References
    ----------
    D. L. MacAdam, The theory of the maximum visual efficiency of colored materials, J. Opt. Soc.
    Am. 25 (1935) 249–252.

    Examples
    --------
    White is the solid's upper tip; the same Y without any X and Z is far outside.

    >>> inside_object_solid(np.array([WHITE_D50, [0.0, 50.0, 0.0]])).tolist()
    [True, False]
    """
    return np.asarray(outside_by(xyz) <= tolerance)


def outside_by(xyz: FloatArray) -> FloatArray:
    """Measure how far colors lie outside the solid.

    Parameters
    ----------
    xyz
        Shape (…, 3).

    Returns
    -------
    FloatArray
        Shape (…), distance to the farthest facet plane passed [units of XYZ]; below 0 inside, and
        then minus the distance to the surface.

    Examples
    --------
    Below black, along the diagonal of the solid, it is at least as far as −Y.

    >>> bool(outside_by(-0.01 * WHITE_D50) > 0.0)
    True
    """
    normals, extents = _facets()
    offset = np.asarray(xyz, dtype=np.float64) - 0.5 * WHITE_D50
    return np.asarray(np.max(np.abs(offset @ normals.T) - extents, axis=-1), dtype=np.float64)


@cache
def _facets() -> tuple[FloatArray, FloatArray]:
    """Return unit normals (630, 3) and how far the solid reaches along each from its middle."""
    first, second = np.triu_indices(WEIGHTS_D50.shape[0], k=1)
    normals = np.cross(WEIGHTS_D50[first], WEIGHTS_D50[second])
    normals /= np.linalg.norm(normals, axis=1, keepdims=True)
    return normals, 0.5 * np.abs(normals @ WEIGHTS_D50.T).sum(axis=1)
