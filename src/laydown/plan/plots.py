"""Plots as plain shapes in millimetres, to be drawn as SVG or on a printed page alike."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.color.screen import screen_color
from laydown.color.value import value_from_lab


@dataclass(frozen=True, slots=True)
class Dot:
    """A color at a place [mm]; hollow ones have only an outline."""

    x: float
    y: float
    fill: str
    hollow: bool = False


@dataclass(frozen=True, slots=True)
class Rule:
    """A straight line between two places [mm]."""

    x_1: float
    y_1: float
    x_2: float
    y_2: float


@dataclass(frozen=True, slots=True)
class Label:
    """A word with its middle at a place, its base line at y [mm]."""

    x: float
    y: float
    text: str


@dataclass(frozen=True, slots=True)
class Plot:
    """A plot.

    Parameters
    ----------
    title
        What it shows, for those who see it and those who don't.
    width, height
        In mm; the origin is the top left corner.
    rules, labels, dots
        Drawn in this order.
    """

    title: str
    width: float
    height: float
    rules: tuple[Rule, ...]
    labels: tuple[Label, ...]
    dots: tuple[Dot, ...]


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
    labels = [Label(EDGE / 2, EDGE + tall * (10 - v) / 10 + 1, f"{v}") for v in (0, 2, 4, 6, 8, 10)]
    labels += [Label(EDGE + wide * hue / 360, height - 2.5, name) for name, hue in HUES]
    rules = [
        Rule(EDGE, EDGE + tall * (10 - v) / 10, EDGE + wide, EDGE + tall * (10 - v) / 10)
        for v in (0, 2, 4, 6, 8, 10)
    ]

    def dots(labs: FloatArray, *, empty: bool) -> list[Dot]:
        labs = labs.reshape(-1, 3)
        hue = np.degrees(np.arctan2(labs[:, 2], labs[:, 1])) % 360.0
        x = EDGE + wide * hue / 360.0
        y = EDGE + tall * (10.0 - value_from_lab(labs).reshape(-1)) / 10.0
        return _dots(x, y, labs, empty=empty)

    marks = (*dots(full, empty=False), *dots(hollow, empty=True))
    return Plot(title, width, height, tuple(rules), tuple(labels), marks)


def hue_chroma_wheel(title: str, full: FloatArray, hollow: FloatArray) -> Plot:
    """Plot chroma outward and hue around for two lists of colors, shapes (n, 3) and (m, 3)."""
    width, height = PAGE
    middle = width / 2, height / 2
    every = np.concatenate([full.reshape(-1, 3), hollow.reshape(-1, 3)])
    most = max(20.0, float(np.hypot(every[:, 1], every[:, 2]).max(initial=0.0)))
    reach = height / 2 - EDGE / 2
    rules, labels = [], []
    for name, hue in HUES:
        x, y = np.cos(np.radians(hue)) * reach, -np.sin(np.radians(hue)) * reach
        rules.append(Rule(*middle, middle[0] + 0.88 * x, middle[1] + 0.88 * y))
        labels.append(Label(middle[0] + x, middle[1] + y + 1.0, name))

    def dots(labs: FloatArray, *, empty: bool) -> list[Dot]:
        labs = labs.reshape(-1, 3)
        scale = 0.85 * reach / most
        return _dots(
            middle[0] + scale * labs[:, 1], middle[1] - scale * labs[:, 2], labs, empty=empty
        )

    marks = (*dots(full, empty=False), *dots(hollow, empty=True))
    return Plot(title, width, height, tuple(rules), tuple(labels), marks)


def side_by_side(title: str, plots: Sequence[Plot]) -> Plot:
    """Return plots as one, from left to right, each under its own title."""
    rules, labels, dots = list[Rule](), list[Label](), list[Dot]()
    left = 0.0
    for plot in plots:
        rules += [Rule(r.x_1 + left, r.y_1 + HEAD, r.x_2 + left, r.y_2 + HEAD) for r in plot.rules]
        labels += [Label(left + plot.width / 2, HEAD - 2.0, plot.title)]
        labels += [Label(t.x + left, t.y + HEAD, t.text) for t in plot.labels]
        dots += [Dot(d.x + left, d.y + HEAD, d.fill, d.hollow) for d in plot.dots]
        left += plot.width
    height = HEAD + max((plot.height for plot in plots), default=0.0)
    return Plot(title, left, height, tuple(rules), tuple(labels), tuple(dots))


def _dots(x: FloatArray, y: FloatArray, labs: FloatArray, *, empty: bool) -> list[Dot]:
    return [
        Dot(round(float(a), 2), round(float(b), 2), screen_color(lab).hex, empty)
        for a, b, lab in zip(x, y, labs, strict=True)
    ]


def svg(plot: Plot) -> str:
    """Write a plot as SVG text, the same for the same plot; patches are fills, no style."""
    parts = [
        (
            f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {plot.width:g} {plot.height:g}"'
            f' width="{plot.width:g}mm" height="{plot.height:g}mm" role="img">'
        ),
        f"<title>{_escaped(plot.title)}</title>",
    ]
    parts += [
        f'<line x1="{r.x_1:.2f}" y1="{r.y_1:.2f}" x2="{r.x_2:.2f}" y2="{r.y_2:.2f}"'
        ' stroke="#8a8a86" stroke-width="0.15"/>'
        for r in plot.rules
    ]
    parts += [
        f'<text x="{t.x:.2f}" y="{t.y:.2f}" font-size="2.6" text-anchor="middle"'
        f' font-family="sans-serif" fill="#262624">{_escaped(t.text)}</text>'
        for t in plot.labels
    ]
    parts += _svg_dots(plot.dots)
    return "\n".join([*parts, "</svg>"])


def _svg_dots(dots: Sequence[Dot]) -> list[str]:
    half = SIZE / 2
    return [
        f'<rect x="{d.x - half:.2f}" y="{d.y - half:.2f}" width="{SIZE}" height="{SIZE}"'
        + (
            f' fill="none" stroke="{d.fill}" stroke-width="0.6"/>'
            if d.hollow
            else f' fill="{d.fill}" stroke="#262624" stroke-width="0.1"/>'
        )
        for d in dots
    ]


def _escaped(text: str) -> str:
    return text.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")
