"""Trials on pages with room for the real swatch, and how good predictions were."""

from collections.abc import Sequence
from dataclasses import dataclass
from html import escape

from reportlab.platypus import Flowable, Table

from laydown.documents.print.flow import FLUSH, LINE, Leaflet, in_lines, text, write_pages
from laydown.documents.print.layout import PAGES, SHOWN_COLORS, text_area
from laydown.documents.print.reports import HEADING, KEY, TITLE, WORDS, patches
from laydown.documents.print.typefaces import MM

SWATCH = (44.0, 36.0)
"""Width and height of the room for the real swatch [mm]."""
PATCH = (20.0, 14.0)
"""Of the patches beside it, and what parts them from it and from the words [mm]."""
APART = 4.0
GRAY = "#7f7f7f"


@dataclass(frozen=True, slots=True)
class TrialBox:
    """A trial on paper."""

    title: str
    """Its number and recipe."""
    lines: tuple[str, ...]
    """Words below the title."""
    obtained: str = ""
    wanted: str = ""
    """Screen colors as ``#rrggbb``; empty for none."""


def write_trial_pdf(boxes: Sequence[TrialBox], *, title: str, page: str = "A4") -> bytes:
    """Write trials as a PDF file, the same bytes for the same trials.

    Parameters
    ----------
    boxes
        In the order to print them.
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
        return [in_lines([_beside(box)], widths, looks) for box in boxes]

    return write_pages(leaflet, lambda: [text(title, TITLE, outline=title)], story)[0]


def _beside(box: TrialBox) -> list[list[Flowable]]:
    """Set room for the swatch, the colors with what each is, and the words."""
    shown = {"came out": box.obtained, "wanted": box.wanted}
    known = {name: fill for name, fill in shown.items() if fill}
    looks = [*FLUSH, ("BOX", (0, 0), (-1, -1), 0.15 * MM, LINE)]
    room = Table([[""]], SWATCH[0] * MM, SWATCH[1] * MM, style=looks, hAlign="LEFT")
    colors = [patches(tuple(known.values()), *PATCH, keys=tuple(known))] if known else []
    words = [text(line, WORDS) for line in box.lines]
    return [
        [room, text("color here, or glue the real swatch", KEY)],
        colors,
        [text(box.title, HEADING, outline=box.title), *words],
    ]


SIDE = 320.0
EDGE = 44.0
INK = "#262624"
LIGHTEST = 10
TICKS = range(0, LIGHTEST + 1, 2)


@dataclass(frozen=True, slots=True)
class Point:
    """A trial: its number, and values from 0 black to 10 white."""

    number: int
    measured: float
    before: float
    after: float
    flagged: bool


def calibration_svg(points: Sequence[Point], *, title: str) -> str:
    """Draw a plot: a ring is what swatches alone led to expect, a dot what was learned besides.

    Parameters
    ----------
    points
        One a trial; those set aside are crossed.
    title
        Said in words for whoever does not see it.

    Returns
    -------
    str
        An ``<svg>`` element without any style attribute.

    Examples
    --------
    >>> calibration_svg([Point(1, 5.0, 4.0, 4.9, False)], title="Mine").count("<circle")
    3
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
            *(line for point in points for line in _point(point)),
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


def _point(point: Point) -> list[str]:
    x, y = _x(point.after), _y(point.measured)
    told = f"trial {point.number}: {point.measured:.1f} measured, {point.before:.1f} by swatches"
    lines = [
        _line(_x(point.before), y, x, y),
        _ring(_x(point.before), y),
        (
            f'<circle cx="{x:.1f}" cy="{y:.1f}" r="3.5">'
            f"<title>{told}, {point.after:.1f} by swatches and other trials</title></circle>"
        ),
    ]
    if point.flagged:
        lines += [_line(x - 6, y - s, x + 6, y + s, color=INK) for s in (6, -6)]
    return lines
