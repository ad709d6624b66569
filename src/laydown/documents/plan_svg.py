"""A picture's plan as SVG in true millimetres: a group for each region, and all words as text."""

from collections.abc import Iterator
from html import escape

from laydown.color.arrays import FloatArray
from laydown.documents import plan_rows
from laydown.documents.cautions import CAUTIONS, SHOWN_COLORS
from laydown.documents.cautions import HEADING as CAUTIONS_HEADING
from laydown.documents.outlines import rings
from laydown.documents.pen import INK, PENCIL
from laydown.documents.plan_drawing import LEADER, LINE, POINT, Drawing
from laydown.documents.plan_numbers import CAP, PlacedNumber, leader
from laydown.documents.plan_rows import PlanRow
from laydown.documents.typefaces import MM, wrap
from laydown.plan.picture import PicturePlan

EDGE = 8.0
"""Round the picture and its list [mm]."""
ROW = 9.0
"""Height of a color in the list [mm]."""
WORDS = 49.0
"""Where its words begin [mm]."""
TEXT, SMALL = 3.2, 2.6
"""Type sizes [mm]."""
ROOM = 0.9
"""Share of the width that lines fill by our typeface: that of the reader's may run wider."""


def plan_svg(plan: PicturePlan, drawing: Drawing) -> str:
    """Draw a plan with its list below.

    Parameters
    ----------
    plan
        With no kit, or with one whose recipes are listed.
    drawing
        Of the same plan.

    Returns
    -------
    str
        A whole file, without style, script or link. Each region is a group ``region-N`` of its
        own, white, closed, that shares its borders with its neighbors.

    Examples
    --------
    ``Path("plan.svg").write_text(plan_svg(plan, drawing), encoding="utf-8")``
    """
    box = drawing.page.box
    listed, bottom = _list(plan, box.width, box.height + EDGE)
    wide, high = box.width + 2 * EDGE, bottom + 2 * EDGE
    return "\n".join(
        [
            (
                f'<svg xmlns="http://www.w3.org/2000/svg" width="{wide:.2f}mm" '
                f'height="{high:.2f}mm" viewBox="{-EDGE:g} {-EDGE:g} {wide:.2f} {high:.2f}" '
                f'role="img" aria-label="{escape(plan.title, quote=True)}" '
                f'font-family="sans-serif" fill="{INK}">'
            ),
            f"<title>{escape(plan.title)}</title>",
            f"<desc>{escape(plan_rows.lead(plan))}</desc>",
            *drawing_groups(plan, drawing),
            '<g id="list">',
            *listed,
            "</g>",
            "</svg>\n",
        ]
    )


def drawing_groups(plan: PicturePlan, drawing: Drawing) -> Iterator[str]:
    """Draw regions, outlines and numbers, without the file around them."""
    names = {str(row.number): row for row in plan_rows.plan_rows(plan)}
    texts = plan_rows.numbers_of(plan)
    yield '<g id="regions" fill="#ffffff">'
    for region, outline in rings(drawing.borders).items():
        row = names[texts[region]]
        told = f"Region {region}: {_told(row)}"
        path = " ".join(_path(ring) + "Z" for ring in outline)
        yield f'<g id="region-{region}" data-number="{row.number}"><title>{escape(told)}</title>'
        yield f'<path fill-rule="evenodd" d="{path}"/></g>'
    yield "</g>"
    yield (
        f'<g id="outlines" fill="none" stroke="{PENCIL}" stroke-width="{LINE:g}" '
        'stroke-linejoin="round" stroke-linecap="round">'
    )
    yield from (f'<path d="{_path(border.points)}"/>' for border in drawing.borders)
    yield "</g>"
    yield '<g id="numbers" text-anchor="middle">'
    yield from (part for number in drawing.numbers for part in _number(number))
    yield "</g>"


def _path(points: FloatArray) -> str:
    return "M" + "L".join(f"{x:.2f} {y:.2f}" for x, y in points.tolist())


def _number(number: PlacedNumber) -> Iterator[str]:
    line = leader(number)
    if line and number.point:
        x_1, y_1, x_2, y_2 = line
        yield (
            f'<line x1="{x_1:.2f}" y1="{y_1:.2f}" x2="{x_2:.2f}" y2="{y_2:.2f}" '
            f'stroke="{PENCIL}" stroke-width="{LEADER:g}"/>'
        )
        yield f'<circle cx="{x_2:.2f}" cy="{y_2:.2f}" r="{POINT / 2:g}" fill="{PENCIL}"/>'
    size = number.size / MM
    base = number.y + CAP * size / 2
    yield f'<text x="{number.x:.2f}" y="{base:.2f}" font-size="{size:.2f}">{number.text}</text>'


def _told(row: PlanRow) -> str:
    recipe = f": {row.entry.recipe}" if row.entry else ""
    return f"{row.number}, {row.wanted.words}{recipe}"


def _list(plan: PicturePlan, measure: float, top: float) -> tuple[list[str], float]:
    """List the colors below the picture, then what holds for all of them; tell where it ends."""
    parts: list[str] = []
    for row in plan_rows.plan_rows(plan):
        parts += _patches(row, top)
        told = _lines(row, measure - WORDS)
        for place, (text, size) in enumerate(told):
            parts.append(_text(WORDS, top + 3.2 + 3.6 * place, text, size))
        top += max(ROW, 3.6 * len(told) + 2.0)
    for said in _said(plan):
        for text in wrap(said, SMALL * MM, measure * ROOM):
            top += 1.4 * SMALL
            parts.append(_text(0.0, top, text, SMALL))
        top += 0.6
    return parts, top


def _lines(row: PlanRow, measure: float) -> list[tuple[str, float]]:
    """Break what is said of a color, with its type size; other typefaces may run wider."""
    judged = f" {str(row.entry.verdict).capitalize()}: {row.entry.off}" if row.entry else ""
    told = f"{row.wanted.words}, {row.wanted.numbers}.{judged} {row.facts}."
    recipe = ((row.entry.recipe, TEXT),) if row.entry else ()
    return [
        (line, size)
        for text, size in (*recipe, (told, SMALL))
        for line in wrap(text, size * MM, measure * ROOM)
    ]


def _text(x: float, y: float, text: str, size: float) -> str:
    return f'<text x="{x:g}" y="{y:.2f}" font-size="{size:g}">{escape(text)}</text>'


def _patches(row: PlanRow, top: float) -> Iterator[str]:
    base, high = top + 4.8, ROW - 2.0
    yield f'<text x="0" y="{base:.2f}" font-size="4.4" font-weight="bold">{row.number}</text>'
    wide = 14.0 / len(row.shown)
    for place, fill in enumerate(row.shown):
        yield _rect(9.0 + place * wide, top, wide, high, fill)
    yield _rect(24.0, top, 7.0, high, row.gray)
    yield (
        f'<rect x="32.5" y="{top:.2f}" width="14" height="{high:.2f}" fill="#ffffff" '
        f'stroke="{PENCIL}" stroke-width="0.2" stroke-dasharray="1.2 0.8"/>'
    )


def _rect(x: float, y: float, wide: float, high: float, fill: str) -> str:
    return f'<rect x="{x:.2f}" y="{y:.2f}" width="{wide:.2f}" height="{high:.2f}" fill="{fill}"/>'


def _said(plan: PicturePlan) -> tuple[str, ...]:
    care = f"{CAUTIONS_HEADING}: {CAUTIONS[0]}"
    return (*plan_rows.losses(plan), *plan_rows.notes(plan), SHOWN_COLORS, care, *CAUTIONS[1:])
