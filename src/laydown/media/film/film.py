"""A translucent layer by Kubelka and Munk: two constants a band, any ground below it.

Light goes up and down only; a layer absorbs K X of it and turns S X back. Everything here is
written so that nothing divides by a scattering or an absorption that may be 0.
"""

import numpy as np

from laydown.color.arrays import FloatArray

Number = FloatArray | float
THICKEST = 40.0
"""Optical thickness √(k² + 2 k s) beyond which a layer lets nothing through that shows."""
DARKEST = 1e-4
"""No ground is taken to be darker: K/S of black would be without end."""


def infinite(ratio: Number) -> FloatArray:
    """Return the reflectance of a layer so thick that its ground doesn't show.

    `ratio`: K/S ≥ 0; shapes broadcast. Returns R∞ = 1 + K/S − √((K/S)² + 2 K/S) (Kubelka 1948,
    equation 24).

    For K/S = ½: 1.5 − √1.25.

    >>> infinite(0.5).round(4).item()
    0.382
    """
    x = np.asarray(ratio, dtype=np.float64)
    return np.asarray(1.0 / (1.0 + x + np.sqrt(x * (x + 2.0))))


def ratio_of(reflectance: Number) -> FloatArray:
    """Return K/S = (1 − R)²/(2 R) of a layer without end, the inverse of `infinite`.

    `reflectance`: R∞ in (0, 1].

    >>> ratio_of(0.5).item()
    0.25
    """
    r = np.asarray(reflectance, dtype=np.float64)
    return np.asarray((1.0 - r) ** 2 / (2.0 * r))


def layer(absorbing: Number, scattering: Number) -> tuple[FloatArray, FloatArray]:
    """Return what a layer reflects over black and what it lets through.

    `absorbing`: k = K X ≥ 0; shapes broadcast. `scattering`: s = S X ≥ 0; 0 for a clear layer.
    Returns reflectance over black R₀ and transmittance T, both in [0, 1], R₀ + T ≤ 1.

    Kubelka's R₀ = sinh bSX/(a sinh bSX + b cosh bSX) and T = b/(same) (1948, equations 26 and 27)
    with a = (S + K)/S, b = √(a² − 1). With g = bSX = √(k² + 2 k s) and t = tanh(g)/g they become
    R₀ = s t/D and T = 1/(D cosh g), D = (k + s) t + 1, which holds for s = 0 (Beer's law, T =
    exp(−k)) and for k = 0 (R₀ = s/(1 + s)) alike. Beyond `THICKEST` g counts as that in R₀ as well,
    so the darkest layers come out lighter than by the equations; measured washes bear this out
    (docs/decisions/light-and-layers.md). Untrue for light from one side, for gloss, and
    for layers that let much light through unscattered: there the constants depend on thickness.

    Source: P. Kubelka, New contributions to the optics of intensely light-scattering materials,
    part I, J. Opt. Soc. Am. 38 (1948) 448–457.

    A clear layer obeys Beer's law; one that only scatters loses nothing.

    >>> [part.round(6).item() for part in layer(np.log(2.0), 0.0)]
    [0.0, 0.5]
    >>> [part.round(6).item() for part in layer(0.0, 1.0)]
    [0.5, 0.5]
    """
    k = np.asarray(absorbing, dtype=np.float64)
    s = np.asarray(scattering, dtype=np.float64)
    g = np.minimum(np.sqrt(k * (k + 2.0 * s)), THICKEST)
    faint, e = g < 1e-3, np.exp(-g)
    above = 1.0 + e * e
    t = (1.0 - e * e) / (above * np.where(faint, 1.0, g))
    if faint.any():
        t = np.where(faint, 1.0 - g * g / 3.0 + 2.0 / 15.0 * g**4, t)
    d = (k + s) * t + 1.0
    return np.asarray(s * t / d), np.asarray(2.0 * e / (above * d))


def laid_on(reflected: Number, passed: Number, ground: Number) -> FloatArray:
    """Lay a layer on a ground.

    `reflected`, `passed`: R₀ and T from `layer`. `ground`: reflectance of what lies below. Returns
    R = R₀ + T² G/(1 − R₀ G) (Kubelka 1954), rising in G band by band wherever T > 0: its slope is
    T²/(1 − R₀ G)².

    Kubelka, part II, J. Opt. Soc. Am. 44 (1954) 330–335. Holds for any ground that scatters.

    A clear layer that halves light twice over white.

    >>> laid_on(0.0, 0.5, 1.0).item()
    0.25
    """
    r = np.asarray(reflected, dtype=np.float64)
    t = np.asarray(passed, dtype=np.float64)
    return np.asarray(r + t * t * ground / (1.0 - r * ground))


def film(absorbing: Number, scattering: Number, ground: Number) -> FloatArray:
    """Return the reflectance of a layer on a ground: `layer` and `laid_on` in one.

    >>> film(0.0, 0.0, 0.7).item()
    0.7
    """
    return laid_on(*layer(absorbing, scattering), ground)


def sunk(absorbing: Number, scattering: Number, surface: Number, ground: Number) -> FloatArray:
    """Return the reflectance of a ground in whose surface pigment lies.

    `absorbing`, `scattering`: k and s of the pigment; shapes broadcast. `surface`: scattering of
    the part of the ground that the pigment lies in, at least 0: paper's fibers, or a wash that is
    there already. 0 for pigment that lies on top (`film`). `ground`: reflectance of the ground.
    It rises in the ground band by band.

    The surface looks like the ground it belongs to, so it absorbs K/S of the ground times what it
    scatters (`ratio_of`); pigment adds its own k and s to these (Duncan 1940, as in a mixture).
    For a surface much thicker than the pigment K/S simply add, as of dye in fibers; for one of no
    thickness a film lies on the ground. Untrue where pigment sinks to different depths, and, for
    the sake of the darkest layers (`layer`), in surfaces of an optical thickness beyond 40.

    Without pigment the ground looks as it did; in a thick surface K/S add.

    >>> sunk(0.0, 0.0, 3.0, 0.5).round(6).item()
    0.5
    >>> ratio_of(sunk(5.0, 0.0, 10.0, 0.5)).round(6).item()
    0.75
    """
    held = np.maximum(ground, DARKEST)
    own = np.asarray(surface) * ratio_of(np.minimum(held, 1.0))
    return film(own + absorbing, np.asarray(surface) + scattering, held)
