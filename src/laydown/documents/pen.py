"""A pen for printed pages: millimetres from the top left corner, checked glyphs, few colors."""

from collections.abc import Iterable
from io import BytesIO

import numpy as np
from numpy.typing import NDArray
from PIL import Image
from reportlab.lib.colors import Color, HexColor
from reportlab.lib.utils import ImageReader
from reportlab.pdfgen.canvas import Canvas

from laydown.color.arrays import FloatArray
from laydown.documents.layout import Box
from laydown.documents.signs import SIGNS, Filled, Ring
from laydown.documents.signs import Stroke as Line
from laydown.documents.typefaces import (
    BOLD,
    MM,
    REGULAR,
    has_number_for_glyph,
    printable,
    register,
    width,
)
from laydown.match.outcome import Verdict
from laydown.media.legible import legible

INK = "#262624"
"""Of the text: a soft black."""
PENCIL = "#5c5c58"
"""Of lesser text and of lines; 6.7 to 1 against white paper."""
HAIRLINE = 0.15
"""The thinnest line [mm] that printers keep."""


class Pen:
    """Draws on the pages of one PDF file.

    Parameters
    ----------
    page
        Width and height [mm].
    title, subject
        Kept in the file's own description.

    Attributes
    ----------
    numbers_for_glyphs
        Whether the present page shows a character as its number, for the page to explain.
    """

    def __init__(self, page: tuple[float, float], *, title: str, subject: str) -> None:
        register()
        self._height = page[1]
        self.numbers_for_glyphs = False
        self._file = BytesIO()
        self._canvas = Canvas(
            self._file,
            pagesize=(page[0] * MM, page[1] * MM),
            invariant=1,
            initialFontName=REGULAR,
            lang="en",
        )
        self._canvas.setTitle(legible(title))
        self._canvas.setSubject(legible(subject))
        self._canvas.setAuthor("laydown")
        self._canvas.setCreator("laydown")

    def box(self, box: Box, *, fill: str = "", line: str = "", weight: float = HAIRLINE) -> None:
        """Draw a rectangle, filled, outlined, or both."""
        self._lines(line, weight)
        if fill:
            self._canvas.setFillColor(HexColor(fill))
        corner = (box.x * MM, self._up(box.bottom))
        size = (box.width * MM, box.height * MM)
        self._canvas.rect(*corner, *size, fill=int(bool(fill)), stroke=int(bool(line)))

    def dashed(self, box: Box) -> None:
        """Draw the dashed outline of a box that is left unprinted."""
        self._canvas.saveState()
        self._canvas.setDash(1.2 * MM, 0.8 * MM)
        self.box(box, line=PENCIL, weight=0.2)
        self._canvas.restoreState()

    def rule(self, x: float, y: float, length: float, *, weight: float = HAIRLINE) -> None:
        """Draw a level line to the right."""
        self._lines(PENCIL, weight)
        self._canvas.line(x * MM, self._up(y), (x + length) * MM, self._up(y))

    def line(self, x_1: float, y_1: float, x_2: float, y_2: float) -> None:
        """Draw a thin straight line between two places."""
        self._lines(PENCIL, HAIRLINE)
        self._canvas.line(x_1 * MM, self._up(y_1), x_2 * MM, self._up(y_2))

    def lines(self, parts: Iterable[FloatArray], *, color: str, weight: float) -> None:
        """Draw lines through points, shape (n, 2) each, with round joints."""
        self._lines(color, weight)
        self._canvas.setLineJoin(1)
        self._canvas.setLineCap(1)
        path = self._canvas.beginPath()
        for points in parts:
            path.moveTo(float(points[0, 0]) * MM, self._up(float(points[0, 1])))
            for x, y in points[1:].tolist():
                path.lineTo(x * MM, self._up(y))
        self._canvas.drawPath(path, fill=0, stroke=1)
        self._canvas.setLineJoin(0)
        self._canvas.setLineCap(0)

    def picture(self, box: Box, pixels: NDArray[np.uint8]) -> None:
        """Show a picture, shape (row, column, 3), in a box of its shape."""
        shown = ImageReader(Image.fromarray(pixels))
        self._canvas.drawImage(
            shown, box.x * MM, self._up(box.bottom), box.width * MM, box.height * MM
        )

    def text(
        self,
        x: float,
        y: float,
        text: str,
        size: float,
        *,
        bold: bool = False,
        color: str = INK,
        to_right: bool = False,
    ) -> None:
        """Write one line with its base line at y, from x on, or up to x where `to_right`."""
        shown = printable(text)
        self.numbers_for_glyphs |= has_number_for_glyph(shown)
        start = x - width(shown, size, bold=bold) if to_right else x
        self._canvas.setFont(BOLD if bold else REGULAR, size)
        self._canvas.setFillColor(HexColor(color))
        self._canvas.drawString(start * MM, self._up(y), shown)

    def sign(self, x: float, y: float, radius: float, verdict: Verdict) -> None:
        """Draw a verdict's sign around a middle."""
        self._lines(INK, radius * 0.22)
        self._canvas.setFillColor(HexColor(INK))
        for shape in SIGNS[verdict]:
            if isinstance(shape, Ring):
                self._canvas.circle(x * MM, self._up(y), shape.radius * radius * MM)
            elif isinstance(shape, Line):
                start = self._point(x, y, radius, (shape.x_1, shape.y_1))
                self._canvas.line(*start, *self._point(x, y, radius, (shape.x_2, shape.y_2)))
            else:
                self._polygon(x, y, radius, shape)

    def bookmark(self, key: str, title: str, y: float) -> None:
        """Put an entry into the file's outline that leads here."""
        self._canvas.bookmarkHorizontal(key, 0, self._up(y))
        self._canvas.addOutlineEntry(printable(title), key)

    def next_page(self, size: tuple[float, float] | None = None) -> None:
        """Turn the page, to one of another width and height [mm] where they are given."""
        self._canvas.showPage()
        if size:
            self._height = size[1]
            self._canvas.setPageSize((size[0] * MM, size[1] * MM))
        self.numbers_for_glyphs = False

    def finish(self) -> bytes:
        """Return the whole file."""
        self._canvas.save()
        return self._file.getvalue()

    def _lines(self, color: str, weight: float) -> None:
        self._canvas.setLineWidth(weight * MM)
        self._canvas.setStrokeColor(HexColor(color) if color else Color(0, 0, 0))

    def _polygon(self, x: float, y: float, radius: float, shape: Filled) -> None:
        path = self._canvas.beginPath()
        path.moveTo(*self._point(x, y, radius, shape.points[0]))
        for point in shape.points[1:]:
            path.lineTo(*self._point(x, y, radius, point))
        path.close()
        self._canvas.drawPath(path, fill=1, stroke=0)

    def _point(
        self, x: float, y: float, radius: float, point: tuple[float, float]
    ) -> tuple[float, float]:
        return (x + radius * point[0]) * MM, self._up(y - radius * point[1])

    def _up(self, y: float) -> float:
        return (self._height - y) * MM
