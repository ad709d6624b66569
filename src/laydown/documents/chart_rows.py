"""A row of the printed chart: the gray card, the drawn layers, the words."""

from dataclasses import dataclass

from laydown.documents.entries import Entry
from laydown.documents.layout import CARD, Block, Box, columns
from laydown.documents.pen import PENCIL, Pen
from laydown.documents.pieces import (
    LABEL,
    NAME,
    PLAIN,
    QUIET,
    SMALL,
    STRONG,
    Lines,
    Piece,
    broken,
    column,
    total,
)
from laydown.documents.steps import Layer
from laydown.documents.typefaces import printable, width

GRAY_CARD = "#cbcbcb"
"""A light neutral gray, L* about 82: pale colors still stand out against it."""
MOST_LINES = 5
"""Of a name: longer ones are cut with …, so that no row outgrows a page."""
STRIP_WIDTH = 18.0
"""Of a drawn layer [mm]."""
TERRACE = 3.0
"""How much of each layer is left uncovered by the next [mm]."""
LEAST_STRIP = 4.4
"""Height of a drawn layer [mm]."""
COAT = 1.4
"""Height of a coat within it [mm], where its many coats need more."""
PAPER_STRIP = 3.2
"""Height of the drawn paper [mm]."""
TAB = 15.0
"""From the words “Wanted” and “Predicted” to what they say [mm]."""
BELOW = 1.4
"""Space between the card and the lines below it [mm]."""
AFTER = 2.4
"""Space between a row and the rule below it, and again to the next row [mm]."""
SIGN = 1.45
"""Radius of a verdict's sign [mm]."""


@dataclass(frozen=True, slots=True)
class Strip:
    """A drawn layer with its label and height [mm]."""

    layer: Layer
    label: tuple[Lines, ...]
    height: float


@dataclass(frozen=True, slots=True)
class Row:
    """A row's texts, broken to their columns."""

    entry: Entry
    paper: str
    width: float
    head: Lines
    verdict: Lines
    colors: tuple[tuple[str, Lines], ...]
    strips: tuple[Strip, ...]
    words: tuple[Lines, ...]
    below: tuple[Lines, ...]

    @property
    def beside(self) -> float:
        """Height of what stands beside the card [mm]."""
        layers = sum(strip.height for strip in self.strips) + PAPER_STRIP
        return _head_height(self) + max(layers, total(self.words))

    @property
    def height(self) -> float:
        """Of the whole row with the rule below [mm]."""
        return max(CARD.card.height, self.beside) + BELOW + total(self.below) + 2 * AFTER


def row_piece(entry: Entry, *, paper: str, measure: float, passage: int) -> Piece:
    """Set a row.

    Parameters
    ----------
    entry
        What to set.
    paper
        The paper's color, ``#rrggbb``.
    measure
        Width of the text area [mm].
    passage
        The number of its passage.
    """
    row = _set(entry, paper, measure)

    def draw(pen: Pen, x: float, y: float, again: bool) -> None:
        _draw(row, pen, x, y)

    return Piece(Block(row.height, passage), draw)


def _set(entry: Entry, paper: str, measure: float) -> Row:
    at = columns(measure)
    name = f"{entry.number}  {entry.name}" + (f" · {entry.role}" if entry.role else "")
    beside = measure - at.layers
    verdict = broken(str(entry.verdict), STRONG, beside)
    room = beside - width(verdict.lines[0], STRONG.size, bold=True) - 3 * SIGN - 3.0
    return Row(
        entry=entry,
        paper=paper,
        width=measure,
        head=broken(name, NAME, room, most=MOST_LINES),
        verdict=verdict,
        colors=_colors(entry, beside),
        strips=tuple(_strip(n, layer) for n, layer in enumerate(entry.layers, start=1)),
        words=_words(entry, at.words_width),
        below=_below(entry, measure),
    )


def _strip(number: int, layer: Layer) -> Strip:
    measure = columns(0.0).layers_width - STRIP_WIDTH - 2.0
    name, both = f"{number} {layer.name}", f"{number} {layer.name}, {layer.how}"
    if width(printable(both), PLAIN.size) <= measure:
        label = [broken(both, PLAIN, measure)]
    else:
        label = [broken(name, PLAIN, measure, most=MOST_LINES), broken(layer.how, SMALL, measure)]
    return Strip(layer, tuple(label), max(LEAST_STRIP, total(label) + 0.4, layer.coats * COAT))


def _words(entry: Entry, measure: float) -> tuple[Lines, ...]:
    return (
        broken(entry.off, STRONG, measure),
        broken(entry.sure, PLAIN, measure),
        broken(entry.chance, PLAIN, measure),
    )


def _colors(entry: Entry, measure: float) -> tuple[tuple[str, Lines], ...]:
    pairs = (("Wanted", entry.wanted), ("Predicted", entry.predicted))
    return tuple(
        (label, broken(f"{shade.words}, {shade.numbers}", PLAIN, measure - TAB))
        for label, shade in pairs
    )


def _below(entry: Entry, measure: float) -> tuple[Lines, ...]:
    single = (entry.single,) if entry.single else ()
    plain = (*single, *(f"Or {other}" for other in entry.others), *entry.notes)
    mud = (broken(f"Mud: {entry.mud}", STRONG, measure),) if entry.mud else ()
    return (*mud, *(broken(text, QUIET, measure) for text in plain))


def _head_height(row: Row) -> float:
    return row.head.height + total([lines for _, lines in row.colors]) + 1.4


def _draw(row: Row, pen: Pen, x: float, y: float) -> None:
    at = columns(row.width)
    _draw_card(row, pen, x, y)
    _draw_colors(row, pen, x + at.layers, row.head.draw(pen, x + at.layers, y))
    _draw_verdict(row, pen, x + row.width, y)
    top = y + _head_height(row)
    _draw_layers(row, pen, x + at.layers, top)
    column(row.words, pen, x + at.words, top)
    below = y + max(CARD.card.height, row.beside) + BELOW
    end = column(row.below, pen, x, below)
    pen.rule(x, end + AFTER, row.width)


def _draw_colors(row: Row, pen: Pen, x: float, y: float) -> None:
    for label, lines in row.colors:
        pen.text(x, y + PLAIN.leading * 0.75, label, PLAIN.size, color=PENCIL)
        y = lines.draw(pen, x + TAB, y)


def _draw_verdict(row: Row, pen: Pen, right: float, y: float) -> None:
    line = row.verdict.lines[0]
    base = y + NAME.leading * 0.75
    pen.text(right, base, line, STRONG.size, bold=True, to_right=True)
    middle = right - width(line, STRONG.size, bold=True) - SIGN - 1.2
    pen.sign(middle, base - 1.05, SIGN, row.entry.verdict)


def _draw_card(row: Row, pen: Pen, x: float, y: float) -> None:
    wanted, got = row.entry.wanted, row.entry.predicted
    for box, fill in (
        (CARD.card, GRAY_CARD),
        (CARD.ground, row.paper),
        (CARD.wanted, wanted.fill),
        (CARD.predicted, got.fill),
        (CARD.wanted_gray, wanted.gray),
        (CARD.predicted_gray, got.gray),
        (CARD.trial, "#ffffff"),
    ):
        pen.box(box.moved(x, y), fill=fill)
    pen.dashed(CARD.trial.moved(x, y))
    base = y + CARD.ground.bottom + LABEL.leading + 0.4
    for left, label in (
        (CARD.wanted.x, "wanted"),
        (CARD.predicted.x, "predicted"),
        (CARD.wanted_gray.x, "their value"),
        (CARD.trial.x, "color in here"),
    ):
        pen.text(x + left, base, label, LABEL.size)


def _draw_layers(row: Row, pen: Pen, x: float, top: float) -> None:
    bottom = top + sum(strip.height for strip in row.strips) + PAPER_STRIP
    paper = Box(x, bottom - PAPER_STRIP, STRIP_WIDTH, PAPER_STRIP)
    pen.box(paper, fill=row.paper, line=PENCIL)
    told = "paper" if row.strips else "paper, left bare"
    pen.text(x + STRIP_WIDTH + 2.0, paper.bottom - 0.8, told, SMALL.size, color=PENCIL)
    y = paper.y
    for step, strip in enumerate(row.strips):
        y -= strip.height
        left = min(step * TERRACE, STRIP_WIDTH * 0.6)
        _draw_strip(strip, pen, Box(x + left, y, STRIP_WIDTH - left, strip.height))
        column(strip.label, pen, x + STRIP_WIDTH + 2.0, y)


def _draw_strip(strip: Strip, pen: Pen, box: Box) -> None:
    pen.box(box, fill=strip.layer.fill, line=PENCIL)
    coats = strip.layer.coats
    for coat in range(1, coats):
        pen.rule(box.x, box.y + box.height * coat / coats, box.width)
