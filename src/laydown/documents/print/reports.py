"""Reports of runs, ranges, kits and lessons: words, grids and patches."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from html import escape

from laydown.documents.print.layout import (
    FOOT,
    HEAD,
    HEADING_PIECES,
    INK,
    LABEL,
    MARGIN,
    PAGES,
    PENCIL,
    PLAIN,
    SMALL,
    STRONG,
    TITLE,
    Block,
    Lines,
    Pen,
    Piece,
    Rectangle,
    broken,
    paginate,
    text_area,
    text_piece,
    total,
)
from laydown.documents.print.typefaces import clip, printable
from laydown.plan.run.ranges import SIZE, Plot, svg

FIRST = 44.0
"""Width of the column of names [mm]."""
PATCH_REPORT_GRID = 6.0
"""Side of a cell's patch [mm]."""
GAP_REPORT_GRID = 1.8
"""Between cells, and between lines [mm]."""
UNDER = 0.6
"""Between patches and words [mm]."""
TITLE_ROOM = 7.0
"""Around a heading and its rule [mm]."""


@dataclass(frozen=True, slots=True)
class GridCell:
    """A cell.

    Parameters
    ----------
    words
        Lines of text, the first of them the word that counts.
    patches
        Screen colors, edge to edge: a difference shows best where they touch.
    strong
        Whether the word is set in bold.
    """

    words: tuple[str, ...]
    patches: tuple[str, ...] = ()
    strong: bool = False


@dataclass(frozen=True, slots=True)
class GridLine:
    """A name with a remark under it, and its cells."""

    head: str
    remark: str
    cells: tuple[GridCell, ...]


@dataclass(frozen=True, slots=True)
class ReportGrid:
    """Columns by name, and lines with a cell for each."""

    columns: tuple[str, ...]
    lines: tuple[GridLine, ...]


def grid_heading(title: str, grid: ReportGrid, number: int, measure: float) -> Piece:
    """Return a section's heading with the names of the columns, which every page repeats."""
    wide = _cell_width(grid, measure)
    names = [broken(name, LABEL, wide - GAP_REPORT_GRID) for name in grid.columns]
    height = max((name.height for name in names), default=0.0)
    shown = clip(title, HEADING_PIECES.size, measure - 30.0, bold=True)

    def draw(pen: Pen, x: float, y: float, again: bool) -> None:
        base = y + 3.0 + HEADING_PIECES.leading
        if not again:
            pen.bookmark(f"section-{number}", title, y)
        pen.text(x, base, shown + (" (continued)" if again else ""), HEADING_PIECES.size, bold=True)
        for place, name in enumerate(names):
            name.draw(pen, x + FIRST + place * wide, base + 1.4)
        pen.rule(x, base + 2.8 + height, measure, weight=0.35)

    return Piece(Block(HEADING_PIECES.leading + TITLE_ROOM + height, number, heading=True), draw)


def grid_line(line: GridLine, grid: ReportGrid, number: int, measure: float) -> Piece:
    """Return one line of a grid."""
    wide = _cell_width(grid, measure)
    name = [broken(line.head, STRONG, FIRST - GAP_REPORT_GRID, most=3)]
    name += [broken(line.remark, PLAIN, FIRST - GAP_REPORT_GRID, most=3)] if line.remark else []
    cells = [_cell_lines(cell, wide - GAP_REPORT_GRID) for cell in line.cells]
    tall = max((PATCH_REPORT_GRID + UNDER + total(lines) for lines in cells), default=0.0)

    def draw(pen: Pen, x: float, y: float, again: bool) -> None:
        top = y
        for part in name:
            top = part.draw(pen, x, top)
        for place, (cell, lines) in enumerate(zip(line.cells, cells, strict=True)):
            left = x + FIRST + place * wide
            for count, fill in enumerate(cell.patches):
                pen.box(
                    Rectangle(
                        left + count * PATCH_REPORT_GRID, y, PATCH_REPORT_GRID, PATCH_REPORT_GRID
                    ),
                    fill=fill,
                )
            pen.box(
                Rectangle(left, y, len(cell.patches) * PATCH_REPORT_GRID, PATCH_REPORT_GRID),
                line=PENCIL,
            )
            below = y + PATCH_REPORT_GRID + UNDER
            for part in lines:
                below = part.draw(pen, left, below)

    return Piece(Block(max(total(name), tall) + GAP_REPORT_GRID, number), draw)


def _cell_width(grid: ReportGrid, measure: float) -> float:
    return (measure - FIRST) / max(len(grid.columns), 1)


def _cell_lines(cell: GridCell, room: float) -> list[Lines]:
    first, *rest = cell.words
    return [broken(first, STRONG if cell.strong else PLAIN, room, most=1)] + [
        broken(word, LABEL, room, most=2) for word in rest
    ]


STYLE_REPORT_GRID = """
.grid { overflow-x: auto; } .grid table { border-collapse: collapse; }
.grid th, .grid td { text-align: left; vertical-align: top; padding: .3rem .7rem .3rem 0; }
.grid thead th { border-bottom: 1px solid #6a6a66; } .grid tbody th { max-width: 14rem; }
.grid th span { font-weight: 400; } .grid td svg { display: block; }
.grid tr { break-inside: avoid; }
"""


def grid_html(grid: ReportGrid) -> str:
    """Return a grid as a table."""
    heads = "".join(f'<th scope="col">{escape(name)}</th>' for name in grid.columns)
    lines = "".join(_line_html(line) for line in grid.lines)
    return (
        f'<div class="grid"><table><thead><tr><th scope="col"></th>{heads}</tr></thead>'
        f"<tbody>{lines}</tbody></table></div>"
    )


def _line_html(line: GridLine) -> str:
    remark = f"<br><span>{escape(line.remark)}</span>" if line.remark else ""
    cells = "".join(f"<td>{_cell_html(cell)}</td>" for cell in line.cells)
    return f'<tr><th scope="row">{escape(line.head)}{remark}</th>{cells}</tr>'


def _cell_html(cell: GridCell) -> str:
    shapes = "".join(
        f'<rect x="{24 * place}" y="0" width="24" height="24" fill="{escape(fill)}"/>'
        for place, fill in enumerate(cell.patches)
    )
    wide = 24 * len(cell.patches)
    drawn = f'<svg width="{wide}" height="24" aria-hidden="true">{shapes}</svg>' if wide else ""
    first, *rest = map(escape, cell.words)
    word = f"<strong>{first}</strong>" if cell.strong else first
    return drawn + "<br>".join([word, *rest])


PATCH_REPORT = 9.0
"""Side of a printed patch [mm]."""
GAP_REPORT = 3.0


@dataclass(frozen=True, slots=True)
class ReportRow:
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
    rows: tuple[ReportRow, ...] = ()
    plots: tuple[Plot, ...] = ()
    grid: ReportGrid | None = None


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
    shown = clip(title, HEADING_PIECES.size, measure - 30.0, bold=True)

    def draw(pen: Pen, x: float, y: float, again: bool) -> None:
        base = y + 3.0 + HEADING_PIECES.leading
        if not again:
            pen.bookmark(f"section-{number}", title, y)
        pen.text(x, base, shown + (" (continued)" if again else ""), HEADING_PIECES.size, bold=True)
        pen.rule(x, base + 1.6, measure, weight=0.35)

    return Piece(Block(HEADING_PIECES.leading + 7.0, number, heading=True), draw)


def _row_piece(row: ReportRow, number: int, measure: float) -> Piece:
    left = (
        (6.0 if row.tick else 0.0)
        + len(row.patches) * PATCH_REPORT
        + (GAP_REPORT if row.patches else 0.0)
    )
    right = PATCH_REPORT * 2 + GAP_REPORT if row.box else 0.0
    room = measure - left - right
    lines = [broken(row.head, STRONG, room)] if row.head else []
    lines += [broken(row.text, PLAIN, room)] if row.text else []
    height = max(total(lines), PATCH_REPORT if row.patches or row.box else 0.0)

    def draw(pen: Pen, x: float, y: float, again: bool) -> None:
        if row.tick:
            pen.box(Rectangle(x, y + 0.4, 3.2, 3.2), line=PENCIL, weight=0.25)
        for place, fill in enumerate(row.patches):
            start = x + (6.0 if row.tick else 0.0) + place * PATCH_REPORT
            pen.box(Rectangle(start, y, PATCH_REPORT, PATCH_REPORT), fill=fill, line=PENCIL)
        top = y
        for part in lines:
            top = part.draw(pen, x + left, top)
        if row.box:
            pen.dashed(Rectangle(x + measure - 2 * PATCH_REPORT, y, 2 * PATCH_REPORT, PATCH_REPORT))

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
        box = Rectangle(x + dot.x - SIZE / 2, y + dot.y - SIZE / 2, SIZE, SIZE)
        if dot.hollow:
            pen.box(box, line=dot.fill, weight=0.6)
        else:
            pen.box(box, fill=dot.fill, line=PENCIL)


STYLE_REPORT = """
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
            f"<title>{escape(report.title)}</title>",
            f"<style>{STYLE_REPORT}{STYLE_REPORT_GRID}</style>\n</head>\n<body>",
            *body,
            f"<footer><p>{escape(report.foot)}</p></footer>\n</body>\n</html>\n",
        ]
    )


def _row_html(row: ReportRow) -> str:
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
