"""Which XYZ a surface can have, and the smoothest reflectance that has it."""

from functools import cache

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.color.lab import WEIGHTS_D50, WHITE_D50
from laydown.errors import BadColorError

# The object-color solid: every XYZ that a surface which does not glow can have under D50.


def inside_object_solid(xyz: FloatArray, *, tolerance: float = 1e-6) -> np.ndarray:
    """Tell which colors some reflectance between 0 and 1 can have.

    `xyz`: shape (…, 3) under D50 [perfect white at Y = 100]. `tolerance`: how far outside still
    counts as inside [units of XYZ]; widen it for measured colors, which carry noise, and for
    brightened paper, which glows a little. Returns shape (…), bool.

    The solid of 36 bands is a sum of 36 segments, from 0 to each band's XYZ. A point lies in it
    when along every direction it lies between the two extremes of the solid, and only directions
    square to two of the bands need be asked: 630 of them, exactly, with no sampling. Their
    extremes are MacAdam's optimal colors, whose reflectance is 0 or 1 and changes twice at most.
    Between bands 10 nm wide nothing changes, so the solid is a hair smaller than that of a
    continuous spectrum: by 0.4 % of its volume and nowhere by more than 0.25 units of XYZ, all of
    it at colors purer than any colorant.

    Source: D. L. MacAdam, The theory of the maximum visual efficiency of colored materials, J. Opt.
    Soc. Am. 25 (1935) 249–252.

    White is the solid's upper tip; the same Y without any X and Z is far outside.

    >>> inside_object_solid(np.array([WHITE_D50, [0.0, 50.0, 0.0]])).tolist()
    [True, False]
    """
    return np.asarray(outside_by(xyz) <= tolerance)


def outside_by(xyz: FloatArray) -> FloatArray:
    """Measure how far colors lie outside the solid.

    `xyz`: shape (…, 3). Returns shape (…), distance to the farthest facet plane passed [units of
    XYZ]; below 0 inside, and then minus the distance to the surface.

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


BANDS = WEIGHTS_D50.shape[0]
W: FloatArray = WEIGHTS_D50 / 100.0
D: FloatArray = 4.0 * np.eye(BANDS) - 2.0 * (np.eye(BANDS, k=1) + np.eye(BANDS, k=-1))
"""Hessian of the sum of squared steps between neighboring bands."""
D[0, 0] = D[-1, -1] = 2.0

MARGIN = 1e-6
"""Colors nearer to the surface of the solid [XYZ] are moved in so far: there z is without bound."""
LONGEST_STEP = 1.0
"""No Newton step changes any z by more, so that tanh stays nearly straight over a step."""
MOST_STEPS = 200
BATCH = 2048


def reflectance_from_xyz(xyz: FloatArray, *, tolerance: float = 0.05) -> FloatArray:
    """Reconstruct the smoothest reflectances that have these XYZ under D50.

    `xyz`: shape (…, 3) [perfect white at Y = 100]. `tolerance`: a color outside the object-color
    solid by less [units of XYZ] is taken for rounding or noise and moved to the solid, straight
    towards middle gray. Returns shape (…, 36), each within (0, 1). Raises BadColorError for a color
    that no surface can have, or that is not a number.

    Least slope of the hyperbolic tangent: with R = (1 + tanh z)/2, the sum of (z[i+1] − z[i])² is
    made least while Wᵀ R = XYZ. Newton's method on Burns' Lagrangian; until XYZ is nearly met,
    what would make its Hessian indefinite is left out, which keeps each step downhill.

    It is a plausible spectrum, not the true one: of 238 measured patches half come back within
    0.07 (root of mean square over the bands). Carried to a filament lamp, the colors of the two
    24-patch sets are off by CIEDE2000 0.7 on average and 2.3 at most; to a tube made of lines, up
    to 2.9. Where the true spectrum matters, use an instrument. Within MARGIN of the solid's
    surface XYZ comes back within 1e-5, else within 1e-9.

    Source: S. A. Burns, Numerical methods for smoothest reflectance reconstruction, Color Res.
    Appl. 45 (2020) 8–21.

    The smoothest spectrum of a gray is flat.

    >>> reflectance_from_xyz(0.5 * WHITE_D50)[[0, 18, 35]].round(9).tolist()
    [0.5, 0.5, 0.5]
    """
    colors = np.asarray(xyz, dtype=np.float64)
    flat = _within(colors.reshape(-1, 3), tolerance)
    parts = [_least_slope(flat[i : i + BATCH]) for i in range(0, len(flat), BATCH)]
    z = np.concatenate([np.empty((0, BANDS)), *parts])
    return np.asarray(0.5 * (1.0 + np.tanh(z)).reshape(*colors.shape[:-1], BANDS))


def _within(xyz: FloatArray, tolerance: float) -> FloatArray:
    """Return colors at least MARGIN inside the solid, moved towards middle gray where needed."""
    gray = 0.5 * WHITE_D50
    outside = outside_by(xyz)
    bad = ~(outside <= tolerance)  # also catches NaN
    if np.any(bad):
        x, y, z = xyz[np.argmax(bad)]
        raise BadColorError(
            f"No surface can have XYZ {x:.6g}, {y:.6g}, {z:.6g} under D50.",
            hint="Check the order of the three numbers and their scale (white has Y = 100).",
        )
    depth = -float(outside_by(gray))
    share = np.clip((outside + MARGIN) / np.maximum(outside + depth, MARGIN), 0.0, 1.0)
    return xyz + share[:, None] * (gray - xyz)


def _least_slope(xyz: FloatArray) -> FloatArray:
    """Return z, shape (n, 36), by Newton's method on all colors that have not arrived."""
    target = xyz / 100.0
    z = np.repeat(np.arctanh(2.0 * target[:, 1:2] - 1.0), BANDS, axis=1)
    multipliers = np.zeros((len(z), 3))
    left = np.arange(len(z))
    for count in range(MOST_STEPS):
        if left.size == 0:
            return z
        step, miss = _newton_step(z[left], multipliers[left], target[left], count)
        longest = np.abs(step[:, :BANDS]).max(axis=1)
        step *= np.minimum(1.0, LONGEST_STEP / np.maximum(longest, 1e-300))[:, None]
        z[left] += step[:, :BANDS]
        multipliers[left] += step[:, BANDS:]
        left = left[(miss > 1e-9) | (longest > 1e-7)]
    if left.size:
        raise BadColorError(
            "A color so near to the limit of what surfaces can have defies reconstruction: XYZ "
            + ", ".join(f"{v:.6g}" for v in xyz[left[0]])
            + ".",
            hint="Measure the patch again, or give its spectrum.",
        )
    return z


def _newton_step(
    z: FloatArray, multipliers: FloatArray, target: FloatArray, count: int
) -> tuple[FloatArray, FloatArray]:
    """Return the step in z and multipliers, shape (n, 39), and how far XYZ/100 is missed."""
    tanh = np.tanh(z)
    first = 0.5 * (1.0 - tanh**2)
    jacobian = W.T * first[:, None, :]
    error = 0.5 * (1.0 + tanh) @ W - target
    miss = np.abs(error).max(axis=1)
    bend = (multipliers @ W.T) * (-2.0 * tanh * first)
    full = (miss < 1e-2) & (count % 40 < 25)  # should the full step go round in circles, start anew
    band = np.arange(BANDS)
    matrix = np.zeros((len(z), BANDS + 3, BANDS + 3))
    matrix[:, :BANDS, :BANDS] = D
    matrix[:, band, band] += np.where(full[:, None], bend, np.maximum(bend, 0.0)) + 1e-9
    matrix[:, BANDS:, :BANDS] = jacobian
    matrix[:, :BANDS, BANDS:] = jacobian.transpose(0, 2, 1)
    slope = z @ D + np.einsum("nk,nki->ni", multipliers, jacobian)
    right = -np.concatenate([slope, error], axis=1)
    return np.linalg.solve(matrix, right[..., None])[..., 0], miss
