"""A target for a sketchbook as a PDF in exact millimetres, and how to use it."""

from laydown.documents.print.layout import PENCIL, Pen
from laydown.documents.print.sheets import draw_marker
from laydown.documents.print.typefaces import clip, printable
from laydown.sheet.page import CellBox
from laydown.sheet.sheet import Sheet
from laydown.sheet.target import GRAYS, OUTLINE, PLACES, target_grays, target_ids, target_marks

CORNER = (30.0, 40.0)
"""Where it stands on the page [mm]."""
HOW_TO_USE = (
    "Cut this out on its line and tape it flat into your sketchbook, on the page that you color.",
    "Color patches beside it in rows, 10 mm or more each way, a finger's width from each other,",
    "from the target and from the page's edge. Write names in thin pencil, or not at all.",
    "Let it dry, then photograph the whole page from above, in even light.",
)


def write_target_pdf(sheet: Sheet) -> bytes:
    """Write a target, the same bytes for the same one."""
    size = (sheet.size.width, sheet.size.height)
    pen = Pen.on_file(size, title=printable(sheet.title), subject=f"Target {sheet.number}")
    pen.bookmark("target", "Target to cut out", 0.0)
    pen.text(CORNER[0], CORNER[1] - 12, clip(sheet.title, 12.0, 150.0, bold=True), 12.0, bold=True)
    pen.box(_there(OUTLINE), line=PENCIL)
    marks = zip(target_ids(sheet.number), (target_marks()[place] for place in PLACES), strict=True)
    for marker, box in marks:
        draw_marker(pen, marker, _there(box))
    for level, box in zip(GRAYS, target_grays(), strict=True):
        pen.box(_there(box), fill=f"#{level:02x}{level:02x}{level:02x}", line=PENCIL)
    left, wide = CORNER[0] + 17.0, 30.0
    pen.text(left, CORNER[1] + 7.5, f"Target {sheet.number}", 9.0, bold=True)
    pen.text(left, CORNER[1] + 12.0, clip(sheet.paper, 8.0, wide), 8.0, color=PENCIL)
    pen.text(left, CORNER[1] + 33.0, "Name", 8.0, color=PENCIL)
    pen.box(_there(CellBox(17.0, 39.0, wide, 0.1)), fill=PENCIL)
    for line, words in enumerate(HOW_TO_USE):
        pen.text(CORNER[0], CORNER[1] + OUTLINE.height + 10.0 + 5.0 * line, words, 10.0)
    pen.next_page()
    return pen.finish()


def _there(box: CellBox) -> CellBox:
    return CellBox(box.left + CORNER[0], box.top + CORNER[1], box.width, box.height)
