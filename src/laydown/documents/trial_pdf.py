"""Trials on printed pages: printed patch, words and numbers, and room for the real swatch."""

from collections.abc import Sequence
from dataclasses import dataclass

from laydown.documents.cautions import SHOWN_COLORS
from laydown.documents.layout import FOOT, HEAD, MARGIN, PAGES, Box, text_area
from laydown.documents.pen import PENCIL, Pen
from laydown.documents.pieces import SMALL
from laydown.documents.typefaces import clip, printable, wrap

BLOCK = 50.0
"""Height of a trial on the page [mm]."""
SWATCH = Box(0.0, 7.0, 44.0, 36.0)
"""Room for the real swatch, relative to the block."""
PATCH = Box(47.0, 7.0, 16.0, 17.0)
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
        pen.text(area.x, HEAD + 3.0, title, 13.0, bold=True)
        for place, box in enumerate(boxes[sheet * per_page : (sheet + 1) * per_page]):
            _draw(pen, box, Box(area.x, area.y + 8.0 + place * BLOCK, area.width, BLOCK))
        _foot(pen, PAGES[page], f"page {sheet + 1} of {last + 1}")
        pen.next_page()
    return pen.finish()


def _draw(pen: Pen, box: TrialBox, where: Box) -> None:
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


def _patch(pen: Pen, where: Box, name: str, color: str) -> None:
    """Print a color on gray, with its name, since it is never told by its patch alone."""
    pen.box(Box(where.x, where.y, where.width, where.height), fill=GRAY)
    pen.box(Box(where.x + 2.0, where.y + 2.0, where.width - 4.0, where.height - 7.0), fill=color)
    pen.text(where.x + 1.5, where.bottom - 1.6, name, 6.5, color="#ffffff")


def _foot(pen: Pen, page: tuple[float, float], number: str) -> None:
    base = page[1] - FOOT + 5.0
    pen.rule(MARGIN, base - SMALL.leading - 0.6, page[0] - 2 * MARGIN)
    pen.text(MARGIN, base, SHOWN_COLORS, SMALL.size, color=PENCIL)
    pen.text(page[0] - MARGIN, base + SMALL.leading, number, SMALL.size, color=PENCIL,
             to_right=True)  # fmt: skip
