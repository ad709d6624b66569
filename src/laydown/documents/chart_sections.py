"""The parts of a printed chart: its opening, its passages, and what stands at the end."""

from collections.abc import Iterable

from laydown.documents import headings
from laydown.documents.cautions import CAUTIONS
from laydown.documents.cautions import HEADING as CAUTIONS_HEADING
from laydown.documents.chart_rows import SIGN, row_piece
from laydown.documents.entries import Entry, paper_shade
from laydown.documents.layout import Block, Box
from laydown.documents.pen import PENCIL, Pen
from laydown.documents.pieces import (
    HEADING,
    NAME,
    PLAIN,
    QUIET,
    STRONG,
    TITLE,
    Piece,
    broken,
    text_piece,
    total,
)
from laydown.documents.typefaces import clip, width
from laydown.match.outcome import Verdict
from laydown.plan.chart import Chart
from laydown.plan.supplies import Supply, supplies

MOST_LINES = 4
"""Of a name: longer ones are cut with …, so that no piece outgrows a page."""
INDENT = 4.0
"""Of a list's items [mm]."""
LIST_GAP = 0.6
"""Between a list's items [mm]."""
TICK = 3.2
"""Side of the box to tick on the supply list [mm]."""


def opening(chart: Chart, rows: tuple[Entry, ...], measure: float) -> list[Piece]:
    """Set the title, what the chart answers, what holds for every row, and how to read one."""
    title = text_piece([broken(chart.title, TITLE, measure, most=MOST_LINES)], after=1.5)
    facts = (headings.lead(chart), headings.tolerance(chart), headings.counts(rows))
    texts = [broken(fact, PLAIN, measure) for fact in facts]
    notes = [
        broken(f"– {note}", STRONG if "invented" in note.casefold() else PLAIN, measure)
        for note in headings.whole_notes(chart)
    ]
    if notes:
        notes.insert(0, broken("Holds for every row", STRONG, measure))
    pieces = [title, text_piece(texts, after=2.0), text_piece(notes, after=2.0)]
    if rows:
        pieces += [text_piece([broken(headings.READING, QUIET, measure)], after=1.5), _legend()]
    return pieces


def _legend() -> Piece:
    def draw(pen: Pen, x: float, y: float, again: bool) -> None:
        base = y + PLAIN.leading
        for verdict in Verdict:
            pen.sign(x + SIGN, base - 1.05, SIGN, verdict)
            pen.text(x + 2 * SIGN + 1.2, base, str(verdict), PLAIN.size)
            x += 2 * SIGN + 6.0 + width(str(verdict), PLAIN.size)

    return Piece(Block(PLAIN.leading + 4.0), draw)


def body(chart: Chart, rows: tuple[Entry, ...], measure: float) -> Iterable[Piece]:
    """Set the rows under their passages' headings."""
    paper = paper_shade(chart).fill
    groups = headings.passages(rows)
    for number, (passage, members) in enumerate(groups):
        title = headings.passage_title(passage, alone=len(groups) == 1)
        if title:
            yield _passage_heading(title, len(members), number, measure)
        for entry in members:
            yield row_piece(entry, paper=paper, measure=measure, passage=number)


def _passage_heading(title: str, count: int, number: int, measure: float) -> Piece:
    shown = clip(title, HEADING.size, measure - 40.0, bold=True)
    told = f"{count} color{'s' if count != 1 else ''}"

    def draw(pen: Pen, x: float, y: float, again: bool) -> None:
        base = y + HEADING.leading
        if not again:
            pen.bookmark(f"passage-{number}", title, y)
        pen.text(x, base, shown, HEADING.size, bold=True)
        after = x + width(shown, HEADING.size, bold=True) + 2.5
        pen.text(after, base, "continued" if again else told, PLAIN.size, color=PENCIL)
        pen.rule(x, base + 1.6, measure, weight=0.35)

    return Piece(Block(HEADING.leading + 4.6, number, heading=True), draw)


def closing(chart: Chart, measure: float) -> list[Piece]:
    """Set the supply list, the swatches worth making, and the cautions."""
    pieces: list[Piece] = []
    listed = supplies(chart.matches)
    if listed:
        pieces += section("What you need", [supply_piece(s, measure) for s in listed], measure)
    asked = headings.next_swatches(chart)
    if asked:
        told = listing(asked, measure)
        pieces += section("Swatches that would make this surer", [told], measure)
    return pieces + section(CAUTIONS_HEADING, [listing(CAUTIONS, measure)], measure)


def section(title: str, pieces: list[Piece], measure: float) -> list[Piece]:
    """Set a heading over pieces."""

    def draw(pen: Pen, x: float, y: float, again: bool) -> None:
        base = y + 3.0 + HEADING.leading
        pen.text(x, base, title, HEADING.size, bold=True)
        pen.rule(x, base + 1.6, measure, weight=0.35)

    return [Piece(Block(HEADING.leading + 7.0, heading=True), draw), *pieces]


def listing(texts: tuple[str, ...], measure: float) -> Piece:
    """Set a short list that stays on one page."""
    items = [broken(text, PLAIN, measure - INDENT) for text in texts]

    def draw(pen: Pen, x: float, y: float, again: bool) -> None:
        for item in items:
            pen.text(x, y + PLAIN.leading * 0.75, "–", PLAIN.size, color=PENCIL)
            y = item.draw(pen, x + INDENT, y) + LIST_GAP

    return Piece(Block(total(items) + LIST_GAP * len(items)), draw)


def supply_piece(supply: Supply, measure: float) -> Piece:
    """Set a row of the supply list."""
    colorant, middle = supply.colorant, min(82.0, 0.45 * measure)
    called = colorant.name + (f"  {colorant.code}" if colorant.code else "")
    name = broken(called, NAME, middle - 12.0, most=MOST_LINES)
    told = (
        f"{supply.recipes} recipe{'s' if supply.recipes != 1 else ''},"
        f" {supply.coats} coat{'s' if supply.coats != 1 else ''}"
    )
    room = measure - middle - width(told, PLAIN.size) - 4.0
    kind = clip(f"{colorant.range}, {colorant.medium}", PLAIN.size, room)

    def draw(pen: Pen, x: float, y: float, again: bool) -> None:
        pen.box(Box(x, y + 0.4, TICK, TICK), line=PENCIL, weight=0.25)
        name.draw(pen, x + 6.0, y)
        pen.text(x + middle, y + NAME.leading * 0.75, kind, PLAIN.size)
        pen.text(x + measure, y + NAME.leading * 0.75, told, PLAIN.size, to_right=True)

    return Piece(Block(name.height + 0.8), draw)
