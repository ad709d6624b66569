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

UNSHOWN = "‹ › holds the number of a character that the typeface of this page lacks."
"""Said at the foot of a chart in which it happened."""


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
        _draw_margins(pen, chart, PAGES[page], sheet + 1, last + 1)
        for place in (p for p in places if p.page == sheet):
            pieces[place.block].draw(pen, area.x, area.y + place.y, place.again)
        pen.next_page()
    return pen.finish()


def _pieces(chart: Chart, measure: float) -> list[Piece]:
    rows = entries(chart)
    return [
        *opening(chart, rows, measure),
        *body(chart, rows, measure),
        *closing(chart, measure),
    ]


def _draw_margins(
    pen: Pen, chart: Chart, page: tuple[float, float], number: int, count: int
) -> None:
    """Write what stands at each page's foot, and from the second page on at its head."""
    paper_width, height = page
    right, measure = paper_width - MARGIN, paper_width - 2 * MARGIN
    base = height - FOOT + 5.0
    pen.rule(MARGIN, base - SMALL.leading - 0.6, measure)
    pen.text(MARGIN, base, SHOWN_COLORS, SMALL.size, color=PENCIL)
    said = [f"{chart.kit} on {chart.paper.name}"]
    said += [headings.INVENTED] if headings.is_invented(chart) else []
    said += [UNSHOWN] if _has_unshown(chart) else []
    line = clip(" · ".join(said), SMALL.size, measure - 25.0)
    pen.text(MARGIN, base + SMALL.leading, line, SMALL.size, color=PENCIL)
    pages = f"page {number} of {count}"
    pen.text(right, base + SMALL.leading, pages, SMALL.size, color=PENCIL, to_right=True)
    if number > 1:
        title = clip(chart.title, SMALL.size, measure)
        pen.text(MARGIN, HEAD - 3.0, title, SMALL.size, color=PENCIL)


def _has_unshown(chart: Chart) -> bool:
    texts = [chart.title, chart.kit, chart.paper.name, *chart.notes]
    for match in chart.matches:
        texts += [match.target.name, match.target.passage, match.target.role]
        texts += [colorant.name for colorant in match.best.prediction.recipe.colorants]
    return any("‹" in printable(text) and "‹" not in text for text in texts)
