"""Trials on pages with room for the real swatch, and how good predictions were."""

from collections.abc import Sequence
from html import escape

from reportlab.platypus import Flowable, Table

from laydown.color.value import value_from_lab
from laydown.documents.print.flow import FLUSH, LINE, Leaflet, in_lines, text, write_pages
from laydown.documents.print.layout import INK, PAGES, SHOWN_COLORS, text_area
from laydown.documents.print.reports import HEADING, KEY, TITLE, WORDS, ReportRow, patches
from laydown.documents.print.typefaces import MM
from laydown.plan.notebook import Compared

SWATCH = (44.0, 36.0)
"""Width and height of the room for the real swatch [mm]."""
PATCH = (20.0, 14.0)
"""Of the patches beside it, and what parts them from it and from the words [mm]."""
APART = 4.0
GRAY = "#7f7f7f"


def write_trial_pdf(trials: Sequence[ReportRow], *, title: str, page: str = "A4") -> bytes:
    """Write trials as a PDF file, the same bytes for the same trials.

    Parameters
    ----------
    trials
        In the order to print them: number and recipe, lines of text, and patches with their keys.
    title
        Of the pages.
    page
        A name in `layout.PAGES`.

    Raises
    ------
    ValueError
        For a page that isn't known.
    """
    if page not in PAGES:
        raise ValueError(f"page {page!r}: allowed are {', '.join(PAGES)}")
    measure = text_area(PAGES[page]).width
    leaflet = Leaflet(title, "Trials", PAGES[page], SHOWN_COLORS)
    widths = [SWATCH[0] + APART, 2 * PATCH[0] + APART]
    widths += [measure - sum(widths)]
    looks = [*FLUSH, ("LINEABOVE", (0, 0), (-1, -1), 0.15 * MM, LINE)]
    looks += [(f"{side}PADDING", (0, 0), (-1, -1), 2 * MM) for side in ("TOP", "BOTTOM")]

    def story() -> list[Flowable]:
        return [in_lines([_beside(trial)], widths, looks) for trial in trials]

    return write_pages(leaflet, lambda: [text(title, TITLE, outline=title)], story)[0]


def _beside(trial: ReportRow) -> list[list[Flowable]]:
    """Set room for the swatch, the colors with what each is, and the words."""
    looks = [*FLUSH, ("BOX", (0, 0), (-1, -1), 0.15 * MM, LINE)]
    room = Table([[""]], SWATCH[0] * MM, SWATCH[1] * MM, style=looks, hAlign="LEFT")
    words = [text(line, WORDS) for line in trial.text.splitlines()]
    return [
        [room, text("color here, or glue the real swatch", KEY)],
        [patches(trial.patches, *PATCH, keys=trial.keys)],
        [text(trial.head, HEADING, outline=trial.head), *words],
    ]


SIDE = 320.0
EDGE = 44.0
LIGHTEST = 10
TICKS = range(0, LIGHTEST + 1, 2)


def calibration_svg(trials: Sequence[Compared], *, title: str) -> str:
    """Draw a plot: a ring is what swatches alone led to expect, a dot what was learned besides.

    Parameters
    ----------
    trials
        Against their predictions; those set aside are crossed.
    title
        Said in words for whoever does not see it.

    Returns
    -------
    str
        An ``<svg>`` element without any style attribute.

    Examples
    --------
    >>> calibration_svg([], title="Mine").count("<circle")
    1
    """
    whole, x, y = SIDE + 2 * EDGE, EDGE + 12, EDGE + 16
    return "\n".join(
        [
            (
                f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {whole:g} {whole:g}" '
                f'role="img" aria-label="{escape(title, quote=True)}" font-family="sans-serif" '
                f'font-size="11" fill="{INK}">'
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
        lines += [_line(x - 6, y - s, x + 6, y + s, color=INK) for s in (6, -6)]
    return lines
