"""Two ranges on one paper: what each reaches and the other can't, how strong, which pairs agree."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import ConvexHull, QhullError

from laydown.color.arrays import FloatArray
from laydown.color.difference import ciede2000
from laydown.color.value import value_from_lab
from laydown.match.repertoire import Repertoire
from laydown.plan.plots import Plot, hue_chroma_wheel, hue_value_page
from laydown.plan.shades import Shade

SECTORS = ("red", "orange", "yellow", "green", "blue-green", "blue", "violet", "purple")
"""Eighths of the CIELAB hue circle from 0 degrees on; words by common practice, no source."""
GRAY = 8.0
"""CIELAB chroma below which a color counts as gray (chosen)."""
BANDS = (("dark", 0.0, 4.0), ("middle", 4.0, 7.0), ("light", 7.0, 10.01))
"""Value bands (chosen)."""
CELL = 6.0
"""Side of the cells of CIELAB that recipes are gathered into, one color from each (chosen)."""
ALIKE = 3.0
"""Mean CIELAB chroma by which two ranges must part before one is called the more muted (chosen)."""


@dataclass(frozen=True, slots=True)
class Reach:
    """How much of a part of the colors that one range reaches the other can't.

    Parameters
    ----------
    hue, band
        The part.
    colors
        Cells of CIELAB that the range reaches there.
    alone
        Of these, cells that the other range comes no nearer to than the tolerance.
    """

    hue: str
    band: str
    colors: int
    alone: int


@dataclass(frozen=True, slots=True)
class Side:
    """One range of a comparison.

    Parameters
    ----------
    name
        Of the range.
    colorants, recipes
        How many.
    mean_chroma, most_chroma
        Of one coat of each, CIELAB.
    volume
        Of the convex hull of all recipes' colors [CIELAB cubed].
    lightest, darkest
        Values its recipes reach.
    reach
        By hue and value, the parts with any color first.
    """

    name: str
    colorants: int
    recipes: int
    mean_chroma: float
    most_chroma: float
    volume: float
    lightest: float
    darkest: float
    reach: tuple[Reach, ...]


@dataclass(frozen=True, slots=True, eq=False)
class Agreement:
    """A colorant of the first range and the one of the second that comes nearest in one coat.

    Parameters
    ----------
    first, second
        Their names.
    difference
        CIEDE2000.
    first_lab, second_lab
        Shape (3,), CIELAB of one coat of each.
    """

    first: str
    second: str
    difference: float
    first_lab: FloatArray
    second_lab: FloatArray


@dataclass(frozen=True, slots=True)
class Comparison:
    """Two ranges compared.

    Parameters
    ----------
    first, second
        The ranges.
    agreements
        For each colorant of the first the nearest of the second, the best agreement first.
    words
        Which is the more muted, and which reaches more, as sentences.
    plots
        Value over hue and the wheel of hue and chroma: the first filled, the second hollow.
    """

    first: Side
    second: Side
    agreements: tuple[Agreement, ...]
    words: tuple[str, ...]
    plots: tuple[Plot, ...]


def compare(
    names: tuple[str, str],
    coats: tuple[Sequence[Shade], Sequence[Shade]],
    recipes: tuple[Repertoire, Repertoire],
    *,
    tolerance: float,
) -> Comparison:
    """Compare two ranges swatched on one paper.

    Parameters
    ----------
    names
        Of the ranges.
    coats
        One coat of each colorant.
    recipes
        All short recipes of each.
    tolerance
        CIEDE2000 within which a color counts as reached.

    Examples
    --------
    ``compare(("A", "B"), (coats_a, coats_b), (recipes_a, recipes_b), tolerance=2.25).words``
    """
    sides = [
        _side(names[k], coats[k], recipes[k], recipes[1 - k], tolerance=tolerance) for k in (0, 1)
    ]
    labs = [np.array([s.lab for s in some]).reshape(-1, 3) for some in coats]
    title = f"{names[0]} filled, {names[1]} hollow, one coat"
    return Comparison(
        first=sides[0],
        second=sides[1],
        agreements=_agreements(coats),
        words=_words(sides[0], sides[1]),
        plots=(
            hue_value_page(f"Value over hue: {title}", *labs),
            hue_chroma_wheel(f"Hue and chroma: {title}", *labs),
        ),
    )


def _side(
    name: str, coats: Sequence[Shade], own: Repertoire, other: Repertoire, *, tolerance: float
) -> Side:
    labs = np.array([s.lab for s in coats]).reshape(-1, 3)
    chroma = np.hypot(labs[:, 1], labs[:, 2])
    value = value_from_lab(own.lab)
    return Side(
        name=name,
        colorants=len(coats),
        recipes=len(own),
        mean_chroma=float(chroma.mean()) if len(coats) else 0.0,
        most_chroma=float(chroma.max(initial=0.0)),
        volume=volume(own.lab),
        lightest=float(value.max()),
        darkest=float(value.min()),
        reach=_reach(own.lab, other, tolerance=tolerance),
    )


def volume(labs: FloatArray) -> float:
    """Return the volume of the convex hull of colors [CIELAB cubed]; 0 for a flat set.

    Too large where a gamut is hollow: a range of two strong colors does not reach between them.

    Examples
    --------
    >>> corners = np.array([[L, a, b] for L in (0.0, 10) for a in (0.0, 10) for b in (0.0, 10)])
    >>> round(volume(corners))
    1000
    """
    try:
        return float(ConvexHull(labs).volume)
    except (QhullError, ValueError):
        return 0.0


def cells(labs: FloatArray) -> FloatArray:
    """Return one color from each cell of CIELAB that any of these lies in, shape (k, 3)."""
    places = np.floor(labs / CELL).astype(np.int64)
    _, first = np.unique(places, axis=0, return_index=True)
    return np.asarray(labs[np.sort(first)])


def _reach(labs: FloatArray, other: Repertoire, *, tolerance: float) -> tuple[Reach, ...]:
    some = cells(labs)
    alone = np.array([float(other.nearest(lab, 1)[1][0]) > tolerance for lab in some])
    hue, value = _sectors(some), value_from_lab(some)
    found = []
    for number, name in enumerate(("gray", *SECTORS)):
        for band, low, high in BANDS:
            here = (hue == number) & (value >= low) & (value < high)
            if here.any():
                found.append(Reach(name, band, int(here.sum()), int((here & alone).sum())))
    return tuple(found)


def _sectors(labs: FloatArray) -> NDArray[np.int64]:
    """Return 0 for gray, else 1 and up for the eighth of the hue circle."""
    angle = np.degrees(np.arctan2(labs[:, 2], labs[:, 1])) % 360.0
    eighth = 1 + np.floor(angle / 45.0).astype(np.int64) % len(SECTORS)
    return np.where(np.hypot(labs[:, 1], labs[:, 2]) < GRAY, 0, eighth)


def _agreements(coats: tuple[Sequence[Shade], Sequence[Shade]]) -> tuple[Agreement, ...]:
    first, second = coats
    if not first or not second:
        return ()
    a, b = (np.array([s.lab for s in some]) for some in coats)
    off = ciede2000(a[:, None, :], b[None, :, :])
    best = off.argmin(axis=1)
    found = [
        Agreement(one.name, other.name, float(off[i, k]), one.lab, other.lab)
        for i, (one, k) in enumerate(zip(first, best, strict=True))
        for other in [second[int(k)]]
    ]
    return tuple(sorted(found, key=lambda f: (f.difference, f.first)))


def _words(first: Side, second: Side) -> tuple[str, ...]:
    muted, other = sorted((first, second), key=lambda side: side.mean_chroma)
    alike = other.mean_chroma - muted.mean_chroma < ALIKE
    strength = "is as strong as the other" if alike else "is the more muted"
    said = [
        (
            f"{muted.name} {strength}: mean chroma {muted.mean_chroma:.0f} in one coat,"
            f" {other.name} {other.mean_chroma:.0f}."
        )
    ]
    for side, against in ((first, second), (second, first)):
        alone, colors = sum(r.alone for r in side.reach), sum(r.colors for r in side.reach)
        most = max(side.reach, key=lambda r: r.alone)
        where = f", most of all {most.band} {most.hue}" if most.alone else ""
        said.append(
            f"{side.name} reaches {100 * alone / max(colors, 1):.0f} in 100 of its colors alone,"
            f" out of {against.name}'s reach{where}."
        )
    return tuple(said)
