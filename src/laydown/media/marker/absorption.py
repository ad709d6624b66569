"""The absorption scale on which coats add, from clear film to dye in the fibre, and its inverse.

With u = −ln R the scale reads A = (1 − w) u + w (cosh u − 1), for (1 − R)²/2R = cosh u − 1. It is
a mixture of the two classical scales of a dyed white: ln R, exact for a clear film over the paper
(light passes the dye twice, Beer's law), and K/S, exact in Kubelka and Munk's model for dye
through the whole of a thick scatterer.
"""

import numpy as np

from laydown.color.arrays import FloatArray

DARKEST = 1e-4
"""Reflectance is taken as no lower than this: no instrument tells a patch that dark from black."""
MOST_STEPS = 60
"""Steps after which the inverse would give up; from its starting point it needs three."""
NEAR = 1e-5
"""Share of the root within which a step is the last: what it leaves goes by that share's cube."""


FLATTEST = 1e-300
"""Where nothing is absorbed, dye in the fibre has no slope: there the root is 0 already."""


def absorption(reflectance: FloatArray, *, scale: FloatArray | float) -> FloatArray:
    """Put reflectance on the absorption scale.

    `reflectance`: shape (…,), as a share of the whitest that can be [above 0 to 1]; what is darker
    than `DARKEST` counts as that, what is above 1 as 1. `scale`: w in [0, 1]: 0 for clear film, 1
    for dye in the fibre; broadcasts. Returns a ≥ 0, falling as reflectance rises.

    Untrue where light leaves the patch at other wavelengths than it came in (fluorescence), and
    where a gloss adds light from the surface, which must be taken off first.

    Source: P. Kubelka, F. Munk, Ein Beitrag zur Optik der Farbanstriche, Z. tech. Phys. 12 (1931).

    Half the light comes back: ln 2 for the film, (1 − ½)²/(2·½) = ¼ for the fibre.

    >>> absorption(np.array([0.5]), scale=np.array([0.0, 1.0])).round(4).tolist()
    [0.6931, 0.25]
    """
    r = np.clip(reflectance, DARKEST, 1.0)
    fibre = 0.5 * (1.0 - r) ** 2 / r
    return np.asarray((scale - 1.0) * np.log(r) + scale * fibre, dtype=np.float64)


def inverse(absorbed: FloatArray, *, scale: FloatArray | float) -> FloatArray:
    """Bring absorption back to reflectance, to the last digits.

    A is convex and rising in u. Both (1 − w) u + w u²/2 ≤ A and w (cosh u − 1) ≤ A bound u from
    above, the lower of these bounds by no more than a quarter, and Halley's method starts from it.

    `absorbed`: shape (…,), A; below 0 counts as 0. `scale`: w in [0, 1]; broadcasts. Returns
    reflectance in (0, 1].

    >>> inverse(np.array([0.25]), scale=1.0).round(12).tolist()
    [0.5]
    """
    a = np.maximum(np.asarray(absorbed, dtype=np.float64), 0.0)
    w = np.asarray(scale, dtype=np.float64)
    u = _bound(*np.broadcast_arrays(a, w))
    for _ in range(MOST_STEPS):
        more = np.expm1(u)
        less = more / (1.0 + more)  # half their product is cosh u - 1, half their sum sinh u
        bent = 0.5 * w * (more * less)
        slope = np.maximum((1.0 - w) + 0.5 * w * (more + less), FLATTEST)
        newton = ((1.0 - w) * u + bent - a) / slope
        step = newton / (1.0 - 0.5 * newton * ((bent + w) / slope))
        u = np.maximum(u - step, 0.0)
        if not (np.abs(step) > NEAR * u).any():
            break
    return np.asarray(np.exp(-u), dtype=np.float64)


def _bound(a: FloatArray, w: FloatArray) -> FloatArray:
    """Return the lower of two upper bounds of u."""
    below = (1.0 - w) + np.sqrt((1.0 - w) ** 2 + 2.0 * w * a)
    square = np.divide(2.0 * a, below, out=np.zeros_like(a), where=below > 0.0)
    x = a / np.maximum(w, 1e-9)
    hyperbolic = np.log1p(x + np.sqrt(x * (x + 2.0)))
    return np.asarray(np.where(w > 1e-9, np.minimum(square, hyperbolic), square))
