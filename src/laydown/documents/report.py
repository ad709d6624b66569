"""A report: titled sections of rows with patches and boxes to tick, and plots; as PDF or HTML."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from html import escape

from laydown.documents.layout import FOOT, HEAD, MARGIN, PAGES, Block, Box, paginate, text_area
from laydown.documents.pen import INK, PENCIL, Pen
from laydown.documents.pieces import (
    HEADING,
    LABEL,
    PLAIN,
    SMALL,
    STRONG,
    TITLE,
    Piece,
    broken,
    text_piece,
    total,
)
from laydown.documents.report_grid import STYLE as GRID_STYLE
from laydown.documents.report_grid import Grid, grid_heading, grid_html, grid_line
from laydown.documents.typefaces import clip, printable
from laydown.plan.plots import SIZE, Plot, svg

PATCH = 9.0
"""Side of a printed patch [mm]."""
GAP = 3.0


@dataclass(frozen=True, slots=True)
class Row:
    """A row of a report.

    Parameters
    ----------
    head
        In bold; may be empty.
    text
        What it says.
    patches
        Screen colors to print beside each other.
    tick, box
        Whether a small box to tick, and a large one to color in, stand in the row.
    """

    head: str
    text: str = ""
    patches: tuple[str, ...] = ()
    tick: bool = False
    box: bool = False


@dataclass(frozen=True, slots=True)
class Section:
    """A grid, rows and plots under a heading."""

    title: str
    rows: tuple[Row, ...] = ()
    plots: tuple[Plot, ...] = ()
    grid: Grid | None = None


@dataclass(frozen=True, slots=True)
class Report:
    """Sections under a title, with lines that hold for all and one for every page's foot."""

    title: str
    lead: tuple[str, ...]
    sections: tuple[Section, ...]
    foot: str = ""


def report_pdf(report: Report, *, page: str = "A4") -> bytes:
    """Write a report as PDF, the same bytes for the same report."""
    area = text_area(PAGES[page])
    pieces = list(_pieces(report, area.width))
    places = paginate([piece.block for piece in pieces], area.height)
    last = max((place.page for place in places), default=0)
    pen = Pen(PAGES[page], title=printable(report.title), subject=" ".join(report.lead[:1]))
    for sheet in range(last + 1):
        _margins(pen, report, PAGES[page], sheet + 1, last + 1)
        for place in (p for p in places if p.page == sheet):
            pieces[place.block].draw(pen, area.x, area.y + place.y, place.again)
        pen.next_page()
    return pen.finish()


def _margins(pen: Pen, report: Report, page: tuple[float, float], number: int, count: int) -> None:
    measure, base = page[0] - 2 * MARGIN, page[1] - FOOT + 5.0
    foot = clip(report.foot, SMALL.size, measure - 25.0)
    pen.text(MARGIN, base, foot, SMALL.size, color=PENCIL)
    told = f"page {number} of {count}"
    pen.text(page[0] - MARGIN, base, told, SMALL.size, color=PENCIL, to_right=True)
    if number > 1:
        title = clip(report.title, SMALL.size, measure)
        pen.text(MARGIN, HEAD - 3.0, title, SMALL.size, color=PENCIL)


def _pieces(report: Report, measure: float) -> Iterator[Piece]:
    yield text_piece([broken(report.title, TITLE, measure)], after=1.5)
    yield text_piece([broken(line, PLAIN, measure) for line in report.lead], after=2.0)
    for number, section in enumerate(report.sections):
        if section.grid:
            yield grid_heading(section.title, section.grid, number, measure)
            for line in section.grid.lines:
                yield grid_line(line, section.grid, number, measure)
        elif section.title:
            yield _heading(section.title, number, measure)
        for row in section.rows:
            yield _row_piece(row, number, measure)
        for pair in range(0, len(section.plots), 2):
            yield _plots_piece(section.plots[pair : pair + 2], number)


def _heading(title: str, number: int, measure: float) -> Piece:
    shown = clip(title, HEADING.size, measure - 30.0, bold=True)

    def draw(pen: Pen, x: float, y: float, again: bool) -> None:
        base = y + 3.0 + HEADING.leading
        if not again:
            pen.bookmark(f"section-{number}", title, y)
        pen.text(x, base, shown + (" (continued)" if again else ""), HEADING.size, bold=True)
        pen.rule(x, base + 1.6, measure, weight=0.35)

    return Piece(Block(HEADING.leading + 7.0, number, heading=True), draw)


def _row_piece(row: Row, number: int, measure: float) -> Piece:
    left = (6.0 if row.tick else 0.0) + len(row.patches) * PATCH + (GAP if row.patches else 0.0)
    right = PATCH * 2 + GAP if row.box else 0.0
    room = measure - left - right
    lines = [broken(row.head, STRONG, room)] if row.head else []
    lines += [broken(row.text, PLAIN, room)] if row.text else []
    height = max(total(lines), PATCH if row.patches or row.box else 0.0)

    def draw(pen: Pen, x: float, y: float, again: bool) -> None:
        if row.tick:
            pen.box(Box(x, y + 0.4, 3.2, 3.2), line=PENCIL, weight=0.25)
        for place, fill in enumerate(row.patches):
            start = x + (6.0 if row.tick else 0.0) + place * PATCH
            pen.box(Box(start, y, PATCH, PATCH), fill=fill, line=PENCIL)
        top = y
        for part in lines:
            top = part.draw(pen, x + left, top)
        if row.box:
            pen.dashed(Box(x + measure - 2 * PATCH, y, 2 * PATCH, PATCH))

    return Piece(Block(height + 1.6, number), draw)


def _plots_piece(plots: Sequence[Plot], number: int) -> Piece:
    height = max(plot.height for plot in plots) + 6.0

    def draw(pen: Pen, x: float, y: float, again: bool) -> None:
        for plot in plots:
            _draw_plot(pen, plot, x, y + 4.0)
            x += plot.width + 6.0

    return Piece(Block(height, number), draw)


def _draw_plot(pen: Pen, plot: Plot, x: float, y: float) -> None:
    pen.text(x, y, clip(plot.title, LABEL.size, plot.width), LABEL.size, bold=True)
    for rule in plot.rules:
        pen.line(x + rule.x_1, y + rule.y_1, x + rule.x_2, y + rule.y_2)
    for label in plot.labels:
        pen.text(x + label.x - 1.0, y + label.y, label.text, LABEL.size, color=INK)
    for dot in plot.dots:
        box = Box(x + dot.x - SIZE / 2, y + dot.y - SIZE / 2, SIZE, SIZE)
        if dot.hollow:
            pen.box(box, line=dot.fill, weight=0.6)
        else:
            pen.box(box, fill=dot.fill, line=PENCIL)


STYLE = """
:root { color-scheme: light; }
body { margin: 0 auto; max-width: 60rem; padding: 0 1rem; background: #d4d4d4; color: #232321;
  font: 1rem/1.45 system-ui, sans-serif; overflow-wrap: break-word; }
h1 { font-weight: 400; } h2 { border-bottom: 2px solid #6a6a66; font-size: 1.2rem; }
.row { display: flex; flex-wrap: wrap; gap: .4rem .8rem; align-items: flex-start; padding: .35rem 0;
  break-inside: avoid; }
.row p { margin: 0; flex: 1 1 12rem; min-width: 0; }
.row svg { flex: none; max-width: 100%; height: auto; }
.plots svg { max-width: 100%; height: auto; background: #fff; }
@media print { body { background: #fff; font-size: 9pt; } svg { print-color-adjust: exact; } }
"""


def report_html(report: Report) -> str:
    """Write a report as one HTML page that needs nothing else, the same for the same report."""
    body = [f"<h1>{escape(report.title)}</h1>"]
    body += [f"<p>{escape(line)}</p>" for line in report.lead]
    for section in report.sections:
        body.append(f"<section><h2>{escape(section.title)}</h2>")
        if section.grid:
            body.append(grid_html(section.grid))
        body += [_row_html(row) for row in section.rows]
        if section.plots:
            body.append(f'<div class="plots">{"".join(svg(p) for p in section.plots)}</div>')
        body.append("</section>")
    return "\n".join(
        [
            '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">',
            '<meta name="viewport" content="width=device-width, initial-scale=1">',
            (
                '<meta http-equiv="Content-Security-Policy"'
                " content=\"default-src 'none'; style-src 'unsafe-inline'\">"
            ),
            f"<title>{escape(report.title)}</title>\n<style>{STYLE}{GRID_STYLE}</style>\n</head>\n<body>",
            *body,
            f"<footer><p>{escape(report.foot)}</p></footer>\n</body>\n</html>\n",
        ]
    )


def _row_html(row: Row) -> str:
    shapes = []
    for place, fill in enumerate(row.patches):
        shapes.append(
            f'<rect x="{36 * place}" y="0" width="36" height="36" fill="{escape(fill)}"/>'
        )
    if row.box:
        start = 36 * len(row.patches) + 8
        shapes.append(
            f'<rect x="{start}" y="1" width="70" height="34" fill="#fff" stroke="#454542"'
            ' stroke-dasharray="4 3"/>'
        )
    wide = 36 * len(row.patches) + (80 if row.box else 0)
    size = f'width="{wide}" height="36" viewBox="0 0 {wide} 36"'
    drawn = f'<svg {size} aria-hidden="true">{"".join(shapes)}</svg>'
    tick = "☐ " if row.tick else ""
    head = f"<strong>{escape(row.head)}</strong> " if row.head else ""
    return f'<div class="row">{drawn if wide else ""}<p>{tick}{head}{escape(row.text)}</p></div>'
