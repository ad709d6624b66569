"""The list that goes with a printed plan: pictures of it, a row for each color, what is lost."""

from collections.abc import Iterator
from dataclasses import dataclass

import cv2
import numpy as np

from laydown.color.screen import screen_pixels
from laydown.documents import plan_rows
from laydown.documents.cautions import CAUTIONS
from laydown.documents.cautions import HEADING as CAUTIONS_HEADING
from laydown.documents.chart_rows import GRAY_CARD, SIGN
from laydown.documents.chart_sections import listing, section, supply_piece
from laydown.documents.layout import Block, Box
from laydown.documents.pen import PENCIL, Pen
from laydown.documents.pieces import (
    LABEL,
    NAME,
    PLAIN,
    QUIET,
    STRONG,
    TITLE,
    Lines,
    Piece,
    broken,
    column,
    text_piece,
    total,
)
from laydown.documents.plan_rows import PlanRow
from laydown.documents.typefaces import clip
from laydown.plan.picture import PicturePlan
from laydown.plan.supplies import supplies

VIEWS_ACROSS = 3
VIEWS_APART = 4.0
FINE = 6.0
"""Pixels of a small picture [per mm]."""
PATCHES = Box(9.0, 0.0, 33.0, 15.0)
"""The gray card with the patches of a row, from the row's corner [mm]."""
EDGE = 2.0
"""Of the card left round the patches [mm]."""
PAIR = 18.0
"""Width of the wanted color and the recipe's together [mm]."""
GRAY = 9.0
"""Width of the gray of the value [mm]."""
TRIAL = Box(44.5, 0.0, 20.0, 15.0)
"""The box to color in [mm]."""
WORDS = 68.0
"""Where the words begin [mm]."""
TITLE_LINES = 3


def legend(plan: PicturePlan, measure: float, *, warnings: tuple[str, ...]) -> Iterator[Piece]:
    """Set the list that goes with a plan.

    Parameters
    ----------
    plan
        With no kit or one.
    measure
        Width of the text area [mm].
    warnings
        What is to be said of the way it is printed.
    """
    yield text_piece([broken(plan.title, TITLE, measure, most=TITLE_LINES)], after=1.5)
    told = [plan_rows.lead(plan), plan_rows.size_words(plan), *warnings]
    yield text_piece([broken(line, PLAIN, measure) for line in told], after=2.0)
    yield from _views(plan, measure)
    yield text_piece([broken(plan_rows.READING, QUIET, measure)], after=2.5)
    yield _columns(measure)
    rows = plan_rows.plan_rows(plan)
    yield from (_row(row, measure) for row in rows)
    yield from _after(plan, measure)


def _after(plan: PicturePlan, measure: float) -> Iterator[Piece]:
    lost = plan_rows.losses(plan)
    if lost:
        yield from section("What is lost", [listing(lost, measure)], measure)
    if plan.kits:
        needed = [supply_piece(s, measure) for s in supplies(plan.kits[0].matches)]
        yield from section("What you need", needed, measure)
    notes = plan_rows.notes(plan)
    if notes:
        yield from section("How it was planned", [listing((n,), measure) for n in notes], measure)
    yield from section(CAUTIONS_HEADING, [listing(CAUTIONS, measure)], measure)


@dataclass(frozen=True, slots=True, eq=False)
class _View:
    title: str
    pixels: "np.ndarray[tuple[int, ...], np.dtype[np.uint8]]"
    width: float
    height: float


def _views(plan: PicturePlan, measure: float) -> Iterator[Piece]:
    """Set small pictures: what each is in color above what it is in values."""
    wide = (measure - VIEWS_APART * (VIEWS_ACROSS - 1)) / VIEWS_ACROSS
    high = wide * plan.values.height / plan.values.width
    if high > wide:
        wide, high = wide * wide / high, wide
    size = (max(1, round(wide * FINE)), max(1, round(high * FINE)))
    views = [
        _View(title, cv2.resize(screen_pixels(lab), size, interpolation=cv2.INTER_AREA), wide, high)
        for title, lab in plan_rows.views(plan)
    ]
    yield from (_view_row(row) for row in (views[::2], views[1::2]))


def _view_row(views: list[_View]) -> Piece:
    def draw(pen: Pen, x: float, y: float, again: bool) -> None:
        for view in views:
            pen.picture(Box(x, y, view.width, view.height), view.pixels)
            title = clip(view.title, LABEL.size, view.width)
            pen.text(x, y + view.height + LABEL.leading, title, LABEL.size)
            x += view.width + VIEWS_APART

    return Piece(Block(views[0].height + LABEL.leading + 3.0), draw)


def _columns(measure: float) -> Piece:
    def draw(pen: Pen, x: float, y: float, again: bool) -> None:
        base = y + LABEL.leading
        for left, told in (
            (PATCHES.x + EDGE, "color"),
            (PATCHES.x + EDGE + PAIR + EDGE, "value"),
            (TRIAL.x, "color in here"),
        ):
            pen.text(x + left, base, told, LABEL.size, color=PENCIL)
        pen.rule(x, base + 1.2, measure)

    return Piece(Block(LABEL.leading + 3.0, 0, heading=True), draw)


def _row(row: PlanRow, measure: float) -> Piece:
    room = measure - WORDS
    verdict = str(row.entry.verdict) if row.entry else ""
    lines = [broken(row.wanted.words, NAME, room), *_told(row, room)]
    judged = broken(verdict, STRONG, room - 3 * SIGN) if verdict else None
    text = total(lines) + (judged.height if judged else 0.0)
    height = max(PATCHES.height, text) + 3.2

    def draw(pen: Pen, x: float, y: float, again: bool) -> None:
        pen.text(x, y + 5.5, str(row.number), TITLE.size * 0.75, bold=True)
        _patches(pen, row, x, y)
        top = lines[0].draw(pen, x + WORDS, y)
        if judged and row.entry:
            middle = top + STRONG.leading * 0.5
            pen.sign(x + WORDS + SIGN, middle, SIGN, row.entry.verdict)
            top = judged.draw(pen, x + WORDS + 3 * SIGN, top)
        column(lines[1:], pen, x + WORDS, top)
        pen.rule(x, y + height - 1.6, measure)

    return Piece(Block(height, 0), draw)


def _told(row: PlanRow, room: float) -> list[Lines]:
    """Break what is said of a color below its name."""
    facts = f"{row.facts}. Wanted: {row.wanted.numbers}."
    if row.entry is None:
        return [broken(facts, PLAIN, room)]
    entry = row.entry
    told = [broken(step, STRONG, room) for step in entry.instructions or (entry.recipe,)]
    told.append(broken(f"{entry.off} {entry.sure}", PLAIN, room))
    told.append(broken(facts, QUIET, room))
    if entry.mud:
        told.append(broken(f"Mud: {entry.mud}", STRONG, room))
    return told


def _patches(pen: Pen, row: PlanRow, x: float, y: float) -> None:
    card = PATCHES.moved(x, y)
    pen.box(card, fill=GRAY_CARD)
    high, top = card.height - 2 * EDGE, card.y + EDGE
    wide = PAIR / len(row.shown)
    for place, fill in enumerate(row.shown):
        pen.box(Box(card.x + EDGE + place * wide, top, wide, high), fill=fill)
    pen.box(Box(card.x + 2 * EDGE + PAIR, top, GRAY, high), fill=row.gray)
    pen.dashed(TRIAL.moved(x, y))
