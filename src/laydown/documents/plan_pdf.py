"""A picture's plan as PDF: regions with their numbers, a pale outline to color on, and the list."""

from collections.abc import Sequence

import numpy as np

from laydown.documents import headings, plan_rows
from laydown.documents.cautions import SHOWN_COLORS
from laydown.documents.layout import FOOT, HEAD, MARGIN, Box, paginate, text_area
from laydown.documents.outlines import Border
from laydown.documents.pen import INK, PENCIL, Pen
from laydown.documents.pieces import SMALL, broken
from laydown.documents.plan_drawing import (
    LEADER,
    LINE,
    POINT,
    Drawing,
    print_warnings,
)
from laydown.documents.plan_legend import legend
from laydown.documents.plan_numbers import CAP, leader
from laydown.documents.plan_page import DrawingPage
from laydown.documents.typefaces import MM, clip, printable, width
from laydown.plan.picture import PicturePlan

FINE = 0.18
"""Weight of the borders of the pale outline [mm]."""
PALE = "#c9c9c5"
"""Of the outline to color on: it vanishes under color."""


def write_plan_pdf(plan: PicturePlan, drawing: Drawing) -> bytes:
    """Write a plan as a PDF file, the same bytes for the same plan.

    Parameters
    ----------
    plan
        With no kit, or with one whose recipes are listed.
    drawing
        Of the same plan, on the paper to print on.

    Returns
    -------
    bytes
        The numbered drawing, the pale outline, and the list, which takes as many pages as it needs.

    Examples
    --------
    ``Path("plan.pdf").write_bytes(write_plan_pdf(plan, draw_plan(plan, (210.0, 297.0))))``
    """
    pen = Pen(drawing.page.size, title=printable(plan.title), subject=plan_rows.lead(plan))
    pen.bookmark("numbers", "Numbers", 0.0)
    _numbered(pen, drawing)
    _foot(pen, drawing.page, f"{plan.title}: numbers of the colors in the list", plan)
    pen.next_page()
    pen.bookmark("outline", "Pale outline", 0.0)
    pen.lines(_placed(drawing.borders, drawing.page.box), color=PALE, weight=FINE)
    _foot(pen, drawing.page, f"{plan.title}. {plan_rows.TRACE}", plan)
    pen.next_page(drawing.paper)
    _list(pen, plan, drawing)
    return pen.finish()


def _placed(borders: Sequence[Border], box: Box) -> list[np.ndarray]:
    return [border.points + np.array([box.x, box.y]) for border in borders]


def _numbered(pen: Pen, drawing: Drawing) -> None:
    box = drawing.page.box
    pen.lines(_placed(drawing.borders, box), color=PENCIL, weight=LINE)
    for number in drawing.numbers:
        line = leader(number)
        if line and number.point:
            ends = np.array(line).reshape(1, 2, 2) + np.array([box.x, box.y])
            pen.lines(ends, color=PENCIL, weight=LEADER)
            x, y = (v - POINT / 2 for v in number.point)
            pen.box(Box(box.x + x, box.y + y, POINT, POINT), fill=PENCIL)
        left = box.x + number.x - width(number.text, number.size) / 2
        base = box.y + number.y + CAP * number.size / MM / 2
        pen.text(left, base, number.text, number.size, color=INK)


def _foot(pen: Pen, page: DrawingPage, told: str, plan: PicturePlan) -> None:
    base, measure = page.size[1] - 6.0, page.size[0] - 2 * MARGIN
    kits = [plan_rows.kit_words(kit) for kit in plan.kits[:1]]
    said = [headings.INVENTED] if plan_rows.is_invented(plan) else []
    right = " · ".join([*said, *kits])
    room = measure - width(printable(right), SMALL.size) - 4.0
    pen.text(MARGIN, base, clip(told, SMALL.size, room), SMALL.size, color=PENCIL)
    pen.text(page.size[0] - MARGIN, base, right, SMALL.size, color=PENCIL, to_right=True)


def _list(pen: Pen, plan: PicturePlan, drawing: Drawing) -> None:
    area = text_area(drawing.paper)
    pieces = list(legend(plan, area.width, warnings=print_warnings(drawing)))
    places = paginate([piece.block for piece in pieces], area.height)
    last = max(place.page for place in places)
    for sheet in range(last + 1):
        if sheet == 0:
            pen.bookmark("list", "Colors and recipes", 0.0)
        for place in (p for p in places if p.page == sheet):
            pieces[place.block].draw(pen, area.x, area.y + place.y, place.again)
        _list_foot(pen, plan, drawing.paper, f"list, page {sheet + 1} of {last + 1}")
        if sheet > 0:
            title = clip(plan.title, SMALL.size, area.width)
            pen.text(area.x, HEAD - 3.0, title, SMALL.size, color=PENCIL)
        pen.next_page()


def _list_foot(pen: Pen, plan: PicturePlan, paper: tuple[float, float], number: str) -> None:
    measure, base = paper[0] - 2 * MARGIN, paper[1] - FOOT + 5.0
    pen.rule(MARGIN, base - SMALL.leading - 0.6, measure)
    base = broken(SHOWN_COLORS, SMALL, measure, most=2).draw(pen, MARGIN, base - SMALL.leading)
    said = [headings.INVENTED] if plan_rows.is_invented(plan) else []
    said += [plan_rows.kit_words(kit) for kit in plan.kits[:1]]
    line = clip(" · ".join(said), SMALL.size, measure - 30.0)
    base += SMALL.leading * 0.75
    pen.text(MARGIN, base, line, SMALL.size, color=PENCIL)
    pen.text(paper[0] - MARGIN, base, number, SMALL.size, color=PENCIL, to_right=True)
