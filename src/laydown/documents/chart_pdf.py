"""A chart as PDF, to print and to take to the drawing table."""

from laydown.documents import headings
from laydown.documents.cautions import SHOWN_COLORS
from laydown.documents.chart_sections import body, closing, opening
from laydown.documents.entries import entries
from laydown.documents.layout import FOOT, HEAD, MARGIN, PAGES, paginate, text_area
from laydown.documents.pen import PENCIL, Pen
from laydown.documents.pieces import SMALL, Piece
from laydown.documents.typefaces import clip, printable
from laydown.plan.chart import Chart

UNSHOWN = "‹ › holds the number of a character that this typeface lacks."
"""Said at the foot of each page on which it happened."""


def write_chart_pdf(chart: Chart, *, page: str = "A4") -> bytes:
    """Write a chart as a PDF file, the same bytes for the same chart.

    Parameters
    ----------
    chart
        With its matches in order and, for the layers to be drawn in their colors, its layers.
    page
        A name in `layout.PAGES`.

    Returns
    -------
    bytes
        The whole file.

    Raises
    ------
    ValueError
        For a page that isn't known.

    Examples
    --------
    ``Path("chart.pdf").write_bytes(write_chart_pdf(chart, page="Letter"))``
    """
    if page not in PAGES:
        raise ValueError(f"page {page!r}: allowed are {', '.join(PAGES)}")
    area = text_area(PAGES[page])
    pieces = _pieces(chart, area.width)
    places = paginate([piece.block for piece in pieces], area.height)
    last = max((place.page for place in places), default=0)
    pen = Pen(PAGES[page], title=printable(chart.title), subject=headings.lead(chart))
    for sheet in range(last + 1):
        for place in (p for p in places if p.page == sheet):
            pieces[place.block].draw(pen, area.x, area.y + place.y, place.again)
        _draw_foot(pen, chart, PAGES[page], f"page {sheet + 1} of {last + 1}")
        if sheet > 0:
            title = clip(chart.title, SMALL.size, area.width)
            pen.text(area.x, HEAD - 3.0, title, SMALL.size, color=PENCIL)
        pen.next_page()
    return pen.finish()


def _pieces(chart: Chart, measure: float) -> list[Piece]:
    rows = entries(chart)
    return [
        *opening(chart, rows, measure),
        *body(chart, rows, measure),
        *closing(chart, measure),
    ]


def _draw_foot(pen: Pen, chart: Chart, page: tuple[float, float], number: str) -> None:
    """Write at a page's foot what no page may be read without."""
    measure = page[0] - 2 * MARGIN
    base = page[1] - FOOT + 5.0
    pen.rule(MARGIN, base - SMALL.leading - 0.6, measure)
    pen.text(MARGIN, base, SHOWN_COLORS, SMALL.size, color=PENCIL)
    said = [f"{chart.kit} on {chart.paper.name}"]
    said += [headings.INVENTED] if headings.is_invented(chart) else []
    said += [UNSHOWN] if pen.numbers_for_glyphs else []
    line = clip(" · ".join(reversed(said)), SMALL.size, measure - 25.0)
    pen.text(MARGIN, base + SMALL.leading, line, SMALL.size, color=PENCIL)
    right = page[0] - MARGIN
    pen.text(right, base + SMALL.leading, number, SMALL.size, color=PENCIL, to_right=True)
