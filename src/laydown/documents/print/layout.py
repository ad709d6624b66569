"""How a printed page is put together: pieces, a pen, headings and cautions."""

from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from io import BytesIO
from types import MappingProxyType
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray
from PIL import Image
from reportlab.lib.colors import Color, HexColor
from reportlab.lib.utils import ImageReader
from reportlab.pdfgen.canvas import Canvas

from laydown.color.arrays import FloatArray
from laydown.documents.print.entries import Entry
from laydown.documents.print.typefaces import (
    BOLD,
    MM,
    REGULAR,
    SIGNS,
    Filled,
    Ring,
    has_number_for_glyph,
    printable,
    register,
    width,
    wrap,
)
from laydown.documents.print.typefaces import SignStroke as Line
from laydown.match.outcome import Verdict
from laydown.media.legible import legible
from laydown.plan.chart import Chart, notes_for_all
from laydown.reference.thresholds import thresholds

# Where things stand on a printed chart, in millimetres; nothing here draws or measures type.
#
# The origin is the page's top left corner and y runs downwards, as one reads.

PAGES = MappingProxyType({"A4": (210.0, 297.0), "Letter": (215.9, 279.4)})
"""Width and height [mm]: ISO 216, and ANSI/ASME Y14.1 size A (8.5 by 11 inches)."""
MARGIN = 14.0
"""Paper left bare at each side [mm]; home printers can't reach the last 3 to 6."""
HEAD = 12.0
"""Bare paper above the text, the page's running head in it [mm]."""
FOOT = 15.0
"""Bare paper below the text, the page's foot in it [mm]."""


@dataclass(frozen=True, slots=True)
class Rectangle:
    """A rectangle: its top left corner, width and height [mm]."""

    x: float
    y: float
    width: float
    height: float

    @property
    def right(self) -> float:
        """Its right edge."""
        return self.x + self.width

    @property
    def bottom(self) -> float:
        """Its lower edge."""
        return self.y + self.height

    def moved(self, x: float, y: float) -> "Rectangle":
        """Return it moved to the right and down."""
        return Rectangle(self.x + x, self.y + y, self.width, self.height)


def text_area(page: tuple[float, float]) -> Rectangle:
    """Return the part of a page that the chart fills.

    Examples
    --------
    >>> text_area(PAGES["A4"])
    Rectangle(x=14.0, y=12.0, width=182.0, height=270.0)
    """
    width, height = page
    return Rectangle(MARGIN, HEAD, width - 2 * MARGIN, height - HEAD - FOOT)


@dataclass(frozen=True, slots=True)
class Block:
    """A piece of the chart that must not be parted by a page's end.

    Parameters
    ----------
    height
        What it takes up [mm].
    passage
        The number of the passage it belongs to, or -1: a page that goes on with a passage repeats
        its heading.
    heading
        Whether it is a heading, which never stands alone at a page's end.
    """

    height: float
    passage: int = -1
    heading: bool = False


@dataclass(frozen=True, slots=True)
class BlockPlace:
    """Where a block stands: its number, page, upper edge, and whether it repeats a heading."""

    block: int
    page: int
    y: float
    again: bool = False


def paginate(blocks: Sequence[Block], height: float) -> tuple[BlockPlace, ...]:
    """Put blocks on pages, in order.

    A heading goes to the next page unless the block after it fits too. Where a page's end falls
    within a passage, the passage's heading is repeated on the next page. A block higher than a page
    gets one of its own.

    Parameters
    ----------
    blocks
        From first to last; a passage's heading comes before its rows.
    height
        Of the text area [mm].

    Returns
    -------
    tuple of Place
        Blocks in order, with repeated headings between them; y from the text area's upper edge.

    Examples
    --------
    >>> rows = [Block(10, 0, True), Block(40, 0), Block(40, 0)]
    >>> [(place.block, place.page, place.again) for place in paginate(rows, 60)]
    [(0, 0, False), (1, 0, False), (0, 1, True), (2, 1, False)]
    """
    headings = {b.passage: i for i, b in enumerate(blocks) if b.heading and b.passage >= 0}
    places: list[BlockPlace] = []
    page, y = 0, 0.0
    for number, block in enumerate(blocks):
        if y > 0 and y + _with_next(blocks, number) > height:
            page, y = page + 1, 0.0
            again = headings.get(block.passage, number)
            if not block.heading and again < number:
                places.append(BlockPlace(again, page, y, again=True))
                y += blocks[again].height
        places.append(BlockPlace(number, page, y))
        y += block.height
    return tuple(places)


def _with_next(blocks: Sequence[Block], number: int) -> float:
    """Return the height of a block, of a heading's followers too up to the first that is none."""
    height = blocks[number].height
    while blocks[number].heading and number + 1 < len(blocks):
        number += 1
        height += blocks[number].height
    return height


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
        self._canvas.setViewerPreference("DisplayDocTitle", "true")

    def box(
        self, box: Rectangle, *, fill: str = "", line: str = "", weight: float = HAIRLINE
    ) -> None:
        """Draw a rectangle, filled, outlined, or both."""
        self._lines(line, weight)
        if fill:
            self._canvas.setFillColor(HexColor(fill))
        corner = (box.x * MM, self._up(box.bottom))
        size = (box.width * MM, box.height * MM)
        self._canvas.rect(*corner, *size, fill=int(bool(fill)), stroke=int(bool(line)))

    def dashed(self, box: Rectangle) -> None:
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

    def picture(self, box: Rectangle, pixels: NDArray[np.uint8]) -> None:
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
HEADING_PIECES = Type(11.5, 5.2, bold=True)
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


READING = (
    "In each row, left to right: the color wanted, touching what you will get; the same two as"
    " grays; a box. Lay the steps from top to bottom, let every coat dry unless it says “while"
    " wet”, and try them in the box first. Words in bold say how it will differ."
)
"""How to read a row, once for the whole chart."""
MOST_SWATCHES = 6
"""How many next swatches a chart names: an evening's worth."""
INVENTED = "Invented data"
"""Said on every page of a chart whose notes say that its data is made up."""
NO_ROWS = "There are no colors in this chart yet."


def lead(chart: Chart) -> str:
    """Say what the chart answers."""
    return (
        f"What to lay from {chart.kit} on {chart.paper.name} to come as near as its colorants"
        " allow: value first, then hue, then chroma."
    )


def tolerance(chart: Chart) -> str:
    """Say how close is close enough here."""
    limit = thresholds().get(f"tolerance {chart.tolerance}")
    far = f": half of observers accept a difference of ΔE {limit:g} (CIEDE2000)" if limit else ""
    return f"Tolerance “{chart.tolerance}”{far}."


def counts(rows: tuple[Entry, ...]) -> str:
    """Say how many colors came out how.

    Examples
    --------
    >>> counts(())
    'There are no colors in this chart yet.'
    """
    if not rows:
        return NO_ROWS
    found = Counter(row.verdict for row in rows)
    told = ", ".join(f"{found[verdict]} {verdict}" for verdict in Verdict if found[verdict])
    return f"{len(rows)} color{'s' if len(rows) != 1 else ''}: {told}."


def whole_notes(chart: Chart) -> tuple[str, ...]:
    """Return what holds for every row, with what is to be said of the paper."""
    notes = list(notes_for_all(chart))
    if float(chart.paper.reflectance.max()) > 1.0:
        notes.append(
            f"{chart.paper.name} glows under light with ultraviolet in it (it reflects more than"
            " falls on it in some bands): its color changes with the light more than most."
        )
    if not chart.paper.measured and not any("not measured" in note for note in notes):
        notes.append("The paper itself was not measured: a usual white is assumed.")
    return tuple(notes)


def is_invented(chart: Chart) -> bool:
    """Tell whether the chart's notes say that its data is invented."""
    return any("invented" in note.casefold() for note in chart.notes)


def next_swatches(chart: Chart) -> tuple[str, ...]:
    """Return the few swatches that would make most rows surer, the most asked for first.

    What each row would gain from its own swatch is left out: the sums differ from row to row.
    """
    told = [match.next_swatch.partition(" Expected:")[0] for match in chart.matches]
    asked = Counter(text for text in told if text)
    return tuple(text for text, _ in asked.most_common(MOST_SWATCHES))


def passages(rows: tuple[Entry, ...]) -> tuple[tuple[str, tuple[Entry, ...]], ...]:
    """Group rows that follow each other under their passage; one heading for those without."""
    groups: list[tuple[str, list[Entry]]] = []
    for row in rows:
        if not groups or groups[-1][0] != row.passage:
            groups.append((row.passage, []))
        groups[-1][1].append(row)
    return tuple((passage, tuple(group)) for passage, group in groups)


def passage_title(passage: str, *, alone: bool) -> str:
    """Return a passage's heading; empty where no color of the chart belongs to any."""
    return passage or ("" if alone else "Other colors")


# The cautions that go with every chart: they defer to labels and to local rules.
#
# Common practice of the trade; no source. No solvent is called harmless in any words.

HEADING_CAUTIONS = "Take care"

CAUTIONS = (
    (
        "The hazard label of your own country counts before anything written here, and so do the"
        " rules of your school and town; what needs a license is for those who hold one."
    ),
    "Alcohol inks, blending solvents and fixatives: air the room before, during and after.",
    "Let sheets dry in air. No flame, spark or heat gun near wet ink or solvent.",
    "Keep solvent in a small, lidded, labeled jar, never in a cup that someone could drink from.",
    "Used rags and swabs go where their label and local rules say.",
    "Dizzy, or a headache? Stop, cap everything and get fresh air.",
    "Don't lick brushes or nibs, and don't raise pigment dust.",
    "Children's classes go without solvent, unless those responsible for them decide otherwise.",
)
"""One sentence or two each, in the order to read them."""

CARE = "The product’s label and your school’s rules come first."
"""The one caution that stands on every page of a chart."""

SHOWN_COLORS = (
    "Screens and printers don't show these colors truly. Color in the empty box on your own paper,"
    " let it dry, and judge that by daylight."
)
"""The warning that stands on every page of a chart."""
