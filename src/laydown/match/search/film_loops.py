"""The compiled loop of the search over films: lay one film on many grounds and score the color."""

from math import sqrt

from laydown.color.arrays import FloatArray
from laydown.match.search.compiling import compiled
from laydown.match.search.loops import BANDS, lab_root, squared_difference


@compiled
def score_films(  # noqa: PLR0917  a compiled loop, called in one place
    grounds: FloatArray,
    reflected: FloatArray,
    squared: FloatArray,
    weights: FloatArray,
    target: FloatArray,
    ks: FloatArray,
    bound: float,
    costs: FloatArray,
) -> None:
    """Put into `costs` (n, c) the CIEDE2000 of each film on each ground; above `bound`, inf.

    Parameters
    ----------
    grounds
        Shape (n, z, 36), or (n, 1, 36) where all zones are alike.
    reflected, squared
        Shape (c, z, 36): R₀ and T² of each film in each zone.
    weights
        Shape (3, 36): reflectance to X/Xn, Y/Yn, Z/Zn.
    target, ks
        Lab (3,), and kL, kC, kH.
    bound
        A recipe whose lightness term alone is above it is passed over.
    costs
        Shape (n, c).
    """
    zones, same = reflected.shape[1], grounds.shape[1] == 1
    lab = target.copy()
    for row in range(grounds.shape[0]):
        for film in range(reflected.shape[0]):
            x, y, z = 0.0, 0.0, 0.0
            for zone in range(zones):
                ground = grounds[row, 0 if same else zone]
                r, t = reflected[film, zone], squared[film, zone]
                for b in range(BANDS):
                    seen = r[b] + t[b] * ground[b] / (1.0 - r[b] * ground[b])
                    x += seen * weights[0, b]
                    y += seen * weights[1, b]
                    z += seen * weights[2, b]
            f_y = lab_root(y / zones)
            lab[0] = 116.0 * f_y - 16.0
            if lightness_term(target[0], lab[0], ks[0]) > bound:
                costs[row, film] = 1e9
                continue
            lab[1] = 500.0 * (lab_root(x / zones) - f_y)
            lab[2] = 200.0 * (f_y - lab_root(z / zones))
            costs[row, film] = sqrt(squared_difference(target, lab, ks))


@compiled
def lightness_term(wanted: float, lightness: float, k: float) -> float:
    """Return the lightness term of CIEDE2000, which the whole is never below.

    The chroma–hue form is positive semidefinite (docs/decisions/search.md).
    """
    mean = 0.5 * (wanted + lightness) - 50.0
    return abs(lightness - wanted) / (k * (1.0 + 0.015 * mean * mean / sqrt(20.0 + mean * mean)))


@compiled
def lightness_span(  # noqa: PLR0917  a compiled loop, called in one place
    low: FloatArray,
    high: FloatArray,
    reflected: FloatArray,
    squared: FloatArray,
    weights: FloatArray,
    span: FloatArray,
) -> None:
    """Put into `span` (c, 2) the L* between which each film lies on any ground between two.

    `low` and `high` (z, 36) or (1, 36) hold every ground, zone by zone and band by band. A film
    rises with its ground in every band and luminosity is nowhere below 0, so the film on `low` is
    the darkest and the film on `high` the lightest.
    """
    zones, same = reflected.shape[1], low.shape[0] == 1
    for film in range(reflected.shape[0]):
        dark, light = 0.0, 0.0
        for zone in range(zones):
            below, above = low[0 if same else zone], high[0 if same else zone]
            r, t = reflected[film, zone], squared[film, zone]
            for b in range(BANDS):
                dark += weights[1, b] * (r[b] + t[b] * below[b] / (1.0 - r[b] * below[b]))
                light += weights[1, b] * (r[b] + t[b] * above[b] / (1.0 - r[b] * above[b]))
        span[film, 0] = 116.0 * lab_root(dark / zones) - 16.0
        span[film, 1] = 116.0 * lab_root(light / zones) - 16.0
