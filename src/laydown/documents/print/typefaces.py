"""The shipped typeface, and the signs it has."""

import re
import unicodedata
from dataclasses import dataclass
from functools import cache, lru_cache
from importlib.resources import as_file, files
from io import BytesIO
from math import cos, pi, sin
from types import MappingProxyType
from typing import TypeAlias

from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont

from laydown.match.outcome import Verdict

# The one typeface of the printed documents: measured, wrapped, and checked glyph by glyph.
#
# The PDF library leaves out a character that the typeface lacks and says nothing. Names are their
# owners' and may be in any script, so that no text is drawn but through `printable`, which writes
# such a character as its number between ‹ ›: visible, and different for different names.

REGULAR, BOLD = "FiraSans-Regular", "FiraSans-Bold"
MM = 72.0 / 25.4
"""PDF points in a millimetre."""
_NUMBER = re.compile("‹[0-9A-F]{4,6}›")
_UNIT = re.compile("‹[0-9A-F]{4,6}›|.")
_HIDDEN = {"\u00ad", "\u200b", "\u200c", "\u200d", "\u2060", "\ufeff"}
"""Soft hyphen and zero-width marks: nothing is lost by leaving them out."""


@cache
def register() -> None:
    """Make the typeface known to the PDF library; once is enough."""
    for name in (REGULAR, BOLD):
        with as_file(files("laydown.documents") / "fonts" / f"{name}.ttf") as path:
            pdfmetrics.registerFont(TTFont(name, BytesIO(path.read_bytes())))


@cache
def _glyphs(font: str) -> frozenset[str]:
    register()
    return frozenset(chr(code) for code in pdfmetrics.getFont(font).face.charToGlyph)


@lru_cache(maxsize=8192)
def printable(text: str) -> str:
    r"""Return a text that the typeface can show, regular and bold.

    Letters with their accents apart are joined first, line ends and other white space become
    spaces, and each character without a glyph becomes its Unicode number between ‹ ›.

    Examples
    --------
    >>> printable("Señal\tДюна")
    'Señal Дюна'
    >>> printable("Dune 砂")
    'Dune ‹7802›'
    """
    known = _glyphs(REGULAR) & _glyphs(BOLD)
    return "".join(_shown(char, known) for char in unicodedata.normalize("NFC", text))


def has_number_for_glyph(text: str) -> bool:
    """Tell whether `printable` had to write a character as its number here."""
    return bool(_NUMBER.search(text))


def _shown(char: str, known: frozenset[str]) -> str:
    if char in _HIDDEN:
        return ""
    if char.isspace():
        return "\u00a0" if char in "\u00a0\u202f\u2007" else " "
    if char in known and unicodedata.category(char)[0] != "C":
        return char
    return f"‹{ord(char):04X}›"


@lru_cache(maxsize=65536)
def width(text: str, size: float, *, bold: bool = False) -> float:
    """Return how wide a printable text is at a type size [points], in millimetres."""
    register()
    return float(pdfmetrics.stringWidth(text, BOLD if bold else REGULAR, size)) / MM


def wrap(text: str, size: float, measure: float, *, bold: bool = False) -> list[str]:
    """Break a text into lines no wider than a measure.

    Parameters
    ----------
    text
        Made printable here.
    size
        Of the type [points].
    measure
        Width of the column [mm].

    Returns
    -------
    list of str
        At least one line. A word wider than the column is cut where it has to be.
    """
    lines, line = [], ""
    for word in printable(text).split(" "):
        longer = f"{line} {word}" if line else word
        if width(longer, size, bold=bold) <= measure:
            line = longer
            continue
        if line:
            lines.append(line)
        *cut, line = _cut(word, size, measure, bold=bold)
        lines.extend(cut)
    return [*lines, line]


def _cut(word: str, size: float, measure: float, *, bold: bool) -> list[str]:
    pieces = [""]
    for char in _UNIT.findall(word):
        if pieces[-1] and width(pieces[-1] + char, size, bold=bold) > measure:
            pieces.append("")
        pieces[-1] += char
    return pieces


def clip(text: str, size: float, measure: float, *, bold: bool = False) -> str:
    """Return a text on one line, its end replaced by … where it is wider than the measure."""
    shown = printable(text)
    if width(shown, size, bold=bold) <= measure:
        return shown
    while shown and width(shown + "…", size, bold=bold) > measure:
        shown = shown[:-1]
    return shown.rstrip() + "…"


# A sign beside each verdict, told apart by shape alone, on paper as on screens.
#
# Each is drawn in a circle of radius 1 around (0, 0), y upwards, out of three kinds of shapes.


@dataclass(frozen=True, slots=True)
class Ring:
    """A circle around the middle, drawn as a line."""

    radius: float


@dataclass(frozen=True, slots=True)
class SignStroke:
    """A straight line."""

    x_1: float
    y_1: float
    x_2: float
    y_2: float


@dataclass(frozen=True, slots=True)
class Filled:
    """A polygon filled with the line's color."""

    points: tuple[tuple[float, float], ...]


Shape: TypeAlias = Ring | SignStroke | Filled
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
        Verdict.ANOTHER_LAYER: (
            Ring(1.0),
            SignStroke(-0.6, 0, 0.6, 0),
            SignStroke(0, -0.6, 0, 0.6),
        ),
        Verdict.UNSURE: (Ring(1.0), SignStroke(-0.6, 0, 0.6, 0)),
        Verdict.OUT_OF_REACH: (Ring(1.0), SignStroke(-0.71, -0.71, 0.71, 0.71)),
    }
)
"""Full, lower half, kernel, plus, minus, struck through."""


def svg_shapes(verdict: Verdict) -> str:
    """Return a sign's shapes as SVG for a viewBox of ``-1.2 -1.2 2.4 2.4``."""
    return "".join(_svg(shape) for shape in SIGNS[verdict])


def _svg(shape: Shape) -> str:
    line = 'fill="none" stroke="currentColor" stroke-width="0.22"'
    if isinstance(shape, Ring):
        return f'<circle r="{shape.radius:g}" {line}/>'
    if isinstance(shape, SignStroke):
        ends = f'x1="{shape.x_1:g}" y1="{-shape.y_1:g}" x2="{shape.x_2:g}" y2="{-shape.y_2:g}"'
        return f"<line {ends} {line}/>"
    points = " ".join(f"{x:.3f},{-y:.3f}" for x, y in shape.points)
    return f'<polygon points="{points}" fill="currentColor"/>'
