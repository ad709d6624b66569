"""A chart as PDF, HTML and CSV."""

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from jinja2 import Environment, StrictUndefined, Template

from laydown.color.arrays import FloatArray
from laydown.color.naming import color_name
from laydown.color.value import value_from_lab
from laydown.documents.files.csv import write_csv
from laydown.documents.print import layout as headings
from laydown.documents.print.entries import Entry, entries, paper_shade
from laydown.documents.print.layout import (
    CARD,
    CAUTIONS,
    FOOT,
    HEAD,
    HEADING_PIECES,
    LABEL,
    MARGIN,
    NAME,
    PAGES,
    PENCIL,
    PLAIN,
    QUIET,
    SHOWN_COLORS,
    SMALL,
    STRONG,
    TITLE,
    Block,
    Lines,
    Pen,
    Piece,
    Rectangle,
    broken,
    column,
    columns,
    paginate,
    text_area,
    text_piece,
    total,
)
from laydown.documents.print.layout import HEADING_CAUTIONS as CAUTIONS_HEADING
from laydown.documents.print.steps import Layer
from laydown.documents.print.typefaces import clip, printable, svg_shapes, width
from laydown.match.outcome import Candidate, Match, Verdict
from laydown.media.recipe import Recipe, format_recipe
from laydown.plan.chart import Chart, Supply, supplies
from laydown.plan.notebook import difference_range, value_margin

GRAY_CARD = "#cbcbcb"
"""A light neutral gray, L* about 82: pale colors still stand out against it."""
MOST_LINES_CHART_ROWS = 5
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
class LayerStrip:
    """A drawn layer with its label and height [mm]."""

    layer: Layer
    label: tuple[Lines, ...]
    height: float


@dataclass(frozen=True, slots=True)
class ChartLine:
    """A row's texts, broken to their columns."""

    entry: Entry
    paper: str
    width: float
    head: Lines
    verdict: Lines
    colors: tuple[tuple[str, Lines], ...]
    strips: tuple[LayerStrip, ...]
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


def _set(entry: Entry, paper: str, measure: float) -> ChartLine:
    at = columns(measure)
    name = f"{entry.number}  {entry.name}" + (f" · {entry.role}" if entry.role else "")
    beside = measure - at.layers
    verdict = broken(str(entry.verdict), STRONG, beside)
    room = beside - width(verdict.lines[0], STRONG.size, bold=True) - 3 * SIGN - 3.0
    return ChartLine(
        entry=entry,
        paper=paper,
        width=measure,
        head=broken(name, NAME, room, most=MOST_LINES_CHART_ROWS),
        verdict=verdict,
        colors=_colors(entry, beside),
        strips=tuple(_strip(n, layer) for n, layer in enumerate(entry.layers, start=1)),
        words=_words(entry, at.words_width),
        below=_below(entry, measure),
    )


def _strip(number: int, layer: Layer) -> LayerStrip:
    measure = columns(0.0).layers_width - STRIP_WIDTH - 2.0
    name, both = f"{number} {layer.name}", f"{number} {layer.name}, {layer.how}"
    if width(printable(both), PLAIN.size) <= measure:
        label = [broken(both, PLAIN, measure)]
    else:
        label = [
            broken(name, PLAIN, measure, most=MOST_LINES_CHART_ROWS),
            broken(layer.how, SMALL, measure),
        ]
    return LayerStrip(layer, tuple(label), max(LEAST_STRIP, total(label) + 0.4, layer.coats * COAT))


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


def _head_height(row: ChartLine) -> float:
    return row.head.height + total([lines for _, lines in row.colors]) + 1.4


def _draw(row: ChartLine, pen: Pen, x: float, y: float) -> None:
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


def _draw_colors(row: ChartLine, pen: Pen, x: float, y: float) -> None:
    for label, lines in row.colors:
        pen.text(x, y + PLAIN.leading * 0.75, label, PLAIN.size, color=PENCIL)
        y = lines.draw(pen, x + TAB, y)


def _draw_verdict(row: ChartLine, pen: Pen, right: float, y: float) -> None:
    line = row.verdict.lines[0]
    base = y + NAME.leading * 0.75
    pen.text(right, base, line, STRONG.size, bold=True, to_right=True)
    middle = right - width(line, STRONG.size, bold=True) - SIGN - 1.2
    pen.sign(middle, base - 1.05, SIGN, row.entry.verdict)


def _draw_card(row: ChartLine, pen: Pen, x: float, y: float) -> None:
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


def _draw_layers(row: ChartLine, pen: Pen, x: float, top: float) -> None:
    bottom = top + sum(strip.height for strip in row.strips) + PAPER_STRIP
    paper = Rectangle(x, bottom - PAPER_STRIP, STRIP_WIDTH, PAPER_STRIP)
    pen.box(paper, fill=row.paper, line=PENCIL)
    told = "paper" if row.strips else "paper, left bare"
    pen.text(x + STRIP_WIDTH + 2.0, paper.bottom - 0.8, told, SMALL.size, color=PENCIL)
    y = paper.y
    for step, strip in enumerate(row.strips):
        y -= strip.height
        left = min(step * TERRACE, STRIP_WIDTH * 0.6)
        _draw_strip(strip, pen, Rectangle(x + left, y, STRIP_WIDTH - left, strip.height))
        column(strip.label, pen, x + STRIP_WIDTH + 2.0, y)


def _draw_strip(strip: LayerStrip, pen: Pen, box: Rectangle) -> None:
    pen.box(box, fill=strip.layer.fill, line=PENCIL)
    coats = strip.layer.coats
    for coat in range(1, coats):
        pen.rule(box.x, box.y + box.height * coat / coats, box.width)


MOST_LINES_CHART_SECTIONS = 4
"""Of a name: longer ones are cut with …, so that no piece outgrows a page."""
INDENT = 4.0
"""Of a list's items [mm]."""
LIST_GAP = 0.6
"""Between a list's items [mm]."""
TICK = 3.2
"""Side of the box to tick on the supply list [mm]."""


def opening(chart: Chart, rows: tuple[Entry, ...], measure: float) -> list[Piece]:
    """Set the title, what the chart answers, what holds for every row, and how to read one."""
    title = text_piece(
        [broken(chart.title, TITLE, measure, most=MOST_LINES_CHART_SECTIONS)], after=1.5
    )
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
    shown = clip(title, HEADING_PIECES.size, measure - 40.0, bold=True)
    told = f"{count} color{'s' if count != 1 else ''}"

    def draw(pen: Pen, x: float, y: float, again: bool) -> None:
        base = y + HEADING_PIECES.leading
        if not again:
            pen.bookmark(f"passage-{number}", title, y)
        pen.text(x, base, shown, HEADING_PIECES.size, bold=True)
        after = x + width(shown, HEADING_PIECES.size, bold=True) + 2.5
        pen.text(after, base, "continued" if again else told, PLAIN.size, color=PENCIL)
        pen.rule(x, base + 1.6, measure, weight=0.35)

    return Piece(Block(HEADING_PIECES.leading + 4.6, number, heading=True), draw)


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
        base = y + 3.0 + HEADING_PIECES.leading
        pen.text(x, base, title, HEADING_PIECES.size, bold=True)
        pen.rule(x, base + 1.6, measure, weight=0.35)

    return [Piece(Block(HEADING_PIECES.leading + 7.0, heading=True), draw), *pieces]


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
    name = broken(called, NAME, middle - 12.0, most=MOST_LINES_CHART_SECTIONS)
    told = (
        f"{supply.recipes} recipe{'s' if supply.recipes != 1 else ''},"
        f" {supply.coats} coat{'s' if supply.coats != 1 else ''}"
    )
    room = measure - middle - width(told, PLAIN.size) - 4.0
    kind = clip(f"{colorant.range}, {colorant.medium}", PLAIN.size, room)

    def draw(pen: Pen, x: float, y: float, again: bool) -> None:
        pen.box(Rectangle(x, y + 0.4, TICK, TICK), line=PENCIL, weight=0.25)
        name.draw(pen, x + 6.0, y)
        pen.text(x + middle, y + NAME.leading * 0.75, kind, PLAIN.size)
        pen.text(x + measure, y + NAME.leading * 0.75, told, PLAIN.size, to_right=True)

    return Piece(Block(name.height + 0.8), draw)


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


def chart_html(chart: Chart) -> str:
    """Write a chart as one HTML page, the same text for the same chart.

    Every color has its name, value and numbers beside it; signs differ by shape. The page reads on
    a phone 360 pixels wide and prints with its patches at the size they have in the PDF.

    Parameters
    ----------
    chart
        With its matches in order and, for the layers to be drawn in their colors, its layers.

    Examples
    --------
    ``Path("chart.html").write_text(chart_html(chart), encoding="utf-8")``
    """
    rows = entries(chart)
    groups = headings.passages(rows)
    titled = [(headings.passage_title(p, alone=len(groups) == 1), group) for p, group in groups]
    return _template().render(
        chart=chart,
        rows=rows,
        groups=titled,
        lead=headings.lead(chart),
        tolerance=headings.tolerance(chart),
        counts=headings.counts(rows),
        notes=headings.whole_notes(chart),
        reading=headings.READING,
        invented=headings.INVENTED if headings.is_invented(chart) else "",
        swatches=headings.next_swatches(chart),
        supplies=supplies(chart.matches),
        paper=paper_shade(chart),
        verdicts=tuple(Verdict),
        shapes=svg_shapes,
        boxes=CARD,
        gray_card=GRAY_CARD,
        shown_colors=SHOWN_COLORS,
        cautions=CAUTIONS,
        cautions_heading=CAUTIONS_HEADING,
    )


@cache
def _template() -> Template:
    text = (files("laydown.documents") / "templates" / "chart.html.j2").read_text(encoding="utf-8")
    return Environment(autoescape=True, undefined=StrictUndefined).from_string(text)


COLUMNS = (
    *("number", "passage", "role", "name", "verdict", "off", "recipe", "instructions"),
    *("acceptance", "delta_e", "delta_e_low", "delta_e_high", "value_off", "value_margin"),
    *("hue_off", "chroma_off", "wanted_L", "wanted_a", "wanted_b", "wanted_value", "wanted_name"),
    *("predicted_L", "predicted_a", "predicted_b", "predicted_value", "predicted_name"),
    *("single", "single_delta_e", "mud", "cleaner", "tolerance", "kit", "paper", "notes"),
)
"""In their order."""


def chart_csv(chart: Chart) -> str:
    """Write a chart as CSV (RFC 4180), one line for each match.

    Recipes are in the form one types, with ranges where the chart uses more than one. Numbers have
    the digits that are known: CIELAB, values and ΔE one after the point, chances two. Text that
    a spreadsheet would take for a formula gets an apostrophe before it.

    Parameters
    ----------
    chart
        With its matches in order.

    Examples
    --------
    ``chart_csv(chart).splitlines()[0]`` names the columns.
    """
    used = {c.range for m in chart.matches for c in m.best.prediction.recipe.colorants}
    rows = [_row(n, match, chart, len(used) > 1) for n, match in enumerate(chart.matches, start=1)]
    return write_csv(COLUMNS, (row.values() for row in rows))


def _row(number: int, match: Match, chart: Chart, with_range: bool) -> dict[str, str]:
    def typed(recipe: Recipe) -> str:
        return format_recipe(recipe, with_range=with_range)

    target, best = match.target, match.best
    row = {
        "number": str(number),
        "passage": target.passage,
        "role": target.role,
        "name": target.name,
        "verdict": str(best.verdict),
        "off": best.difference.words,
        "recipe": typed(best.prediction.recipe),
        "instructions": " ".join(best.instructions),
        **_sure(match),
        **_color("wanted", target.lab),
        **_color("predicted", best.prediction.lab),
        "single": typed(match.single.prediction.recipe),
        "single_delta_e": _tenth(match.single.difference.delta_e),
        "mud": best.mud.words if best.mud else "",
        "cleaner": typed(best.mud.cleaner) if best.mud and best.mud.cleaner else "",
        "tolerance": chart.tolerance,
        "kit": chart.kit,
        "paper": chart.paper.name,
        "notes": " ".join(dict.fromkeys((*chart.notes, *match.notes))),
    }
    return {column: row[column] for column in COLUMNS}


def _sure(match: Match) -> dict[str, str]:
    best: Candidate = match.best
    seen, off = best.prediction, best.difference
    low, high = difference_range(match.target.lab, seen.lab, best.covariance)
    return {
        "acceptance": f"{best.acceptance:.2f}",
        "delta_e": _tenth(off.delta_e),
        "delta_e_low": _tenth(low),
        "delta_e_high": _tenth(high),
        "value_off": _tenth(off.value),
        "value_margin": _tenth(value_margin(seen.lab, best.covariance)),
        "hue_off": "" if off.hue is None else f"{off.hue:z.0f}",
        "chroma_off": _tenth(off.chroma),
    }


def _color(which: str, lab: FloatArray) -> dict[str, str]:
    return {
        f"{which}_L": _tenth(lab[0]),
        f"{which}_a": _tenth(lab[1]),
        f"{which}_b": _tenth(lab[2]),
        f"{which}_value": _tenth(float(value_from_lab(lab))),
        f"{which}_name": color_name(lab),
    }


def _tenth(value: float) -> str:
    text = f"{value:.1f}"
    return "0.0" if text == "-0.0" else text
