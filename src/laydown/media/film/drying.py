"""Wet to dry: why wet color looks darker, how that goes as it dries, and what a wet reading says.

A wet patch has a smooth surface of water or solvent. Part of the light that would leave is thrown
back inside and meets the color again: the patch looks darker and stronger (Ångström 1925). Targets
are matched dry; a reading of a patch that is still wet is turned into the dry one, with what that
leaves open.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cache

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.color.lab import lab_from_reflectance
from laydown.media.recipe import Recipe, Treatment, TreatmentStep
from laydown.media.swatch import READINGS, Swatch
from laydown.reference.tables import load_table, numbers_of

WATER_INDEX = 1.33
"""Index of refraction of water; alcohol's 1.36 changes little."""
HOURS_SPREAD = 0.5
"""Standard deviation of the natural log of a drying time: air and paper differ (chosen)."""
GRID = np.linspace(0.0, 1.0, 201)


@dataclass(frozen=True, slots=True)
class Drying:
    """How wet something looks when just laid, and how fast that goes."""

    wetness: float
    """Share of the patch that has a wet surface when just laid, 0 to 1."""
    wetness_sd: float
    """How unsure that is."""
    hours: float
    """In which it falls to 1/e [hours]."""
    misfit: float = 1.0
    """What the model itself is off by [CIELAB units per axis]."""

    def left(self, hours: float) -> float:
        """Return the share with a wet surface after so many hours.

        >>> Drying(0.5, 0.1, hours=1.0).left(0.0)
        0.5
        """
        return float(self.wetness * np.exp(-hours / self.hours))


@cache
def usual_drying(wet: str) -> Drying:
    """Return what is assumed of a medium's name, or of ``solvent``, before any pair of readings.

    >>> usual_drying("wash").wetness
    0.5
    """
    table = load_table("drying")
    row = table["what"].index(wet)
    wetness, sd, hours = numbers_of(table, "wetness", "sd", "hours")[row]
    return Drying(float(wetness), float(sd), float(hours))


@cache
def _surface() -> tuple[float, float]:
    """Return what passes in straight on, and what is thrown back inside, for water."""
    external = float(fresnel(np.array(1.0), index=WATER_INDEX))
    return 1.0 - external, diffuse_internal(WATER_INDEX)


def wet_look(dry: FloatArray, *, wet: float) -> FloatArray:
    """Return what a dry patch looks like with a share of it wet.

    R_wet = (1 − w) R + w (1 − k₁)(1 − k₂) R/(1 − k₂ R): Saunderson's surface, the mirror left
    out, over the wet share. Darker for every R below 1; black and white change least.

    `dry`: shape (…,). `wet`: w in [0, 1].

    Source: A. Ångström, The albedo of various surfaces of ground, Geografiska Annaler 7 (1925)
    323–342; J. Lekner and M. C. Dorf, Why some things are darker when wet, Appl. Opt. 27 (1988)
    1278–1280.

    >>> bool(wet_look(np.array(0.5), wet=0.5) < 0.5)
    True
    """
    passed, inside = _surface()
    under = passed * (1.0 - inside) * dry / (1.0 - inside * dry)
    return np.asarray((1.0 - wet) * dry + wet * under)


def dry_look(seen: FloatArray, *, wet: float) -> FloatArray:
    """Return the dry patch that looks so with a share of it wet, the inverse of `wet_look`.

    >>> dry_look(wet_look(np.array(0.3), wet=0.6), wet=0.6).round(9).item()
    0.3
    """
    passed, k = _surface()
    c = passed * (1.0 - k)
    # (1 − w) k R² − ((1 − w) + w c + k seen) R + seen = 0, whose lesser root is the patch
    a, b = (1.0 - wet) * k, (1.0 - wet) + wet * c + k * seen
    return np.asarray(2.0 * seen / (b + np.sqrt(np.maximum(b * b - 4.0 * a * seen, 0.0))))


def as_dry(swatches: Sequence[Swatch]) -> tuple[Swatch, ...]:
    """Return swatches with those that were read wet turned into what they dry to.

    A patch read both wet and dry tells how wet its medium looks; otherwise the usual is assumed.

    `swatches`: those with `hours` were read so long after they were laid. In the same order; a wet
    one that was read dry as well is left out, any other has a spread that counts what the drying
    leaves open.
    """
    dry = {s.recipe: s.reflectance for s in swatches if s.hours is None}
    dryings: dict[str, Drying] = {}
    for swatch in swatches:
        what = _wet_as(swatch.recipe)
        if swatch.hours is not None and what not in dryings:
            dryings[what] = fit_drying(_pairs(swatches, dry, what), usual_drying(what))
    made = []
    for swatch in swatches:
        if swatch.hours is None:
            made.append(swatch)
        elif swatch.recipe not in dry:
            drying = dryings[_wet_as(swatch.recipe)]
            dry_one, covariance = dried(swatch.reflectance, drying, hours=swatch.hours)
            unsure = float(np.trace(covariance)) / 3.0
            spread = float(np.sqrt(swatch.spread**2 + READINGS * unsure))
            made.append(replace(swatch, reflectance=dry_one, spread=spread, hours=None))
    return tuple(made)


def _wet_as(recipe: Recipe) -> str:
    """Return what makes a recipe wet: its last step."""
    step = recipe.steps[-1] if recipe.steps else None
    if isinstance(step, TreatmentStep):
        return "solvent" if step.treatment is Treatment.SOLVENT else "pencil"
    return str(step.colorant.medium) if step else "pencil"


def _pairs(
    swatches: Sequence[Swatch], dry: dict[Recipe, FloatArray], what: str
) -> list[tuple[FloatArray, FloatArray, float]]:
    """Return the patches of one kind that were read wet and dry."""
    return [
        (s.reflectance, dry[s.recipe], s.hours)
        for s in swatches
        if s.hours is not None and s.recipe in dry and _wet_as(s.recipe) == what
    ]


def dried(seen: FloatArray, drying: Drying, *, hours: float) -> tuple[FloatArray, FloatArray]:
    """Predict the dry patch from a reading taken too early.

    `seen`: shape (36,), read after `hours`. `drying`: of what was laid. `hours`: since it was laid.
    Returns its reflectance, shape (36,), and the covariance of its Lab (3, 3), which counts how
    unsure wetness and drying time are, and the model's misfit, as far as the patch is still wet.
    """
    left = drying.left(hours)
    reflectance = dry_look(seen, wet=left)
    lab, sides = lab_from_reflectance(reflectance), list[float]()
    for sign in (1.0, -1.0):  # wetness, then drying time, a standard deviation to either side
        wetter = min(max(drying.wetness + sign * drying.wetness_sd, 0.0), 1.0)
        slower = drying.hours * float(np.exp(sign * HOURS_SPREAD))
        sides.append(replace(drying, wetness=wetter).left(hours))
        sides.append(replace(drying, hours=slower).left(hours))
    moved = np.array([lab_from_reflectance(dry_look(seen, wet=w)) - lab for w in sides])
    still = left / max(drying.wetness, 1e-9)
    covariance = 0.5 * moved.T @ moved + (drying.misfit * still) ** 2 * np.eye(3)
    return reflectance, covariance


def fit_drying(pairs: Sequence[tuple[FloatArray, FloatArray, float]], usual: Drying) -> Drying:
    """Fit wetness and, where the hours differ, the drying time to patches read wet and dry.

    `pairs`: of each patch the wet reading (36,), the dry one (36,), and the hours between laying
    and the wet reading. `usual`: what is expected before. Returns the most probable one in CIELAB;
    its misfit is what the pairs leave.
    """
    if not pairs:
        return usual

    def cost(wetness: float, time: float) -> float:
        """Return what a guess leaves: differences over the misfit, its distance from the usual."""
        off = _off(pairs, replace(usual, wetness=wetness, hours=time)) / usual.misfit
        away = (wetness - usual.wetness) / usual.wetness_sd
        later = np.log(time / usual.hours) / HOURS_SPREAD
        return float((off**2).sum() + away**2 + later**2)

    varied = len({after for _, _, after in pairs}) > 1
    times = usual.hours * np.exp(np.linspace(-1.5, 1.5, 13) if varied else np.zeros(1))
    tried = [(cost(w, t), w, t) for t in times.tolist() for w in GRID.tolist()]
    least, wetness, time = min(tried)
    weights = np.exp(-0.5 * np.array([c - least for c, _, _ in tried]))
    values = np.array([w for _, w, _ in tried])
    spread = np.sqrt(weights @ (values - wetness) ** 2 / weights.sum())
    found = Drying(wetness, max(float(spread), 0.02), time)
    left = float(np.sqrt(np.mean(_off(pairs, found) ** 2)))
    return replace(found, misfit=max(left, 0.3))


def _off(pairs: Sequence[tuple[FloatArray, FloatArray, float]], guess: Drying) -> FloatArray:
    """Return how far a guess is from the wet readings, shape (pairs, 3) [CIELAB]."""
    seen = np.array([wet for wet, _, _ in pairs])
    shown = np.array([wet_look(dry, wet=guess.left(hours)) for _, dry, hours in pairs])
    return np.asarray(lab_from_reflectance(shown) - lab_from_reflectance(seen))


# What a smooth surface does to light going in and out: Fresnel's mirror and Saunderson's terms.
#
# A dry matte paper has no such surface; a wet one does, which is why it looks darker.

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
