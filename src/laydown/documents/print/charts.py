"""A chart as PDF, HTML and CSV: a page for the table, and what lies behind it."""

from collections.abc import Iterator, Sequence
from math import inf
from typing import Any, TypeAlias

from reportlab.lib.colors import HexColor
from reportlab.platypus import Flowable, KeepTogether, NextPageTemplate, PageBreak, Spacer, Table

from laydown.color.arrays import FloatArray
from laydown.color.naming import color_name
from laydown.color.value import value_from_lab
from laydown.documents.files.csv import write_csv
from laydown.documents.print import entries as headings
from laydown.documents.print import layout
from laydown.documents.print.entries import Entry, Layer, entries
from laydown.documents.print.layout import FLUSH, LINE, MM, PAGES, in_lines, style, text
from laydown.documents.print.reports import KEY, patches
from laydown.match.outcome import Candidate, Match
from laydown.media.recipe import Recipe, format_recipe
from laydown.plan.chart import Chart, supplies
from laydown.plan.notebook import difference_range, value_margin

GROUND, PATCH, GRAY, BOX, SPACE = 1.4, 8.6, 3.0, 12.0, 1.2
"""Widths [mm]: paper beside the two patches, a patch, a gray, the box, and what parts them."""
PATCHES = (GROUND, PATCH, PATCH, GROUND, SPACE, GRAY, GRAY, SPACE, BOX, 1.8)
"""From the left, up to the words."""
NARROW = (0.0, 6.0, 6.0, 0.0, 0.8, 2.0, 2.0, 0.8, 9.0, 1.4)
"""The same where the words of a chart would else not fit on its page."""
GRAYS, BOX_PLACE = 5, len(PATCHES) - 2
"""Places of the first gray and of the box among the patches."""
KEY_HIGH = 4.0
"""Of the patches that show how to read a row [mm]."""
STEP, STEP_GAP = 6.0, 1.6
"""Width of a step's patch, and from it to its words [mm]."""
HEIGHTS = (24.0, 21.0, 18.5, 16.5, 15.0, 14.0, 12.0)
"""Of a row [mm], the largest at which a chart is one page; a broad nib needs the least."""
_Fit: TypeAlias = tuple[float, bool, tuple[float, ...]]
"""Least height of a row [mm], whether passages stay whole, and the widths of the patches."""
BROKEN: _Fit = (HEIGHTS[-1], False, PATCHES)
FITS: tuple[_Fit, ...] = (
    *((height, True, PATCHES) for height in HEIGHTS),
    BROKEN,
    *((HEIGHTS[-1], whole, NARROW) for whole in (True, False)),
)
"""In the order they are tried; the first that makes one page is taken."""
MOST_ON_A_PAGE = 40
"""Colors up to which one page is tried for."""
PAD = 0.4 * MM
"""Above and below the words of a row [points]."""
STROKES = (26.0, 15.0)
"""Width and height of a recipe's drawn strokes [mm]."""
TICK = 3.2
"""Side of the box to tick on the supply list [mm]."""
TITLE, HEADING = style(14, bold=True), style(10.5, bold=True)
NAME, WORDS = style(10, bold=True, after=0.4), style(10)
OFF, PLAIN = style(8.6, bold=True), style(8.6)
BARE = "Leave the paper bare"
"""What to do where no step is needed."""


def write_chart_pdf(chart: Chart, *, page: str = "A4", details: bool = False) -> bytes:
    """Write a chart as a PDF file, the same bytes for the same chart.

    Its first form is one page where the colors fit on one; numbers, alternatives, doubts and
    supplies follow behind where details are asked for. Raises ValueError for a page that isn't in
    `layout.PAGES`.
    """
    if page not in PAGES:
        raise ValueError(f"page {page!r}: allowed are {', '.join(PAGES)}")
    rows = entries(chart)
    told = headings.invented(chart.notes), f"{chart.kit} on {chart.paper.name}"

    def written(fit: _Fit, most: float = inf, *, behind: bool = False) -> bytes:
        return layout.write_pages(
            chart.title,
            lambda: _opening(chart, rows),
            lambda: [*_table(chart, rows, page, fit), *(_behind(chart, rows) if behind else ())],
            subject=headings.lead(chart),
            page=PAGES[page],
            warning=f"{layout.SHOWN_COLORS} {layout.CARE}",
            source=" · ".join(filter(None, told)),
            columns=2,
            most=most,
        )

    for fit in FITS if len(rows) <= MOST_ON_A_PAGE else ():
        if one_page := written(fit, 1):
            return written(fit, behind=True) if details else one_page
    return written(BROKEN, behind=details)


def _opening(chart: Chart, rows: Sequence[Entry]) -> list[Flowable]:
    """Set the title, what was asked of what, and how to read a row."""
    source = f"with “{chart.kit}”, on {chart.paper.name}"
    take_out, needed = headings.to_take_out(chart)
    return [
        text(chart.title, TITLE, more=source, outline=chart.title),
        *([text(take_out, OFF, more=needed)] if needed else []),
        text(headings.reading(chart) if rows else headings.NO_ROWS, PLAIN),
        Spacer(0, 1.0 * MM),
        *([_key(headings.sample(rows)), Spacer(0, 1.0 * MM)] if rows else []),
    ]


def _key(row: Entry) -> Table:
    """Set the patches of one row with what each of them is."""
    colors, grays = (row.wanted.fill, row.predicted.fill), (row.wanted.gray, row.predicted.gray)
    own = headings.own_fill(row.layers[0]) if row.layers else "#ffffff"
    high, keys = KEY_HIGH, headings.KEYS
    cells: list[tuple[Flowable, float]] = [
        (patches(colors, 19.0, high, keys=keys[:2]), 42.0),
        (patches(grays, 25.0, high, keys=keys[2:4]), 54.0),
        (patches(("#ffffff",), 24.0, high, keys=keys[4:5]), 27.0),
        (patches((own,), 7.0, high), 8.6),
        (text(keys[5], KEY), 46.0),
    ]
    return in_lines([[[cell] for cell, _ in cells]], [wide for _, wide in cells], FLUSH)


def _table(chart: Chart, rows: Sequence[Entry], page: str, fit: _Fit) -> Iterator[Flowable]:
    """Set each passage as a band from light to dark."""
    ground = headings.paper_shade(chart).fill
    groups = headings.passages(tuple(rows))
    for passage, members in groups:
        title = headings.passage_title(passage, alone=len(groups) == 1)
        band = _band(title, members, ground, page, fit)
        yield KeepTogether([band]) if fit[1] else band
        yield Spacer(0, 1.2 * MM)


def _band(title: str, members: Sequence[Entry], ground: str, page: str, fit: _Fit) -> Table:
    """Set a passage: patches touch from row to row, so that each column is a scale."""
    height, _, patches = fit
    measure = (layout.text_area(PAGES[page]).width - layout.GUTTER) / 2
    widths = [*patches, measure - sum(patches)]
    head = [[text(title, HEADING, outline=title)]] if title else []
    cells = [[""] * len(patches) + [_words(row, widths[-1])] for row in members]
    looks = [
        *FLUSH,
        ("TOPPADDING", (0, 0), (-1, -1), PAD),
        ("BOTTOMPADDING", (0, 0), (-1, -1), PAD),
    ]
    looks += [("SPAN", (0, 0), (-1, 0))] if head else []
    for number, row in enumerate(members, start=len(head)):
        looks += _row_looks(row, number, ground)
    for left, right in ((1, 2), (GRAYS, GRAYS + 1), (BOX_PLACE, BOX_PLACE)):
        looks.append(("BOX", (left, len(head)), (right, -1), 0.1 * MM, LINE))
        looks.append(("LINEBELOW", (left, "splitlast"), (right, "splitlast"), 0.1 * MM, LINE))
    lines: list[list[Any]] = [*(line + [""] * len(patches) for line in head), *cells]
    high = [0.0] * len(head) + [height * MM] * len(members)
    return in_lines(lines, widths, looks, minRowHeights=high, repeatRows=len(head))


def _row_looks(row: Entry, number: int, ground: str) -> Iterator[tuple[Any, ...]]:
    """Yield what fills the cells of a row, from the paper's edge to the empty box."""
    fills = (ground, row.wanted.fill, row.predicted.fill, ground)
    grays = (row.wanted.gray, row.predicted.gray)
    filled = [*enumerate(fills), *enumerate(grays, start=GRAYS), (BOX_PLACE, "#ffffff")]
    for place, fill in filled:
        yield "BACKGROUND", (place, number), (place, number), HexColor(fill)
    yield "BOX", (BOX_PLACE, number), (BOX_PLACE, number), 0.2 * MM, LINE
    yield "LINEABOVE", (BOX_PLACE + 2, number), (-1, number), 0.15 * MM, LINE


def _words(row: Entry, measure: float) -> list[Flowable]:
    """Set a color's name, its steps in order, and what stays off."""
    steps = [["", text(words, WORDS)] for words, _ in row.layers]
    looks = [*FLUSH, ("LEFTPADDING", (1, 0), (1, -1), STEP_GAP * MM)]
    for number, layer in enumerate(row.layers):
        place = (0, number), (0, number)
        looks.append(("BACKGROUND", *place, HexColor(headings.own_fill(layer))))
        looks.append(("BOX", *place, 0.15 * MM, LINE))
    wide = [STEP * MM, (measure - STEP) * MM]
    laid = Table(steps, wide, style=looks, hAlign="LEFT") if steps else text(f"{BARE}.", WORDS)
    name = text(f"{row.number}. {row.name}{',' * bool(row.role)}", NAME, more=row.role)
    return [name, laid, *([text(row.in_short, OFF)] if row.in_short else [])]


class Strokes(Flowable):  # type: ignore[misc]  # the PDF library has no types
    """A recipe's overlapping strokes."""

    def __init__(self, layers: Sequence[Layer]) -> None:
        super().__init__()
        self.width, self.height = (side * MM for side in STROKES)
        self._areas = tuple(headings.stroke_areas(layers))

    def draw(self) -> None:
        """Draw them on the paper's white."""
        self.canv.setStrokeColor(HexColor(layout.PENCIL))
        self.canv.setLineWidth(0.1 * MM)
        for (x, y, wide, high), fill in self._areas:
            self.canv.setFillColor(HexColor(fill))
            corner = x * self.width, (1.0 - y - high) * self.height
            self.canv.rect(*corner, wide * self.width, high * self.height, fill=1)


def _behind(chart: Chart, rows: Sequence[Entry]) -> list[Flowable]:
    """Set what one can leave unprinted: numbers, alternatives, doubts, supplies, cautions."""
    facts = (headings.lead(chart), headings.tolerance(chart), headings.counts(tuple(rows)))
    notes = headings.whole_notes(chart)
    asked = headings.next_swatches(chart)
    needed = []
    for called, told in (headings.supply_words(*supply) for supply in supplies(chart.matches)):
        tick = Table([[""]], TICK * MM, TICK * MM, style=[("BOX", (0, 0), (0, 0), 0.2 * MM, LINE)])
        needed.append(_beside(tick, TICK + 2.0, [text(called, NAME, more=told)]))
    return [
        NextPageTemplate("1"),
        PageBreak(),
        text("Behind this chart", TITLE, outline="Behind this chart"),
        *(text(fact, PLAIN) for fact in facts),
        *_listing("Holds for every color", notes),
        *(part for row in rows for part in (Spacer(0, 2.5 * MM), _numbers(row))),
        *_kept("What you need", needed),
        *_listing("Swatches that would make this surer", asked),
        *_listing(layout.HEADING_CAUTIONS, layout.CAUTIONS),
    ]


def _listing(title: str, texts: Sequence[str]) -> list[Flowable]:
    """Set a short list that stays on one page."""
    return _kept(title, [text(f"– {said}", PLAIN) for said in texts], most=len(texts))


def _kept(title: str, parts: Sequence[Flowable], *, most: int = 1) -> list[Flowable]:
    """Set a heading on one page with the first of what it is of; nothing where there is nothing."""
    if not parts:
        return []
    heading = text(title, style(12, bold=True, after=1.0), outline=title)
    return [KeepTogether([Spacer(0, 3 * MM), heading, *parts[:most]]), *parts[most:]]


def _numbers(row: Entry) -> KeepTogether:
    """Set what is known of a row beside its drawn strokes."""
    head = text(f"{row.number}. {row.name}", NAME, more=f"{row.role} – {row.verdict}".lstrip(" –"))
    texts = [
        text(f"{row.recipe}.", PLAIN),
        text("Wanted:", OFF, more=f"{row.wanted.words}, {row.wanted.numbers}"),
        text("Predicted:", OFF, more=f"{row.predicted.words}, {row.predicted.numbers}"),
        text(row.off, OFF, more=f"{row.sure} {row.chance}"),
        *([text("Mud:", OFF, more=row.mud)] if row.mud else []),
        *(text(said, PLAIN) for said in (row.single, *(f"Or {o}" for o in row.others)) if said),
        *(text(note, PLAIN) for note in row.notes),
    ]
    return KeepTogether([head, _beside(Strokes(row.layers), STROKES[0] + 4.0, texts)])


def _beside(left: Flowable, wide: float, texts: Sequence[Flowable]) -> Table:
    """Set texts to the right of something so wide [mm]."""
    measure = layout.text_area(PAGES["A4"]).width - wide
    return in_lines([[left, list(texts)]], [wide, measure], FLUSH)


def chart_html(chart: Chart, *, details: bool = False) -> str:
    """Write a chart as one HTML page, the same text for the same chart.

    What the PDF has behind its first form is folded away under each color, or unfolded with
    details, and not printed. The page reads on a phone 360 pixels wide and prints as the PDF does.
    """
    rows = entries(chart)
    groups = headings.passages(rows)
    titled = [(headings.passage_title(p, alone=len(groups) == 1), group) for p, group in groups]
    return layout.template("chart").render(
        chart=chart,
        rows=rows,
        groups=titled,
        words=headings,
        supplies=supplies(chart.matches),
        paper=headings.paper_shade(chart),
        bare=BARE,
        details=details,
    )


COLUMNS = (
    *("number", "passage", "role", "name", "verdict", "off", "recipe", "instructions"),
    *("acceptance", "delta_e", "delta_e_low", "delta_e_high", "value_off", "value_margin"),
    *("hue_off", "chroma_off", "wanted_L", "wanted_a", "wanted_b", "wanted_value", "wanted_name"),
    *("predicted_L", "predicted_a", "predicted_b", "predicted_value", "predicted_name"),
    *("single", "single_delta_e", "mud", "cleaner", "tolerance", "kit", "paper", "notes"),
)


def chart_csv(chart: Chart) -> str:
    """Write a chart as CSV (RFC 4180), one line for each match, in order.

    Recipes are in the form one types, with ranges where the chart uses more than one. Numbers have
    the digits that are known: CIELAB, values and ΔE one after the point, chances two. Text that a
    spreadsheet would take for a formula gets an apostrophe before it.
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
        "verdict": best.verdict,
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
