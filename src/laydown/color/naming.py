"""Colors in plain words, by the ISCC–NBS names."""

from functools import cache, lru_cache

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.color.difference import ciede2000
from laydown.errors import BadColorError
from laydown.reference.tables import load_table

NEUTRALS = ("black", "dark gray", "medium gray", "light gray", "white")
TINTED = 1.5
"""Chroma C* from which a gray may be called after a tint: halfway to the tinted grays' own, which
begin near 3 (chosen, no source)."""
REMEMBERED = 10_000
"""Colors whose names are remembered."""


def color_name(lab: FloatArray) -> str:
    """Name a color in words.

    Parameters
    ----------
    lab
        Shape (3,), CIELAB D50.

    Returns
    -------
    str
        One of the 267 names, such as "light bluish green".

    Raises
    ------
    BadColorError
        For numbers that are not finite.

    Notes
    -----
    The name whose centroid is nearest by CIEDE2000; a color of almost no chroma is one of the five
    neutrals. The system itself draws blocks in hue, value
    and chroma; where blocks are of unequal size, near their borders the nearest centroid may
    belong to the neighbor, whose name then differs in one word. docs/decisions/color.md
    says how often.

    References
    ----------
    K. L. Kelly, D. B. Judd, Color: Universal Language and Dictionary of Names, National Bureau of
    Standards Special Publication 440 (1976).

    Examples
    --------
    >>> color_name(np.array([100.0, 0.0, 0.0]))
    'white'
    """
    lab = np.asarray(lab, dtype=np.float64)
    if not np.all(np.isfinite(lab)):
        raise BadColorError(f"L*, a*, b* of {lab.tolist()} are not all numbers.")
    return _name(*lab.tolist())


@lru_cache(REMEMBERED)
def _name(lightness: float, a: float, b: float) -> str:
    """Name a color; those named last are remembered, since pages name the same ones again."""
    lab = np.array([lightness, a, b])
    names, centroids = _centroids()
    distances = ciede2000(lab, centroids)
    if np.hypot(lab[1], lab[2]) < TINTED:
        distances = np.where(np.isin(names, NEUTRALS), distances, np.inf)
    return names[int(np.argmin(distances))]


@cache
def _centroids() -> tuple[tuple[str, ...], FloatArray]:
    """Return the 267 names and their CIELAB, shape (267, 3)."""
    table = load_table("color_names")
    return table.words("name"), table.numbers("L", "a", "b")
