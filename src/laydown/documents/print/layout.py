"""How a printed page is put together: its typeface, a pen, and text that flows."""

import re
import unicodedata
from collections.abc import Callable, Iterable, Iterator, Sequence
from functools import cache, lru_cache, partial
from html import escape
from importlib.resources import as_file, files
from io import BytesIO
from itertools import starmap
from math import inf
from types import MappingProxyType
from typing import Any, TypeAlias

from jinja2 import Environment, StrictUndefined, Template
from reportlab import platypus
from reportlab.lib.colors import Color, HexColor
from reportlab.lib.styles import ParagraphStyle
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import Flowable, Frame, PageTemplate, Paragraph, Table

from laydown.color.arrays import FloatArray
from laydown.match.outcome import Verdict
from laydown.media.legible import legible
from laydown.sheet.page import CellBox

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


def wrap(text: str, size: float, measure: float) -> list[str]:
    """Break a text, made printable, into one line or more of a type size [points].

    None is wider than the measure [mm]; a word wider than that is cut where it has to be.
    """
    lines, line = [], ""
    for word in printable(text).split(" "):
        longer = f"{line} {word}" if line else word
        if width(longer, size) <= measure:
            line = longer
            continue
        if line:
            lines.append(line)
        *cut, line = _cut(word, size, measure)
        lines.extend(cut)
    return [*lines, line]


def _cut(word: str, size: float, measure: float) -> list[str]:
    pieces = [""]
    for char in _UNIT.findall(word):
        if pieces[-1] and width(pieces[-1] + char, size) > measure:
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


# Where things stand on a page, in millimetres: the origin is its top left corner and y runs down.

PAGES = MappingProxyType({"A4": (210.0, 297.0), "Letter": (215.9, 279.4)})
"""Width and height [mm]: ISO 216, and ANSI/ASME Y14.1 size A (8.5 by 11 inches)."""
MARGIN = 14.0
"""Paper left bare at each side [mm]; home printers can't reach the last 3 to 6."""
HEAD = 12.0
"""Bare paper above the text, the page's running head in it [mm]."""
FOOT = 15.0
"""Bare paper below the text, the page's foot in it [mm]."""


def text_area(page: tuple[float, float]) -> CellBox:
    """Return the part of a page that the chart fills.

    >>> text_area(PAGES["A4"])
    CellBox(left=14.0, top=12.0, width=182.0, height=270.0)
    """
    width, height = page
    return CellBox(MARGIN, HEAD, width - 2 * MARGIN, height - HEAD - FOOT)


INK = "#262624"
"""Of the text: a soft black."""
PENCIL = "#5c5c58"
"""Of lesser text and of lines; 6.7 to 1 against white paper."""
HAIRLINE = 0.15
"""The thinnest line [mm] that printers keep."""


@cache
def template(name: str) -> Template:
    """Return the template of a document that is one HTML page."""
    text = (files("laydown.documents") / "templates" / f"{name}.html.j2").read_text("utf-8")
    environment = Environment(autoescape=True, undefined=StrictUndefined)
    environment.globals |= {
        "signs": SIGNS,
        "shown_colors": SHOWN_COLORS,
        "care": CARE,
        "cautions": CAUTIONS,
        "cautions_heading": HEADING_CAUTIONS,
    }
    return environment.from_string(text)


class Pen:
    """Draws on a page so high [mm], or on the pages of a PDF file of its own (`on_file`)."""

    def __init__(self, canvas: Any, high: float) -> None:
        self._canvas, self._height = canvas, high

    @classmethod
    def on_file(cls, page: tuple[float, float], *, title: str, subject: str) -> "Pen":
        """Begin a file of pages of this width and height [mm], described by title and subject."""
        register()
        size = (page[0] * MM, page[1] * MM)
        canvas = Canvas(BytesIO(), size, invariant=1, initialFontName=REGULAR, lang="en")
        canvas.setTitle(legible(title))
        canvas.setSubject(legible(subject))
        canvas.setAuthor("laydown")
        canvas.setCreator("laydown")
        canvas.setViewerPreference("DisplayDocTitle", "true")
        return cls(canvas, page[1])

    def box(
        self, box: CellBox, *, fill: str = "", line: str = "", weight: float = HAIRLINE
    ) -> None:
        """Draw a rectangle, filled, outlined, or both."""
        self._lines(line, weight)
        if fill:
            self._canvas.setFillColor(HexColor(fill))
        corner = (box.left * MM, self._up(box.bottom))
        size = (box.width * MM, box.height * MM)
        self._canvas.rect(*corner, *size, fill=int(bool(fill)), stroke=int(bool(line)))

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
        start = x - width(shown, size, bold=bold) if to_right else x
        self._canvas.setFont(BOLD if bold else REGULAR, size)
        self._canvas.setFillColor(HexColor(color))
        self._canvas.drawString(start * MM, self._up(y), shown)

    def bookmark(self, key: str, title: str) -> None:
        """Put an entry into the file's outline that leads to the page."""
        self._canvas.bookmarkHorizontal(key, 0, self._up(0.0))
        self._canvas.addOutlineEntry(printable(title), key)

    def next_page(self) -> None:
        """Turn the page."""
        self._canvas.showPage()

    def finish(self) -> bytes:
        """Return the whole file."""
        content: bytes = self._canvas.getpdfdata()
        return content

    def _lines(self, color: str, weight: float) -> None:
        self._canvas.setLineWidth(weight * MM)
        self._canvas.setStrokeColor(HexColor(color) if color else Color(0, 0, 0))

    def _up(self, y: float) -> float:
        return (self._height - y) * MM


# The cautions that go with every chart defer to labels and to local rules. Common practice of the
# trade; no source. No solvent is called harmless in any words.

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
UNSHOWN = "‹ › holds the number of a character that this typeface lacks."
"""Said at the foot of each page on which it happened."""
GUTTER = 5.0
"""Between two columns [mm]."""
LEAST = 8.0
"""The smallest type on a page that flows [points]."""
LINE = HexColor(PENCIL)
"""Of rules and outlines."""
FLUSH: tuple[tuple[Any, ...], ...] = (
    ("VALIGN", (0, 0), (-1, -1), "TOP"),
    *((f"{side}PADDING", (0, 0), (-1, -1), 0) for side in ("LEFT", "RIGHT", "TOP", "BOTTOM")),
)
"""How tables are set: each cell's text at its top left corner."""


def style(size: float, *, bold: bool = False, color: str = INK, after: float = 0.0) -> Any:
    """Return a way to set text: size [points], weight, color, and space after it [mm]."""
    register()
    return ParagraphStyle(
        f"{size}",
        fontName=BOLD if bold else REGULAR,
        fontSize=size,
        leading=1.12 * size,
        textColor=HexColor(color),
        spaceAfter=after * MM,
    )


class Text(Paragraph):  # type: ignore[misc]  # the PDF library has no types
    """A text that is broken where it must be and never cut; made by `text`.

    It is under its `outline` in the file's outline, unless that is empty, and has numbers where it
    shows a character as one.
    """

    outline = ""
    has_numbers = False
    _wrapped: tuple[float, tuple[float, float]] | None = None

    def wrap(self, wide: float, high: float) -> tuple[float, float]:
        """Return the width and height that it takes, broken into lines once for each width."""
        if self._wrapped is None or self._wrapped[0] != wide or not hasattr(self, "blPara"):
            self._wrapped = wide, super().wrap(wide, high)
        return self._wrapped[1]

    def split(self, *room: float) -> list["Text"]:
        """Return what fits the room and the rest, each as much of a text as the whole."""
        parts: list[Text] = super().split(*room)
        for part in parts:
            part.outline, part.has_numbers = self.outline, self.has_numbers
        self._wrapped = None  # its lines may have been changed
        return parts

    def draw(self) -> None:
        """Draw it, once into the outline too, and remember what the page's foot must explain."""
        super().draw()
        canvas = self.canv
        canvas.unshown = getattr(canvas, "unshown", False) or self.has_numbers
        marks: frozenset[str] = getattr(canvas, "outlined", frozenset())
        if self.outline and self.outline not in marks:
            canvas.outlined = marks | {self.outline}
            canvas.bookmarkHorizontal(self.outline, 0, self.height)
            canvas.addOutlineEntry(self.outline, self.outline)


def text(said: str, style: Any, *, more: str = "", outline: str = "") -> Text:
    """Return a text of people to set in a `style`: whatever it holds is shown as it is.

    `more` follows on the same line in regular type; under `outline` the file's outline leads here.
    """
    shown, rest = printable(legible(said)), printable(legible(more))
    regular = f'<font name="{REGULAR}" size="{min(style.fontSize, 10.0)}">'
    made = Text(escape(shown) + (f"{regular} {escape(rest)}</font>" if rest else ""), style)
    made.outline = printable(outline)
    made.has_numbers = has_number_for_glyph(shown + rest)
    return made


MOST_OF_A_PAGE = 200.0
"""Height up to which a line of a table is never broken [mm]."""


def in_lines(lines: list[list[Any]], widths: Sequence[float], looks: Any, **more: Any) -> Table:
    """Return a table whose lines stay whole, but for those that are higher than a page.

    Its cells hold lists of what flows, texts or nothing; widths are those of its columns [mm]; the
    rest is as the PDF library has it.
    """
    cells = [(cell, wide) for line in lines for cell, wide in zip(line, widths, strict=True)]
    highest = max(
        (
            sum(part.wrap(wide * MM, 1e6)[1] for part in cell)
            for cell, wide in cells
            if isinstance(cell, list)
        ),
        default=0.0,
    )
    sizes = [wide * MM for wide in widths]
    broken = int(highest > MOST_OF_A_PAGE * MM)
    return Table(lines, sizes, style=looks, splitInRow=broken, hAlign="LEFT", **more)


SMALL = style(LEAST, color=PENCIL)
"""Of heads and feet."""
DrawnPage: TypeAlias = tuple[tuple[float, float], Callable[[Pen], None]]
"""Width and height of a page [mm], and what draws it."""


class _TooManyError(Exception):
    """A page is begun that is more than there may be."""


def _count(canvas: Any, _: Any, *, most: float) -> None:
    if canvas.getPageNumber() > most:
        raise _TooManyError


def write_pages(
    title: str,
    opening: Callable[[], list[Flowable]],
    story: Callable[[], list[Flowable]],
    *,
    subject: str,
    page: tuple[float, float],
    warning: str,
    source: str = "",
    columns: int = 1,
    before: Sequence[DrawnPage] = (),
    most: float = inf,
) -> bytes:
    """Set a file of pages so wide and high [mm]; return nothing where it takes more than `most`.

    What `opening` makes stands across the first page, above its columns; what `story` makes flows
    in so many columns, until it asks for the template “1”. Where there are several pages both are
    set twice: each says how many there are. At its foot are the warning without which no page may
    be read, and what the file was made from; the title is at the head of each page after the first,
    too. Pages that are drawn stand before what flows.
    """
    pages = 0

    def margins(canvas: Any, _: Any) -> None:
        number, shown = canvas.getPageNumber(), not getattr(canvas, "unshown", False)
        told = (source, "" if shown else UNSHOWN, f"page {number} of {pages}" if pages > 1 else "")
        canvas.unshown = False
        y = (FOOT - 1.0) * MM
        for line in (warning, " · ".join(filter(None, told))):
            y = _line(canvas, line, y, page[0] - 2 * MARGIN)
        if number > len(before) + 1:
            _line(canvas, title, (page[1] - HEAD + 4.0) * MM, page[0] - 2 * MARGIN)

    flows = partial(PageTemplate, onPage=partial(_count, most=most), onPageEnd=margins)
    for _ in range(2):
        document, above = _document(title, subject, page), opening()
        high = _height(above, text_area(page).width * MM)
        first = [*_frames(page, 1, height=high), *_frames(page, columns, below=high)]
        templates = list(starmap(_drawn, enumerate(before)))
        templates.append(flows("first", first, autoNextPageTemplate=str(columns)))
        templates += [flows("1", _frames(page, 1)), flows("2", _frames(page, 2))]
        document.addPageTemplates(templates)
        try:
            document.build([*_turns(len(before)), *above, platypus.FrameBreak(), *story()])
        except _TooManyError:
            return b""
        pages = document.page
        if pages == 1:  # which no page says
            break
    return bytes(document.filename.getvalue())


def _height(parts: Sequence[Flowable], wide: float) -> float:
    return float(sum(part.wrap(wide, 1e6)[1] + part.getSpaceAfter() for part in parts))


def _turns(drawn: int) -> Iterator[Flowable]:
    """Turn so many drawn pages, up to the first that flows."""
    for name in [*map(_name, range(1, drawn)), "first"][:drawn]:
        yield from (platypus.NextPageTemplate(name), platypus.PageBreak())


def _document(title: str, subject: str, page: tuple[float, float]) -> Any:
    return platypus.BaseDocTemplate(
        BytesIO(),
        pagesize=[side * MM for side in page],
        title=legible(title),
        subject=legible(subject),
        author="laydown",
        creator="laydown",
        lang="en",
        displayDocTitle=1,
        invariant=1,
        initialFontName=REGULAR,
    )


def _drawn(number: int, drawn: DrawnPage) -> PageTemplate:
    size, draw = drawn
    wide, high = (side * MM for side in size)
    return PageTemplate(
        _name(number),
        [Frame(0, 0, wide, high)],
        onPage=lambda canvas, _: draw(Pen(canvas, size[1])),
        pagesize=[wide, high],
    )


def _name(number: int) -> str:
    return f"drawn {number}"


def _frames(
    page: tuple[float, float], columns: int, *, below: float = 0.0, height: float | None = None
) -> list[Frame]:
    """Return columns so far below the text's upper edge, down to its lower one or so high."""
    area = text_area(page)
    high = area.height * MM - below if height is None else height
    wide = (area.width - (columns - 1) * GUTTER) / columns
    lefts = (area.left + number * (wide + GUTTER) for number in range(columns))
    bottom = (page[1] - area.top) * MM - below - high
    return [Frame(left * MM, bottom, wide * MM, high, *[0] * 4) for left in lefts]


def _line(canvas: Any, text: str, top: float, measure: float) -> float:
    """Write a text into a margin; return where it ends."""
    shown = Paragraph(escape(printable(legible(text))), SMALL)
    height: float = shown.wrap(measure * MM, 1e6)[1]
    shown.drawOn(canvas, MARGIN * MM, top - height)
    return top - height
