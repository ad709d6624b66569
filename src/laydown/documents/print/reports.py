"""Reports in words, grids and patches, and trials with room for the real swatch."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from html import escape
from itertools import zip_longest
from typing import Any, TypeAlias

from reportlab.lib.colors import HexColor
from reportlab.platypus import Flowable, PageBreak, Spacer, Table

from laydown.color.value import value_from_lab
from laydown.documents.print import layout
from laydown.documents.print.layout import FLUSH, LEAST, LINE, MM, PAGES, in_lines, style, text
from laydown.plan.notebook import Compared
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


GridLine: TypeAlias = tuple[str, str, tuple[GridCell, ...]]
"""Of a grid: a name, a remark under it, and a cell for each column."""


@dataclass(frozen=True, slots=True)
class ReportRow:
    """A row: a head in bold, which may be empty; what it says; screen colors beside each other.

    Keys say what each patch is. A small box to tick, a large `box` to color in, and one `under`
    each patch stand in the row where they are asked for.
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
    columns: tuple[str, ...] = ()
    lines: tuple[GridLine, ...] = ()
    """Of the grid, where it has any columns."""
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
    measure = layout.text_area(PAGES[page]).width

    def opening() -> list[Flowable]:
        lead = [text(line, WORDS) for line in report.lead]
        return [text(report.title, TITLE, outline=report.title), *lead, Spacer(0, 2 * MM)]

    return layout.write_pages(
        report.title,
        opening,
        lambda: list(flowing(report.sections, measure)),
        subject=" ".join(report.lead[:1]),
        page=PAGES[page],
        warning=report.foot,
    )


def flowing(sections: Sequence[Section], measure: float) -> Iterator[Flowable]:
    """Set sections to a width [mm]."""
    for number, section in enumerate(sections):
        if number:
            yield PageBreak() if section.apart else Spacer(0, GAP * MM)
        if section.columns:
            yield _grid(section, measure)
        elif section.title or section.rows:
            lines = [[_row(row, measure)] for row in section.rows]
            yield _under_heading(section.title, [], lines, [measure])
        for first in range(0, len(section.plots), 2):
            pair = section.plots[first : first + 2]
            widths = [(plot.width + 6.0) * MM for plot in pair]
            yield Table([list(map(Drawn, pair))], widths, style=FLUSH, hAlign="LEFT")


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


def _grid(section: Section, measure: float) -> Table:
    wide = min(MOST, (measure - FIRST) / len(section.columns))
    lines = [
        [
            [text(head, NAME), *([text(remark, KEY)] if remark else [])],
            *(_cell(cell, wide - 1.0) for cell in cells),
        ]
        for head, remark, cells in section.lines
    ]
    names = ["", *(text(name, KEY) for name in section.columns)]
    rest = [wide] * len(section.columns)
    return _under_heading(section.title, names, lines, [measure - sum(rest), *rest])


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


def _row(row: ReportRow, measure: float) -> list[Flowable]:
    beside = bool(row.patches or row.box) and not row.tick
    said = [text(row.head, NAME, more="" if beside else row.text)] if row.head else []
    said += [text(row.text, WORDS)] if row.text and (beside or not row.head) else []
    if row.under:
        wide = min(measure / max(len(row.patches), 1), 2 * KEYED)
        return [*said, patches(row.patches, wide, PATCH, keys=row.keys, under=True)]
    wide = PATCH
    if row.keys:  # no word below a patch is to be broken
        words = (word for key in row.keys for word in layout.printable(key).split())
        wide = max([KEYED, *(layout.width(word, LEAST) + 0.8 for word in words)])
        wide = min(wide, (measure - BESIDE) / len(row.keys))
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


def patches(
    fills: Sequence[str], wide: float, high: float, *, keys: Sequence[str] = (), under: bool = False
) -> Table:
    """Set patches of screen colors edge to edge, so wide and high [mm], with what each is below.

    A box to color in stands below each where `under`.
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
            self._write(x - layout.width(layout.printable(word), LEAST) / 2, y, word)
        for x, y, fill, hollow in self._plot.dots:
            self.canv.setFillColor(HexColor(fill))
            self.canv.setStrokeColor(HexColor(fill) if hollow else LINE)
            self.canv.setLineWidth((0.6 if hollow else 0.15) * MM)
            corner = (x - SIZE / 2) * MM, -(y + SIZE / 2) * MM
            self.canv.rect(*corner, SIZE * MM, SIZE * MM, fill=int(not hollow))

    def _write(self, x: float, y: float, words: str) -> None:
        self.canv.setFont(layout.REGULAR, LEAST)
        self.canv.setFillColor(HexColor(layout.INK))
        self.canv.drawString(x * MM, -y * MM, layout.printable(words))


def report_html(report: Report) -> str:
    """Write a report as one HTML page that needs nothing else, the same for the same report."""
    return layout.template("report").render(report=report, svg=svg)


SWATCH = (44.0, 36.0)
"""Width and height of the room for the real swatch [mm]."""
TRIAL_PATCH = (20.0, 14.0)
"""Of the patches beside it, and what parts them from it and from the words [mm]."""
TRIAL_APART = 4.0
GRAY = "#7f7f7f"


def write_trial_pdf(trials: Sequence[ReportRow], *, title: str, page: str = "A4") -> bytes:
    """Write trials, in their order, as a PDF file, the same bytes for the same trials.

    Each has number and recipe, lines of text, and patches with their keys. Raises ValueError for a
    page that isn't in `layout.PAGES`.
    """
    if page not in PAGES:
        raise ValueError(f"page {page!r}: allowed are {', '.join(PAGES)}")
    measure = layout.text_area(PAGES[page]).width
    widths = [SWATCH[0] + TRIAL_APART, 2 * TRIAL_PATCH[0] + TRIAL_APART]
    widths += [measure - sum(widths)]
    looks = [*FLUSH, ("LINEABOVE", (0, 0), (-1, -1), 0.15 * MM, LINE)]
    looks += [(f"{side}PADDING", (0, 0), (-1, -1), 2 * MM) for side in ("TOP", "BOTTOM")]

    def story() -> list[Flowable]:
        return [in_lines([_beside(trial)], widths, looks) for trial in trials]

    return layout.write_pages(
        title,
        lambda: [text(title, TITLE, outline=title)],
        story,
        subject="Trials",
        page=PAGES[page],
        warning=layout.SHOWN_COLORS,
    )


def _beside(trial: ReportRow) -> list[list[Flowable]]:
    """Set room for the swatch, the colors with what each is, and the words."""
    looks = [*FLUSH, ("BOX", (0, 0), (-1, -1), 0.15 * MM, LINE)]
    room = Table([[""]], SWATCH[0] * MM, SWATCH[1] * MM, style=looks, hAlign="LEFT")
    words = [text(line, WORDS) for line in trial.text.splitlines()]
    return [
        [room, text("color here, or glue the real swatch", KEY)],
        [patches(trial.patches, *TRIAL_PATCH, keys=trial.keys)],
        [text(trial.head, HEADING, outline=trial.head), *words],
    ]


SIDE = 320.0
EDGE = 44.0
LIGHTEST = 10
TICKS = range(0, LIGHTEST + 1, 2)


def calibration_svg(trials: Sequence[Compared], *, title: str) -> str:
    """Draw a plot: a ring is what swatches alone led to expect, a dot what was learned besides.

    Trials that are set aside are crossed. The title is said in words for whoever does not see it;
    no element has a style attribute.

    >>> calibration_svg([], title="Mine").count("<circle")
    1
    """
    whole, x, y = SIDE + 2 * EDGE, EDGE + 12, EDGE + 16
    return "\n".join(
        [
            (
                f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {whole:g} {whole:g}" '
                f'role="img" aria-label="{escape(title, quote=True)}" font-family="sans-serif" '
                f'font-size="11" fill="{layout.INK}">'
            ),
            f"<title>{escape(title)}</title>",
            (
                f'<rect x="{EDGE:g}" y="{EDGE:g}" width="{SIDE:g}" height="{SIDE:g}" fill="none" '
                f'stroke="{GRAY}"/>'
            ),
            _line(_x(0), _y(0), _x(10), _y(10)),
            *(_text(_x(tick), _y(0) + 15, f"{tick}", "middle") for tick in TICKS),
            *(_text(_x(0) - 6, _y(tick) + 4, f"{tick}", "end") for tick in TICKS),
            _text(_x(5), _y(0) + 32, "value predicted", "middle"),
            _text(EDGE, EDGE - 10, "value measured"),
            *(line for trial in trials for line in _point(trial)),
            _ring(x, y),
            _text(x + 9, y + 4, "by swatches alone"),
            _text(x - 4, y + 20, "● and by all other trials; crossed: set aside"),
            "</svg>",
        ]
    )


def _x(value: float) -> float:
    return EDGE + SIDE * value / LIGHTEST


def _y(value: float) -> float:
    return EDGE + SIDE * (1.0 - value / LIGHTEST)


def _line(x_1: float, y_1: float, x_2: float, y_2: float, *, color: str = GRAY) -> str:
    ends = f'x1="{x_1:.1f}" y1="{y_1:.1f}" x2="{x_2:.1f}" y2="{y_2:.1f}"'
    return f'<line {ends} stroke="{color}" stroke-width="1"/>'


def _text(x: float, y: float, words: str, anchor: str = "start") -> str:
    return f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}">{words}</text>'


def _ring(x: float, y: float) -> str:
    return f'<circle cx="{x:.1f}" cy="{y:.1f}" r="3.5" fill="none" stroke="{GRAY}"/>'


def _point(trial: Compared) -> list[str]:
    labs = (trial.measured, trial.before, trial.after)
    measured, before, after = (float(value_from_lab(lab)) for lab in labs)
    x, y = _x(after), _y(measured)
    told = f"trial {trial.number}: {measured:.1f} measured, {before:.1f} by swatches"
    lines = [
        _line(_x(before), y, x, y),
        _ring(_x(before), y),
        (
            f'<circle cx="{x:.1f}" cy="{y:.1f}" r="3.5">'
            f"<title>{told}, {after:.1f} by swatches and other trials</title></circle>"
        ),
    ]
    if trial.flagged:
        lines += [_line(x - 6, y - s, x + 6, y + s, color=layout.INK) for s in (6, -6)]
    return lines
