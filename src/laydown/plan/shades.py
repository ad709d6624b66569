"""A shade: a color on its way from light to dark, as runs see it."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.color.hue_uniform import hue_and_chroma
from laydown.color.lab import lab_from_reflectance, lab_from_xyz
from laydown.color.tristimulus import WHITE_D50
from laydown.color.value import luminance_from_value, value_from_lab
from laydown.match.repertoire import repertoire
from laydown.match.space import Limits
from laydown.media.kit_fit import AnyFit, reflectance
from laydown.media.recipe import Recipe, Step

GRAY = 0.03
"""IPT chroma below which hue fades out of the comparison; CIELAB chroma of about 5 (chosen)."""


@dataclass(frozen=True, slots=True, eq=False)
class Shade:
    """A color that can be a step of a run.

    Parameters
    ----------
    name
        A colorant's name, or a recipe in its text form.
    lab
        Shape (3,), CIELAB D50.
    value
        0 black to 10 white, ASTM D1535.
    hue, chroma
        Of IPT; hue in degrees.
    recipe
        What makes it; None for a color that nobody has said how to make.
    """

    name: str
    lab: FloatArray
    value: float
    hue: float
    chroma: float
    recipe: Recipe | None = None


def shade(name: str, lab: FloatArray, recipe: Recipe | None = None) -> Shade:
    """Return a color as a shade.

    Examples
    --------
    >>> round(shade("gray", np.array([50.0, 0.0, 0.0])).value, 1)
    4.9
    """
    hue, chroma = hue_and_chroma(lab)
    return Shade(name, lab, float(value_from_lab(lab)), float(hue), float(chroma), recipe)


def shades_of(fit: AnyFit, recipes: Iterable[tuple[str, Recipe]]) -> tuple[Shade, ...]:
    """Return the shades that a fit expects of named recipes."""
    return tuple(
        shade(name, lab_from_reflectance(reflectance(fit, recipe)), recipe)
        for name, recipe in recipes
    )


def one_coats(fit: AnyFit, *, without: frozenset[str] = frozenset()) -> tuple[Shade, ...]:
    """Return one coat of each colorant of a fit; not of blenders and of the labels excluded."""
    laid = repertoire(fit, limits=Limits(steps=1, coats=1, without=without))
    seen = {laid.recipe(place): laid.lab[place] for place in range(len(laid))}
    colorants = [c for c in fit.colorants if not c.blender and c.label not in without]
    recipes = [Recipe((Step(c),)) for c in colorants]
    return tuple(
        shade(c.name, seen[recipe], recipe) for c, recipe in zip(colorants, recipes, strict=True)
    )


def turn(from_hue: FloatArray | float, to_hue: FloatArray | float) -> FloatArray:
    """Return the way round from one hue to another [degrees, -180 to 180].

    Examples
    --------
    >>> float(turn(350.0, 10.0))
    20.0
    """
    return np.asarray((np.asarray(to_hue) - from_hue + 180.0) % 360.0 - 180.0)


def drift(hues: Sequence[float], chromas: Sequence[float]) -> FloatArray:
    """Return the hue differences of all pairs [degrees], shape (n, n), fading out towards gray."""
    hue, chroma = np.array(hues, dtype=np.float64), np.array(chromas, dtype=np.float64)
    least = np.minimum(chroma[:, None], chroma[None, :])
    return np.asarray(turn(hue[:, None], hue[None, :]) * np.minimum(1.0, least / GRAY))


def at_value(lab: FloatArray, value: float) -> FloatArray:
    """Return a color moved to another value, as a run of its hue would have it, shape (3,).

    Towards white chroma shrinks with the distance from it; towards black it shrinks with lightness
    below the middle only. Common practice, no source.

    Examples
    --------
    >>> np.round(at_value(np.array([60.0, 20.0, 0.0]), 8.0)).tolist()
    [81.0, 10.0, 0.0]
    """
    Y = float(luminance_from_value(np.array(min(max(value, 0.2), 9.8))))
    L = float(lab_from_xyz(WHITE_D50 * Y / 100.0)[0])
    if lab[0] < L:
        share = (100.0 - L) / max(100.0 - lab[0], 1.0)
    else:
        share = min(1.0, L / min(max(float(lab[0]), 1.0), 50.0))
    return np.array([L, lab[1] * share, lab[2] * share])
