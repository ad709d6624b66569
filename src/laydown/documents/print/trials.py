"""Trials on pages with room for the real swatch, and how good predictions were."""

from collections.abc import Sequence
from dataclasses import dataclass
from html import escape

from laydown.documents.print.layout import (
    FOOT,
    HEAD,
    MARGIN,
    PAGES,
    PENCIL,
    SHOWN_COLORS,
    SMALL,
    Pen,
    Rectangle,
    text_area,
)
from laydown.documents.print.typefaces import clip, printable, wrap

BLOCK = 50.0
"""Height of a trial on the page [mm]."""
SWATCH = Rectangle(0.0, 7.0, 44.0, 36.0)
"""Room for the real swatch, relative to the block."""
PATCH = Rectangle(47.0, 7.0, 16.0, 17.0)
GRAY = "#7f7f7f"
TITLE_SIZE = 11.0
LINE_SIZE = 9.0
LINE_STEP = 4.4


@dataclass(frozen=True, slots=True)
class TrialBox:
    """A trial on paper.

    Parameters
    ----------
    title
        Its number and recipe.
    lines
        Words below the title.
    obtained, wanted
        Screen colors as ``#rrggbb``; empty for none.
    """

    title: str
    lines: tuple[str, ...]
    obtained: str = ""
    wanted: str = ""


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
    area = text_area(PAGES[page])
    per_page = int((area.height - 8.0) // BLOCK)
    pen = Pen(PAGES[page], title=printable(title), subject="Trials")
    last = max((len(boxes) - 1) // per_page, 0)
    for sheet in range(last + 1):
        for number, box in enumerate(boxes[sheet * per_page : (sheet + 1) * per_page]):
            top = area.y + 8.0 + number * BLOCK
            pen.bookmark(f"trial-{sheet}-{number}", box.title, top)
        pen.text(area.x, HEAD + 3.0, title, 13.0, bold=True)
        for place, box in enumerate(boxes[sheet * per_page : (sheet + 1) * per_page]):
            _draw(pen, box, Rectangle(area.x, area.y + 8.0 + place * BLOCK, area.width, BLOCK))
        _foot(pen, PAGES[page], f"page {sheet + 1} of {last + 1}")
        pen.next_page()
    return pen.finish()


def _draw(pen: Pen, box: TrialBox, where: Rectangle) -> None:
    pen.rule(where.x, where.y, where.width)
    pen.text(where.x, where.y + 5.0, clip(box.title, TITLE_SIZE, where.width), TITLE_SIZE,
             bold=True)  # fmt: skip
    swatch = SWATCH.moved(where.x, where.y)
    pen.dashed(swatch)
    pen.text(swatch.x, swatch.bottom + 3.6, "color here, or glue the real swatch", SMALL.size,
             color=PENCIL)  # fmt: skip
    for row, (name, color) in enumerate((("obtained", box.obtained), ("wanted", box.wanted))):
        if color:
            _patch(pen, PATCH.moved(where.x, where.y + row * 18.0), name, color)
    x = where.x + PATCH.right + 12.0
    lines = [part for line in box.lines for part in wrap(line, LINE_SIZE, where.right - x)]
    for number, line in enumerate(lines[:8]):
        pen.text(x, where.y + 10.5 + number * LINE_STEP, line, LINE_SIZE)


def _patch(pen: Pen, where: Rectangle, name: str, color: str) -> None:
    """Print a color on gray, with its name, since it is never told by its patch alone."""
    pen.box(Rectangle(where.x, where.y, where.width, where.height), fill=GRAY)
    pen.box(
        Rectangle(where.x + 2.0, where.y + 2.0, where.width - 4.0, where.height - 7.0), fill=color
    )
    pen.text(where.x + 1.5, where.bottom - 1.6, name, 6.5, color="#ffffff")


def _foot(pen: Pen, page: tuple[float, float], number: str) -> None:
    base = page[1] - FOOT + 5.0
    pen.rule(MARGIN, base - SMALL.leading - 0.6, page[0] - 2 * MARGIN)
    pen.text(MARGIN, base, SHOWN_COLORS, SMALL.size, color=PENCIL)
    pen.text(page[0] - MARGIN, base + SMALL.leading, number, SMALL.size, color=PENCIL,
             to_right=True)  # fmt: skip


SIDE = 320.0
EDGE = 44.0
INK = "#262624"
LIGHTEST = 10


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
    whole = SIDE + 2 * EDGE
    return "\n".join(
        [
            (
                f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {whole:g} {whole:g}" '
                f'role="img" aria-label="{escape(title, quote=True)}" font-family="sans-serif" '
                f'font-size="11" fill="{INK}">'
            ),
            f"<title>{escape(title)}</title>",
            *_axes(),
            *(line for point in points for line in _point(point)),
            *_legend(),
            "</svg>",
        ]
    )


def _x(value: float) -> float:
    return EDGE + SIDE * value / LIGHTEST


def _y(value: float) -> float:
    return EDGE + SIDE * (1.0 - value / LIGHTEST)


def _line(x_1: float, y_1: float, x_2: float, y_2: float, *, color: str = GRAY) -> str:
    return (
        f'<line x1="{x_1:.1f}" y1="{y_1:.1f}" x2="{x_2:.1f}" y2="{y_2:.1f}" stroke="{color}" '
        'stroke-width="1"/>'
    )


def _axes() -> list[str]:
    lines = [
        (
            f'<rect x="{EDGE:g}" y="{EDGE:g}" width="{SIDE:g}" height="{SIDE:g}" fill="none" '
            f'stroke="{GRAY}"/>'
        ),
        _line(_x(0), _y(0), _x(10), _y(10)),
    ]
    for tick in range(0, LIGHTEST + 1, 2):
        lines.append(f'<text x="{_x(tick):.1f}" y="{_y(0) + 15:.1f}" text-anchor="middle">{tick}'
                     "</text>")  # fmt: skip
        lines.append(f'<text x="{_x(0) - 6:.1f}" y="{_y(tick) + 4:.1f}" text-anchor="end">{tick}'
                     "</text>")  # fmt: skip
    lines.append(f'<text x="{_x(5):.1f}" y="{_y(0) + 32:.1f}" text-anchor="middle">value '
                 "predicted</text>")  # fmt: skip
    lines.append(f'<text x="{EDGE:g}" y="{EDGE - 10:g}">value measured</text>')
    return lines


def _point(point: Point) -> list[str]:
    y = _y(point.measured)
    told = f"trial {point.number}: {point.measured:.1f} measured, {point.before:.1f} by swatches"
    lines = [
        _line(_x(point.before), y, _x(point.after), y),
        f'<circle cx="{_x(point.before):.1f}" cy="{y:.1f}" r="3.5" fill="none" stroke="{GRAY}"/>',
        (
            f'<circle cx="{_x(point.after):.1f}" cy="{y:.1f}" r="3.5">'
            f"<title>{told}, {point.after:.1f} by swatches and other trials</title></circle>"
        ),
    ]
    if point.flagged:
        x = _x(point.after)
        lines.append(_line(x - 6, y - 6, x + 6, y + 6, color=INK))
        lines.append(_line(x - 6, y + 6, x + 6, y - 6, color=INK))
    return lines


def _legend() -> list[str]:
    x, y = EDGE + 12, EDGE + 16
    return [
        f'<circle cx="{x:g}" cy="{y:g}" r="3.5" fill="none" stroke="{GRAY}"/>',
        f'<text x="{x + 9:g}" y="{y + 4:g}">by swatches alone</text>',
        f'<text x="{x - 4:g}" y="{y + 20:g}">● and by all other trials; crossed: set aside</text>',
    ]
