"""A sign beside each verdict, told apart by shape alone, on paper as on screens.

Each is drawn in a circle of radius 1 around (0, 0), y upwards, out of three kinds of shapes.
"""

from dataclasses import dataclass
from math import cos, pi, sin
from types import MappingProxyType
from typing import TypeAlias

from laydown.match.outcome import Verdict


@dataclass(frozen=True, slots=True)
class Ring:
    """A circle around the middle, drawn as a line."""

    radius: float


@dataclass(frozen=True, slots=True)
class Stroke:
    """A straight line."""

    x_1: float
    y_1: float
    x_2: float
    y_2: float


@dataclass(frozen=True, slots=True)
class Filled:
    """A polygon filled with the line's color."""

    points: tuple[tuple[float, float], ...]


Shape: TypeAlias = Ring | Stroke | Filled
CORNERS = 48
"""Corners of a polygon that looks round at 3 mm."""


def _arc(start: float, end: float, radius: float) -> Filled:
    turns = [start + (end - start) * i / CORNERS for i in range(CORNERS + 1)]
    return Filled(tuple((radius * cos(pi * t), radius * sin(pi * t)) for t in turns))


SIGNS: MappingProxyType[Verdict, tuple[Shape, ...]] = MappingProxyType(
    {
        Verdict.SAME: (Ring(1.0), _arc(0.0, 2.0, 1.0)),
        Verdict.BUT_VALUE: (Ring(1.0), _arc(1.0, 2.0, 1.0)),
        Verdict.BUT_HUE: (Ring(1.0), _arc(0.0, 2.0, 0.45)),
        Verdict.ANOTHER_LAYER: (Ring(1.0), Stroke(-0.6, 0, 0.6, 0), Stroke(0, -0.6, 0, 0.6)),
        Verdict.OUT_OF_REACH: (Ring(1.0), Stroke(-0.71, -0.71, 0.71, 0.71)),
    }
)
"""Full, lower half, kernel, plus, struck through."""


def svg_shapes(verdict: Verdict) -> str:
    """Return a sign's shapes as SVG for a viewBox of ``-1.2 -1.2 2.4 2.4``."""
    return "".join(_svg(shape) for shape in SIGNS[verdict])


def _svg(shape: Shape) -> str:
    line = 'fill="none" stroke="currentColor" stroke-width="0.22"'
    if isinstance(shape, Ring):
        return f'<circle r="{shape.radius:g}" {line}/>'
    if isinstance(shape, Stroke):
        ends = f'x1="{shape.x_1:g}" y1="{-shape.y_1:g}" x2="{shape.x_2:g}" y2="{-shape.y_2:g}"'
        return f"<line {ends} {line}/>"
    points = " ".join(f"{x:.3f},{-y:.3f}" for x, y in shape.points)
    return f'<polygon points="{points}" fill="currentColor"/>'
