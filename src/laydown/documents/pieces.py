"""The pieces a printed chart is set from: each knows its height and how it is drawn."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TypeAlias

from laydown.documents.layout import Block
from laydown.documents.pen import INK, PENCIL, Pen
from laydown.documents.typefaces import wrap

Draw: TypeAlias = Callable[[Pen, float, float, bool], None]
"""Draws a piece with its top left corner at x, y; the last tells whether it is repeated."""


@dataclass(frozen=True, slots=True)
class Type:
    """A way to set text: size [points], distance of its base lines [mm], weight and color."""

    size: float
    leading: float
    bold: bool = False
    color: str = INK


TITLE = Type(20.0, 8.4)
HEADING = Type(11.5, 5.2, bold=True)
NAME = Type(10.0, 4.3, bold=True)
STRONG = Type(8.6, 3.7, bold=True)
PLAIN = Type(8.2, 3.6)
QUIET = Type(8.2, 3.6, color=PENCIL)
SMALL = Type(6.8, 2.9, color=PENCIL)
LABEL = Type(6.6, 2.8)


@dataclass(frozen=True, slots=True)
class Piece:
    """A block with the way it is drawn."""

    block: Block
    draw: Draw


@dataclass(frozen=True, slots=True)
class Lines:
    """Text broken to a measure, one way to set it."""

    lines: tuple[str, ...]
    type: Type

    @property
    def height(self) -> float:
        """What they take up [mm]."""
        return len(self.lines) * self.type.leading

    def draw(self, pen: Pen, x: float, y: float) -> float:
        """Write them from a top edge on; return the next line's top edge."""
        for line in self.lines:
            y += self.type.leading
            lift = self.type.leading * 0.25
            style = self.type
            pen.text(x, y - lift, line, style.size, bold=style.bold, color=style.color)
        return y


def broken(text: str, style: Type, measure: float, *, most: int = 0) -> Lines:
    """Break a text to a measure [mm], into at most so many lines where `most` is above 0."""
    lines = wrap(text, style.size, measure, bold=style.bold)
    if most and len(lines) > most:
        lines = [*lines[: most - 1], lines[most - 1].rstrip(" .,") + "…"]
    return Lines(tuple(lines), style)


def column(parts: Sequence[Lines], pen: Pen, x: float, y: float) -> float:
    """Write several texts under each other; return the next one's top edge."""
    for part in parts:
        y = part.draw(pen, x, y)
    return y


def total(parts: Sequence[Lines]) -> float:
    """Return the height of texts under each other [mm]."""
    return sum(part.height for part in parts)


def text_piece(parts: Sequence[Lines], *, indent: float = 0.0, after: float = 0.0) -> Piece:
    """Make a piece of texts under each other, with some space after it [mm]."""

    def draw(pen: Pen, x: float, y: float, again: bool) -> None:
        column(parts, pen, x + indent, y)

    return Piece(Block(total(parts) + after), draw)
