"""Pages on which text, tables and patches flow, set by the PDF library, with foot and outline."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from html import escape
from io import BytesIO
from typing import Any, TypeAlias

from reportlab.lib.colors import HexColor
from reportlab.lib.styles import ParagraphStyle
from reportlab.platypus import (
    BaseDocTemplate,
    Flowable,
    Frame,
    FrameBreak,
    NextPageTemplate,
    PageBreak,
    PageTemplate,
    Paragraph,
    Table,
)

from laydown.documents.print.layout import FOOT, HEAD, INK, MARGIN, PENCIL, Pen, text_area
from laydown.documents.print.typefaces import (
    BOLD,
    MM,
    REGULAR,
    has_number_for_glyph,
    printable,
    register,
)
from laydown.media.legible import legible

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

    Attributes
    ----------
    outline
        Under which name the file's outline leads here; empty for none.
    has_numbers
        Whether it shows a character as its number.
    """

    outline = ""
    has_numbers = False

    def split(self, *room: float) -> list["Text"]:
        """Return what fits the room and the rest, each as much of a text as the whole."""
        parts: list[Text] = super().split(*room)
        for part in parts:
            part.outline, part.has_numbers = self.outline, self.has_numbers
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
    """Return a text of people to set: whatever it holds is shown as it is.

    Parameters
    ----------
    said
        The text.
    style
        See `style`.
    more
        What follows on the same line in regular type.
    outline
        Under which name the file's outline leads here; empty for none.
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

    Parameters
    ----------
    lines
        Each with lists of what flows, texts or nothing in its cells.
    widths
        Of the columns [mm].
    looks, more
        As the PDF library has them.
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


@dataclass(frozen=True, slots=True)
class Leaflet:
    """What stands on every page of a file, and in its description."""

    title: str
    subject: str
    """Of the file; the title stands at the head of each page after the first, too."""
    page: tuple[float, float]
    """Width and height of its pages [mm]."""
    warning: str
    """What no page may be read without."""
    source: str = ""
    """What it was made from, at the foot."""


SMALL = style(LEAST, color=PENCIL)
"""Of heads and feet."""


DrawnPage: TypeAlias = tuple[tuple[float, float], Callable[[Pen], None]]
"""Width and height of a page [mm], and what draws it."""


def write_pages(
    leaflet: Leaflet,
    opening: Callable[[], list[Flowable]],
    story: Callable[[], list[Flowable]],
    *,
    columns: int = 1,
    before: Sequence[DrawnPage] = (),
) -> tuple[bytes, int]:
    """Set a file; return it with the number of its pages.

    Parameters
    ----------
    leaflet
        What stands on every page.
    opening
        Makes what stands across the first page, above its columns.
    story
        Makes what flows. Both are set twice: a page says how many there are.
    columns
        In how many the story flows, until it asks for the template “1”.
    before
        Pages that are drawn, before what flows.
    """
    pages = _set(leaflet, (opening(), story()), columns, 0, before).page
    document = _set(leaflet, (opening(), story()), columns, pages, before)
    return document.filename.getvalue(), pages


def _set(
    leaflet: Leaflet,
    parts: tuple[list[Flowable], list[Flowable]],
    columns: int,
    pages: int,
    before: Sequence[DrawnPage],
) -> Any:
    area, (opening, story) = text_area(leaflet.page), parts
    high = sum(part.wrap(area.width * MM, 1e6)[1] + part.getSpaceAfter() for part in opening)
    document = BaseDocTemplate(
        BytesIO(),
        pagesize=[side * MM for side in leaflet.page],
        title=legible(leaflet.title),
        subject=legible(leaflet.subject),
        author="laydown",
        creator="laydown",
        lang="en",
        displayDocTitle=1,
        invariant=1,
        initialFontName=REGULAR,
    )

    def margins(canvas: Any, _: Any) -> None:
        _draw_margins(canvas, leaflet, pages, len(before) + 1)

    first = [_frame(leaflet.page, 0, 1, 0.0, high), *_frames(leaflet.page, columns, high)]
    document.addPageTemplates(
        [
            *(_drawn(number, *page) for number, page in enumerate(before)),
            PageTemplate("first", first, onPageEnd=margins, autoNextPageTemplate=str(columns)),
            PageTemplate("1", _frames(leaflet.page, 1), onPageEnd=margins),
            PageTemplate("2", _frames(leaflet.page, 2), onPageEnd=margins),
        ]
    )
    names = [*map(_name, range(1, len(before))), "first"][: len(before)]
    turns = [part for name in names for part in (NextPageTemplate(name), PageBreak())]
    document.build([*turns, *opening, FrameBreak(), *story])
    return document


def _drawn(number: int, size: tuple[float, float], draw: Callable[[Pen], None]) -> PageTemplate:
    frame = Frame(0, 0, size[0] * MM, size[1] * MM)
    pagesize = [side * MM for side in size]
    return PageTemplate(
        _name(number),
        [frame],
        onPage=lambda canvas, _: draw(Pen(canvas, size[1])),
        pagesize=pagesize,
    )


def _name(number: int) -> str:
    return f"drawn {number}"


def _frames(page: tuple[float, float], columns: int, below: float = 0.0) -> list[Frame]:
    height = text_area(page).height * MM - below
    return [_frame(page, number, columns, below, height) for number in range(columns)]


def _frame(
    page: tuple[float, float], number: int, columns: int, below: float, height: float
) -> Frame:
    area = text_area(page)
    wide = (area.width - (columns - 1) * GUTTER) / columns
    left = area.left + number * (wide + GUTTER)
    bottom = (page[1] - area.top) * MM - below - height
    return Frame(left * MM, bottom, wide * MM, height, *[0] * 4)


def _draw_margins(canvas: Any, leaflet: Leaflet, pages: int, first: int) -> None:
    """Write at a page's foot what no page may be read without, and at its head what it is of."""
    wide, high = leaflet.page
    told = [leaflet.source, UNSHOWN if getattr(canvas, "unshown", False) else ""]
    told += [f"page {canvas.getPageNumber()} of {pages}" if pages > 1 else ""]
    canvas.unshown = False
    foot = (leaflet.warning, " · ".join(filter(None, told)))
    y = (FOOT - 1.0) * MM
    for text in foot:
        y = _line(canvas, text, y, wide - 2 * MARGIN)
    if canvas.getPageNumber() > first:
        _line(canvas, leaflet.title, (high - HEAD + 4.0) * MM, wide - 2 * MARGIN)


def _line(canvas: Any, text: str, top: float, measure: float) -> float:
    """Write a text into a margin; return where it ends."""
    shown = Paragraph(escape(printable(legible(text))), SMALL)
    height: float = shown.wrap(measure * MM, 1e6)[1]
    shown.drawOn(canvas, MARGIN * MM, top - height)
    return top - height
