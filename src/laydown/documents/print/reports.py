"""Reports of runs, ranges, kits and lessons: words, grids and patches."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from html import escape
from itertools import zip_longest
from typing import Any

from reportlab.lib.colors import HexColor
from reportlab.platypus import Flowable, PageBreak, Spacer, Table

from laydown.documents.print.flow import (
    FLUSH,
    LEAST,
    LINE,
    Leaflet,
    in_lines,
    style,
    text,
    write_pages,
)
from laydown.documents.print.layout import INK, PAGES, text_area
from laydown.documents.print.typefaces import MM, REGULAR, printable, width
from laydown.plan.run.ranges import SIZE, Plot, svg

FIRST, MOST = 44.0, 46.0
"""Least width of the column of names, and the most of another: what is left is the names' [mm]."""
PATCH = 9.0
"""Height of a printed patch, and its width where it has no key [mm]."""
KEYED, BESIDE = 15.0, 28.0
"""Least width of a patch with its key under it, and room for words beside a row of them [mm]."""
BOX = 20.0
"""Width of a box to color in; one under a patch is as wide as the patch [mm]."""
TICK = 3.2
"""Side of a box to tick [mm]."""
GAP = 3.0
"""Between patches and words, and below a grid's line [mm]."""
APART = 1.6
"""Below a row [mm]."""
TITLE, HEADING = style(17, bold=True, after=1.0), style(12, bold=True)
NAME, WORDS = style(10, bold=True, after=0.4), style(9.2, after=0.4)
KEY = style(LEAST)


@dataclass(frozen=True, slots=True)
class GridCell:
    """A cell."""

    words: tuple[str, ...]
    """Lines of text, the first of them the word that counts."""
    patches: tuple[str, ...] = ()
    """Screen colors, edge to edge: a difference shows best where they touch."""
    strong: bool = False
    """Whether the word is set in bold."""
    beside: bool = False
    """Whether small patches stand beside the word, for many lines on a page."""


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
    keys
        What each patch is; empty for none.
    tick, box, under
        Whether a small box to tick, a large one to color in, and one under each patch, stand in the
        row.
    """

    head: str
    text: str = ""
    patches: tuple[str, ...] = ()
    tick: bool = False
    box: bool = False
    keys: tuple[str, ...] = ()
    under: bool = False


@dataclass(frozen=True, slots=True)
class Section:
    """A grid, rows and plots under a heading; on a page of its own where `apart`."""

    title: str
    rows: tuple[ReportRow, ...] = ()
    plots: tuple[Plot, ...] = ()
    grid: ReportGrid | None = None
    apart: bool = False


@dataclass(frozen=True, slots=True)
class Report:
    """Sections under a title, with lines that hold for all and one for every page's foot."""

    title: str
    lead: tuple[str, ...]
    sections: tuple[Section, ...]
    foot: str = ""


def report_pdf(report: Report, *, page: str = "A4") -> bytes:
    """Write a report as PDF, the same bytes for the same report."""
    measure = text_area(PAGES[page]).width
    leaflet = Leaflet(report.title, " ".join(report.lead[:1]), PAGES[page], report.foot)

    def opening() -> list[Flowable]:
        lead = [text(line, WORDS) for line in report.lead]
        return [text(report.title, TITLE, outline=report.title), *lead, Spacer(0, 2 * MM)]

    return write_pages(leaflet, opening, lambda: list(flowing(report.sections, measure)))[0]


def flowing(sections: Sequence[Section], measure: float) -> Iterator[Flowable]:
    """Set sections to a width [mm]."""
    for number, section in enumerate(sections):
        if number:
            yield PageBreak() if section.apart else Spacer(0, GAP * MM)
        if section.grid:
            yield _grid(section.title, section.grid, measure)
        elif section.title or section.rows:
            yield _rows(section, measure)
        for pair in range(0, len(section.plots), 2):
            yield _plots(section.plots[pair : pair + 2])


def _under_heading(
    title: str, above: list[Any], lines: list[list[Any]], widths: list[float]
) -> Table:
    """Set lines under a heading that every page repeats, with a line of names above them."""
    headed = [[text(title, HEADING, outline=title)]] if title else []
    heads = [*([*line, *[""] * (len(widths) - 1)] for line in headed), *([above] if above else [])]
    looks = [*FLUSH, ("BOTTOMPADDING", (0, 0), (-1, -1), APART * MM)]
    looks += [("RIGHTPADDING", (0, 0), (0, -1), GAP * MM)] if len(widths) > 1 else []
    if headed:
        looks += [("SPAN", (0, 0), (-1, 0)), ("LINEBELOW", (0, 0), (-1, 0), 0.35 * MM, LINE)]
        looks += [("BOTTOMPADDING", (0, 0), (-1, 0), 1.0 * MM)]
        looks += [("TOPPADDING", (0, 1), (-1, 1), 1.2 * MM)] if above or lines else []
    return in_lines([*heads, *lines], widths, looks, repeatRows=len(heads))


def _grid(title: str, grid: ReportGrid, measure: float) -> Table:
    wide = min(MOST, (measure - FIRST) / max(len(grid.columns), 1))
    lines = [
        [
            [text(line.head, NAME), *([text(line.remark, KEY)] if line.remark else [])],
            *(_cell(cell, wide - 1.0) for cell in line.cells),
        ]
        for line in grid.lines
    ]
    names = ["", *(text(name, KEY) for name in grid.columns)]
    rest = [wide] * len(grid.columns)
    return _under_heading(title, names, lines, [measure - sum(rest), *rest])


def _cell(cell: GridCell, measure: float) -> list[Flowable]:
    first, *rest = cell.words
    if cell.beside and cell.patches:
        side, word = PATCH / 2, text(first, style(LEAST, bold=cell.strong))
        taken = side * len(cell.patches) + 0.6
        shown = patches(cell.patches, side, side)
        return [in_lines([[[shown], [word]]], [taken, measure - taken], FLUSH)]
    side = min(PATCH * 0.7, measure / max(len(cell.patches), 1))
    shown = [patches(cell.patches, side, PATCH * 0.7)] if cell.patches else []
    strong = style(LEAST, bold=cell.strong)
    return [*shown, text(first, strong), *(text(word, KEY) for word in rest)]


def _rows(section: Section, measure: float) -> Table:
    lines = [[_row(row, measure)] for row in section.rows]
    return _under_heading(section.title, [], lines, [measure])


def _row(row: ReportRow, measure: float) -> list[Flowable]:
    beside = bool(row.patches or row.box) and not row.tick
    said = [text(row.head, NAME, more="" if beside else row.text)] if row.head else []
    said += [text(row.text, WORDS)] if row.text and (beside or not row.head) else []
    if row.under:
        wide = min(measure / max(len(row.patches), 1), 2 * KEYED)
        return [*said, patches(row.patches, wide, PATCH, keys=row.keys, under=True)]
    wide = min(_key_width(row.keys), (measure - BESIDE) / len(row.keys)) if row.keys else PATCH
    parts: list[tuple[Any, float]] = []
    parts += [(patches(("#ffffff",), TICK, TICK), TICK + GAP)] if row.tick else []
    if row.patches:
        shown = patches(row.patches, wide, PATCH * (0.55 if row.tick else 1.0), keys=row.keys)
        parts.append((shown, len(row.patches) * wide + GAP))
    right = [("", GAP), (patches(("#ffffff",), BOX, PATCH * 1.3), BOX)] if row.box else []
    room = measure - sum(taken for _, taken in [*parts, *right])
    if not parts and not right:
        return said
    cells = [*parts, (said, room), *right]
    return [in_lines([[part for part, _ in cells]], [taken for _, taken in cells], FLUSH)]


def _key_width(keys: Sequence[str]) -> float:
    """Return how wide patches must be for no word below them to be broken [mm]."""
    words = (word for key in keys for word in printable(key).split())
    return max([KEYED, *(width(word, LEAST) + 0.8 for word in words)])


def patches(
    fills: Sequence[str], wide: float, high: float, *, keys: Sequence[str] = (), under: bool = False
) -> Table:
    """Set patches edge to edge, with what each is below, and a box to color in where `under`.

    Parameters
    ----------
    fills
        Screen colors.
    wide, high
        Of a patch [mm].
    keys
        What each is; empty for none.
    under
        Whether a box to color in stands below each.
    """
    looks = [*FLUSH, ("BOX", (0, 0), (-1, 0), 0.15 * MM, LINE)]
    looks += [
        ("BACKGROUND", (place, 0), (place, 0), HexColor(fill)) for place, fill in enumerate(fills)
    ]
    lines: list[list[Any]] = [[""] * len(fills)]
    heights: list[float | None] = [high * MM]
    if under:
        looks.append(("GRID", (0, 1), (-1, 1), 0.15 * MM, LINE))
        lines, heights = [*lines, [""] * len(fills)], [*heights, 1.3 * high * MM]
    if keys:
        named = zip_longest(keys[: len(fills)], fills)
        lines, heights = [*lines, [text(key or "", KEY) for key, _ in named]], [*heights, None]
        looks.append(("RIGHTPADDING", (0, -1), (-1, -1), 0.6 * MM))
    return Table(lines, wide * MM, heights, style=looks, hAlign="LEFT")


def _plots(plots: Sequence[Plot]) -> Table:
    widths = [(plot.width + 6.0) * MM for plot in plots]
    return Table([[Drawn(plot) for plot in plots]], widths, style=FLUSH, hAlign="LEFT")


class Drawn(Flowable):  # type: ignore[misc]  # the PDF library has no types
    """A plot under its title."""

    def __init__(self, plot: Plot) -> None:
        super().__init__()
        self._plot = plot
        self.width, self.height = plot.width * MM, (plot.height + 6.0) * MM

    def draw(self) -> None:
        """Draw rules, labels and dots, from the top left corner on."""
        self.canv.translate(0, self.height - 4.0 * MM)
        self._write(0.0, 0.0, self._plot.title)
        self.canv.setStrokeColor(LINE)
        self.canv.setLineWidth(0.15 * MM)
        for x_1, y_1, x_2, y_2 in self._plot.rules:
            self.canv.line(x_1 * MM, -y_1 * MM, x_2 * MM, -y_2 * MM)
        for x, y, word in self._plot.labels:
            self._write(x - 1.0, y, word)
        for x, y, fill, hollow in self._plot.dots:
            self.canv.setFillColor(HexColor(fill))
            self.canv.setStrokeColor(HexColor(fill) if hollow else LINE)
            self.canv.setLineWidth((0.6 if hollow else 0.15) * MM)
            corner = (x - SIZE / 2) * MM, -(y + SIZE / 2) * MM
            self.canv.rect(*corner, SIZE * MM, SIZE * MM, fill=int(not hollow))

    def _write(self, x: float, y: float, words: str) -> None:
        self.canv.setFont(REGULAR, LEAST)
        self.canv.setFillColor(HexColor(INK))
        self.canv.drawString(x * MM, -y * MM, printable(words))


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
.keys { display: flex; flex-wrap: wrap; gap: .4rem 0; list-style: none; margin: 0; padding: 0; }
.keys li { width: 66px; font-size: .8rem; line-height: 1.15; } .keys svg { display: block; }
@media print { body { background: #fff; font-size: 9pt; } .apart { break-before: page; }
  svg { print-color-adjust: exact; } }
"""


def report_html(report: Report) -> str:
    """Write a report as one HTML page that needs nothing else, the same for the same report."""
    body = [f"<h1>{escape(report.title)}</h1>"]
    body += [f"<p>{escape(line)}</p>" for line in report.lead]
    for section in report.sections:
        apart = ' class="apart"' if section.apart else ""
        body.append(f"<section{apart}><h2>{escape(section.title)}</h2>")
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
    shapes = [_square(36 * place, fill) for place, fill in enumerate(row.patches)]
    if row.box:
        start = 36 * len(row.patches) + 8
        shapes.append(
            f'<rect x="{start}" y="1" width="70" height="34" fill="#fff" stroke="#454542"/>'
        )
    wide = 36 * len(row.patches) + (80 if row.box else 0)
    size = f'width="{wide}" height="36" viewBox="0 0 {wide} 36"'
    drawn = f'<svg {size} aria-hidden="true">{"".join(shapes)}</svg>' if wide else ""
    if row.keys or row.under:
        drawn = _keyed_html(row)
    tick = "☐ " if row.tick else ""
    head = f"<strong>{escape(row.head)}</strong> " if row.head else ""
    return f'<div class="row">{drawn}<p>{tick}{head}{escape(row.text)}</p></div>'


def _keyed_html(row: ReportRow) -> str:
    """Return patches with what each is below it, and boxes to color in."""
    box = '<rect x="1" y="38" width="64" height="40" fill="#fff" stroke="#454542"/>'
    high = 80 if row.under or row.box else 36
    below = box if row.under or row.box else ""
    svg_of = f'<svg width="66" height="{high}" aria-hidden="true">'
    items = [
        f"<li>{svg_of}{_square(0, fill, 66)}{below}</svg>{escape(key or '')}</li>"
        for key, fill in zip_longest(row.keys[: len(row.patches)], row.patches)
    ]
    return f'<ul class="keys">{"".join(items)}</ul>'


def _square(x: int, fill: str, wide: int = 36) -> str:
    return f'<rect x="{x}" y="0" width="{wide}" height="36" fill="{escape(fill or "")}"/>'
