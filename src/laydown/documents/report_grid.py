"""A grid in a report: a line for each thing, a column for each circumstance, patches and a word."""

from dataclasses import dataclass
from html import escape

from laydown.documents.layout import Block, Box
from laydown.documents.pen import PENCIL, Pen
from laydown.documents.pieces import HEADING, LABEL, PLAIN, STRONG, Lines, Piece, broken, total
from laydown.documents.typefaces import clip

FIRST = 44.0
"""Width of the column of names [mm]."""
PATCH = 6.0
"""Side of a cell's patch [mm]."""
GAP = 1.8
"""Between cells, and between lines [mm]."""
UNDER = 0.6
"""Between patches and words [mm]."""
TITLE_ROOM = 7.0
"""Around a heading and its rule [mm]."""


@dataclass(frozen=True, slots=True)
class Cell:
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
    cells: tuple[Cell, ...]


@dataclass(frozen=True, slots=True)
class Grid:
    """Columns by name, and lines with a cell for each."""

    columns: tuple[str, ...]
    lines: tuple[GridLine, ...]


def grid_heading(title: str, grid: Grid, number: int, measure: float) -> Piece:
    """Return a section's heading with the names of the columns, which every page repeats."""
    wide = _cell_width(grid, measure)
    names = [broken(name, LABEL, wide - GAP) for name in grid.columns]
    height = max((name.height for name in names), default=0.0)
    shown = clip(title, HEADING.size, measure - 30.0, bold=True)

    def draw(pen: Pen, x: float, y: float, again: bool) -> None:
        base = y + 3.0 + HEADING.leading
        if not again:
            pen.bookmark(f"section-{number}", title, y)
        pen.text(x, base, shown + (" (continued)" if again else ""), HEADING.size, bold=True)
        for place, name in enumerate(names):
            name.draw(pen, x + FIRST + place * wide, base + 1.4)
        pen.rule(x, base + 2.8 + height, measure, weight=0.35)

    return Piece(Block(HEADING.leading + TITLE_ROOM + height, number, heading=True), draw)


def grid_line(line: GridLine, grid: Grid, number: int, measure: float) -> Piece:
    """Return one line of a grid."""
    wide = _cell_width(grid, measure)
    name = [broken(line.head, STRONG, FIRST - GAP, most=3)]
    name += [broken(line.remark, PLAIN, FIRST - GAP, most=3)] if line.remark else []
    cells = [_cell_lines(cell, wide - GAP) for cell in line.cells]
    tall = max((PATCH + UNDER + total(lines) for lines in cells), default=0.0)

    def draw(pen: Pen, x: float, y: float, again: bool) -> None:
        top = y
        for part in name:
            top = part.draw(pen, x, top)
        for place, (cell, lines) in enumerate(zip(line.cells, cells, strict=True)):
            left = x + FIRST + place * wide
            for count, fill in enumerate(cell.patches):
                pen.box(Box(left + count * PATCH, y, PATCH, PATCH), fill=fill)
            pen.box(Box(left, y, len(cell.patches) * PATCH, PATCH), line=PENCIL)
            below = y + PATCH + UNDER
            for part in lines:
                below = part.draw(pen, left, below)

    return Piece(Block(max(total(name), tall) + GAP, number), draw)


def _cell_width(grid: Grid, measure: float) -> float:
    return (measure - FIRST) / max(len(grid.columns), 1)


def _cell_lines(cell: Cell, room: float) -> list[Lines]:
    first, *rest = cell.words
    return [broken(first, STRONG if cell.strong else PLAIN, room, most=1)] + [
        broken(word, LABEL, room, most=2) for word in rest
    ]


STYLE = """
.grid { overflow-x: auto; } .grid table { border-collapse: collapse; }
.grid th, .grid td { text-align: left; vertical-align: top; padding: .3rem .7rem .3rem 0; }
.grid thead th { border-bottom: 1px solid #6a6a66; } .grid tbody th { max-width: 14rem; }
.grid th span { font-weight: 400; } .grid td svg { display: block; }
.grid tr { break-inside: avoid; }
"""


def grid_html(grid: Grid) -> str:
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


def _cell_html(cell: Cell) -> str:
    shapes = "".join(
        f'<rect x="{24 * place}" y="0" width="24" height="24" fill="{escape(fill)}"/>'
        for place, fill in enumerate(cell.patches)
    )
    wide = 24 * len(cell.patches)
    drawn = f'<svg width="{wide}" height="24" aria-hidden="true">{shapes}</svg>' if wide else ""
    first, *rest = map(escape, cell.words)
    word = f"<strong>{first}</strong>" if cell.strong else first
    return drawn + "<br>".join([word, *rest])
