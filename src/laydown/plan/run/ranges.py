"""Two ranges compared: what each reaches, by hue and value."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from html import escape
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import ConvexHull, QhullError

from laydown.color.arrays import FloatArray
from laydown.color.lab import ciede2000
from laydown.color.screen import screen_color
from laydown.color.value import value_from_lab
from laydown.match.search.repertoire import Repertoire
from laydown.media.legible import capital
from laydown.plan.run.runs import Shade

Rule: TypeAlias = tuple[float, float, float, float]
"""A straight line: x and y of its ends [mm]."""
Label: TypeAlias = tuple[float, float, str]
"""A word: x of its middle and y of its base line [mm]."""
PlotDot: TypeAlias = tuple[float, float, str, bool]
"""A color at a place: x, y [mm], its fill, and whether it is hollow, an outline alone."""


@dataclass(frozen=True, slots=True)
class Plot:
    """A plot."""

    title: str
    """What it shows, for those who see it and those who don't."""
    width: float
    height: float
    """In mm; the origin is the top left corner."""
    rules: tuple[Rule, ...]
    labels: tuple[Label, ...]
    dots: tuple[PlotDot, ...]
    """Drawn in this order."""


PAGE = 84.0, 70.0
"""Width and height of a plot [mm]: two stand side by side on a page."""
EDGE = 9.0
HEAD = 6.0
"""Room for a plot's title where several stand side by side [mm]."""
SIZE = 2.6
"""Side of a dot [mm]."""
HUES = (("red", 24.0), ("yellow", 90.0), ("green", 162.0), ("blue", 246.0))
"""CIELAB hue angles of the elementary hues, rounded, from memory."""


def hue_value_page(title: str, full: FloatArray, hollow: FloatArray) -> Plot:
    """Plot value over hue angle for two lists of colors, shapes (n, 3) and (m, 3)."""
    width, height = PAGE
    tall, wide = height - 2 * EDGE, width - 2 * EDGE
    levels = {v: EDGE + tall * (10 - v) / 10 for v in (0, 2, 4, 6, 8, 10)}
    labels = [(EDGE / 2, y + 1, f"{v}") for v, y in levels.items()]
    labels += [(EDGE + wide * hue / 360, height - 2.5, name) for name, hue in HUES]
    rules = tuple((EDGE, y, EDGE + wide, y) for y in levels.values())

    def place(labs: FloatArray) -> tuple[FloatArray, FloatArray]:
        hue = np.degrees(np.arctan2(labs[:, 2], labs[:, 1])) % 360.0
        down = (10.0 - value_from_lab(labs).reshape(-1)) / 10.0
        return EDGE + wide * hue / 360.0, EDGE + tall * down

    return Plot(title, width, height, rules, tuple(labels), _dots(full, hollow, place))


def hue_chroma_wheel(title: str, full: FloatArray, hollow: FloatArray) -> Plot:
    """Plot chroma outward and hue around for two lists of colors, shapes (n, 3) and (m, 3)."""
    width, height = PAGE
    middle = width / 2, height / 2
    every = np.concatenate([full.reshape(-1, 3), hollow.reshape(-1, 3)])
    most = max(20.0, float(np.hypot(every[:, 1], every[:, 2]).max(initial=0.0)))
    reach = height / 2 - EDGE / 2
    rules, labels = list[Rule](), list[Label]()
    for name, hue in HUES:
        x, y = np.cos(np.radians(hue)) * reach, -np.sin(np.radians(hue)) * reach
        rules.append((*middle, middle[0] + 0.88 * x, middle[1] + 0.88 * y))
        labels.append((middle[0] + x, middle[1] + y + 1.0, name))

    def place(labs: FloatArray) -> tuple[FloatArray, FloatArray]:
        scale = 0.85 * reach / most
        return middle[0] + scale * labs[:, 1], middle[1] - scale * labs[:, 2]

    dots = _dots(full, hollow, place)
    return Plot(title, width, height, tuple(rules), tuple(labels), dots)


def side_by_side(title: str, plots: Sequence[Plot]) -> Plot:
    """Return plots as one, from left to right, each under its own title."""
    rules, labels, dots = list[Rule](), list[Label](), list[PlotDot]()
    left = 0.0
    for plot in plots:
        rules += [(a + left, b + HEAD, c + left, d + HEAD) for a, b, c, d in plot.rules]
        labels += [(left + plot.width / 2, HEAD - 2.0, plot.title)]
        labels += [(x + left, y + HEAD, text) for x, y, text in plot.labels]
        dots += [(x + left, y + HEAD, fill, hollow) for x, y, fill, hollow in plot.dots]
        left += plot.width
    height = HEAD + max((plot.height for plot in plots), default=0.0)
    return Plot(title, left, height, tuple(rules), tuple(labels), tuple(dots))


def _dots(
    full: FloatArray,
    hollow: FloatArray,
    place: Callable[[FloatArray], tuple[FloatArray, FloatArray]],
) -> tuple[PlotDot, ...]:
    return tuple(
        (round(float(x), 2), round(float(y), 2), screen_color(lab), is_hollow)
        for labs, is_hollow in ((full.reshape(-1, 3), False), (hollow.reshape(-1, 3), True))
        for x, y, lab in zip(*place(labs), labs, strict=True)
    )


def svg(plot: Plot) -> str:
    """Write a plot as SVG text, the same for the same plot; patches are fills, no style."""
    parts = [
        (
            f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {plot.width:g} {plot.height:g}"'
            f' width="{plot.width:g}mm" height="{plot.height:g}mm" role="img">'
        ),
        f"<title>{escape(plot.title, quote=False)}</title>",
    ]
    parts += [
        f'<line x1="{a:.2f}" y1="{b:.2f}" x2="{c:.2f}" y2="{d:.2f}"'
        ' stroke="#8a8a86" stroke-width="0.15"/>'
        for a, b, c, d in plot.rules
    ]
    parts += [
        f'<text x="{x:.2f}" y="{y:.2f}" font-size="2.6" text-anchor="middle"'
        f' font-family="sans-serif" fill="#262624">{escape(text, quote=False)}</text>'
        for x, y, text in plot.labels
    ]
    for x, y, fill, hollow in plot.dots:
        inside, edge, thick = ("none", fill, 0.6) if hollow else (fill, "#262624", 0.1)
        parts.append(
            f'<rect x="{x - SIZE / 2:.2f}" y="{y - SIZE / 2:.2f}" width="{SIZE}" height="{SIZE}"'
            f' fill="{inside}" stroke="{edge}" stroke-width="{thick}"/>'
        )
    return "\n".join([*parts, "</svg>"])


SECTORS = ("red", "orange", "yellow", "green", "blue-green", "blue", "violet", "purple")
HUE_NAMES = ("gray", *SECTORS)
"""Eighths of the CIELAB hue circle from 0 degrees on; words by common practice, no source."""
GRAY = 8.0
"""CIELAB chroma below which a color counts as gray (chosen)."""
BANDS = (("dark", 0.0, 4.0), ("middle", 4.0, 7.0), ("light", 7.0, 10.01))
"""Value bands (chosen)."""
CELL = 6.0
"""Side of the cells of CIELAB that recipes are gathered into, one color from each (chosen)."""
ALIKE = 3.0
"""Mean CIELAB chroma by which two ranges must part before one is called the more muted (chosen)."""


@dataclass(frozen=True, slots=True, eq=False)
class Reach:
    """How much of a part of the colors that one range reaches the other can't."""

    hue: str
    band: str
    """The part."""
    colors: int
    """Cells of CIELAB that the range reaches there."""
    alone: int
    """Of these, cells that the other range comes no nearer to than the tolerance."""
    lab: FloatArray
    """Shape (3,), CIELAB of the cell nearest the middle of those that are reached alone, or of all
    where none is."""


@dataclass(frozen=True, slots=True)
class RangeSide:
    """One range of a comparison."""

    name: str
    """Of the range."""
    colorants: int
    recipes: int
    """How many."""
    mean_chroma: float
    most_chroma: float
    """Of one coat of each, CIELAB."""
    volume: float
    """Of the convex hull of all recipes' colors [CIELAB cubed]."""
    lightest: float
    darkest: float
    """Values its recipes reach."""
    reach: tuple[Reach, ...]
    """By hue and value, the parts with any color first."""


@dataclass(frozen=True, slots=True, eq=False)
class Agreement:
    """A colorant of the first range and the one of the second that comes nearest in one coat."""

    first: str
    second: str
    """Their names."""
    difference: float
    """CIEDE2000."""
    first_lab: FloatArray
    second_lab: FloatArray
    """Shape (3,), CIELAB of one coat of each."""


@dataclass(frozen=True, slots=True)
class Comparison:
    """Two ranges compared."""

    first: RangeSide
    second: RangeSide
    """The ranges."""
    agreements: tuple[Agreement, ...]
    """For each colorant of the first the nearest of the second, the best agreement first."""
    words: tuple[str, ...]
    """Which is the more muted, and which reaches more, as sentences."""
    plots: tuple[Plot, ...]
    """Value over hue and the wheel of hue and chroma: the first filled, the second hollow."""


def compare(
    names: Sequence[str],
    coats: Sequence[Sequence[Shade]],
    recipes: Sequence[Repertoire],
    *,
    tolerance: float,
) -> Comparison:
    """Compare two ranges swatched on one paper.

    `coats`: one of each colorant. `recipes`: all short ones of each. `tolerance`: CIEDE2000 within
    which a color counts as reached.
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
) -> RangeSide:
    labs = np.array([s.lab for s in coats]).reshape(-1, 3)
    chroma = np.hypot(labs[:, 1], labs[:, 2])
    value = value_from_lab(own.lab)
    return RangeSide(
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
    for number, name in enumerate(HUE_NAMES):
        for band, low, high in BANDS:
            here = (hue == number) & (value >= low) & (value < high)
            if here.any():
                apart = here & alone
                typical = _typical(some[apart if apart.any() else here])
                found.append(Reach(name, band, int(here.sum()), int(apart.sum()), typical))
    return tuple(found)


def _typical(labs: FloatArray) -> FloatArray:
    """Return the color nearest the middle of these."""
    distances = np.linalg.norm(labs - labs.mean(axis=0), axis=1)
    return np.asarray(labs[int(np.round(distances, 6).argmin())])  # two are equally near: the first


def hue_names(labs: FloatArray) -> list[str]:
    """Return the name of the part of the hue circle that each color lies in, gray for none.

    >>> hue_names(np.array([[50.0, 0, 1], [50, 40, 10]]))
    ['gray', 'red']
    """
    return [HUE_NAMES[number] for number in _sectors(labs)]


def _sectors(labs: FloatArray) -> NDArray[np.int64]:
    """Return 0 for gray, else 1 and up for the eighth of the hue circle."""
    angle = np.degrees(np.arctan2(labs[:, 2], labs[:, 1])) % 360.0
    eighth = 1 + np.floor(angle / 45.0).astype(np.int64) % len(SECTORS)
    return np.where(np.hypot(labs[:, 1], labs[:, 2]) < GRAY, 0, eighth)


def _agreements(coats: Sequence[Sequence[Shade]]) -> tuple[Agreement, ...]:
    first, second = coats
    if not first or not second:
        return ()
    a, b = (np.array([s.lab for s in some]) for some in coats)
    off = ciede2000(a[:, None, :], b[None, :, :])
    best = off.argmin(axis=1)
    found = [
        Agreement(one.name, second[k].name, float(off[i, k]), one.lab, second[k].lab)
        for i, (one, k) in enumerate(zip(first, best.tolist(), strict=True))
    ]
    return tuple(sorted(found, key=lambda f: (f.difference, f.first)))


SHARES = {0.85: "nearly all", 0.6: "most", 0.4: "about half", 0.2: "some", 0.0: "a little"}
"""How a share is said, from its least on."""


def share_words(share: float) -> str:
    """Say a share, 0 to 1, of what there is.

    >>> share_words(0.48), share_words(0.16)
    ('about half', 'a little')
    """
    return next(words for least, words in SHARES.items() if share >= least)


def _words(first: RangeSide, second: RangeSide) -> tuple[str, ...]:
    muted, other = sorted((first, second), key=lambda side: side.mean_chroma)
    alike = other.mean_chroma - muted.mean_chroma < ALIKE
    pair = f"{muted.name} and {other.name}"
    said = [f"{pair} are as vivid as each other." if alike else f"{muted.name} is the more muted."]
    for side, against in ((first, second), (second, first)):
        alone, colors = sum(r.alone for r in side.reach), sum(r.colors for r in side.reach)
        most = max(side.reach, key=lambda r: r.alone)
        share = capital(share_words(alone / max(colors, 1))) if most.alone else "Nothing"
        where = f" can't, above all {most.band} {most.hue}" if most.alone else " can't"
        said.append(f"{share} of what {side.name} makes, {against.name}{where}.")
    return tuple(said)
