"""The shipped typeface, and the signs of verdicts."""

import re
import unicodedata
from functools import cache, lru_cache
from importlib.resources import as_file, files
from io import BytesIO
from types import MappingProxyType

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


_LINE = 'fill="none" stroke="currentColor" stroke-width="0.22"'
_RING = f'<circle r="1" {_LINE}/>'
SIGNS = MappingProxyType(
    {
        Verdict.SAME: _RING + '<circle r="1" fill="currentColor"/>',
        Verdict.BUT_VALUE: _RING + '<path d="M-1 0A1 1 0 0 0 1 0Z" fill="currentColor"/>',
        Verdict.BUT_HUE: _RING + '<circle r="0.45" fill="currentColor"/>',
        Verdict.ANOTHER_LAYER: _RING + f'<path d="M-.6 0H.6M0 -.6V.6" {_LINE}/>',
        Verdict.UNSURE: _RING + f'<path d="M-.6 0H.6" {_LINE}/>',
        Verdict.OUT_OF_REACH: _RING + f'<path d="M-.71 .71L.71 -.71" {_LINE}/>',
    }
)
"""A sign beside each verdict, told apart by shape alone, as SVG for a viewBox of ``-1.2 -1.2 2.4
2.4``: full, lower half, kernel, plus, minus, struck through."""
