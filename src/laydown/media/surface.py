"""What a smooth surface does to light going in and out: Fresnel's mirror and Saunderson's terms.

A dry matte paper has no such surface; a wet one does, which is why it looks darker.
"""

import numpy as np

from laydown.color.arrays import FloatArray

Number = FloatArray | float
NODES = 400


def saunderson(
    inside: Number, *, external: float, internal: float, specular: bool = True
) -> FloatArray:
    """Return the reflectance seen through a smooth surface.

    `inside`: reflectance below the surface [0–1]. `external`: k₁, what the surface reflects of
    light from outside. `internal`: k₂, what it throws back of diffuse light from inside.
    `specular`: whether the instrument takes in the mirror's own light. Returns k₁ + (1 − k₁)(1 −
    k₂) R/(1 − k₂ R), without the first term where the mirror is left out.

    Source: J. L. Saunderson, Calculation of the color of pigmented plastics, J. Opt. Soc. Am. 32
    (1942) 727–736.

    >>> saunderson(0.5, external=0.04, internal=0.6).round(4).item()
    0.3143
    """
    r = np.asarray(inside, dtype=np.float64)
    out = (1.0 - external) * (1.0 - internal) * r / (1.0 - internal * r)
    return np.asarray(out + external if specular else out)


def fresnel(cosine: FloatArray, *, index: float) -> FloatArray:
    """Return what a smooth surface reflects of unpolarized light.

    `cosine`: of the angle from straight on, in (0, 1]. `index`: of refraction beyond the surface
    over that before it; below 1 the mirror may be total.

    Straight on, ((n − 1)/(n + 1))².

    >>> fresnel(np.array(1.0), index=1.5).round(6).item()
    0.04
    """
    sine = np.sqrt(1.0 - cosine**2) / index
    beyond = np.sqrt(np.maximum(1.0 - sine**2, 0.0))
    across = (cosine - index * beyond) / (cosine + index * beyond)
    along = (index * cosine - beyond) / (index * cosine + beyond)
    return np.asarray(np.where(sine >= 1.0, 1.0, 0.5 * (across**2 + along**2)))


def diffuse_external(index: float) -> float:
    """Return what a smooth surface reflects of diffuse light from outside.

    `index`: of refraction, above 1.

    The mean of Fresnel's reflectance over a hemisphere, ∫ 2 μ ρ(μ) dμ, by Gauss's quadrature.

    >>> round(diffuse_external(1.5), 4)
    0.0918
    """
    nodes, weights = np.polynomial.legendre.leggauss(NODES)
    cosine = 0.5 * (nodes + 1.0)
    return float(np.sum(weights * cosine * fresnel(cosine, index=index)))


def diffuse_internal(index: float) -> float:
    """Return what a smooth surface throws back of diffuse light from inside.

    1 − (1 − ρ)/n² with ρ from `diffuse_external`: light goes either way through a surface alike,
    and 1 − 1/n² of it meets the surface too flat to get out at all.

    >>> round(diffuse_internal(1.5), 4)
    0.5963
    """
    return 1.0 - (1.0 - diffuse_external(index)) / index**2
