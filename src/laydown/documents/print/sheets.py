"""A sheet of cells as a PDF in exact millimetres: its pages, then the list to work from."""

from collections.abc import Iterator, Mapping, Sequence

from laydown.documents.print.layout import HAIRLINE, INK, PENCIL, Pen, Rectangle
from laydown.documents.print.typefaces import clip, printable, wrap
from laydown.media.colorant import Colorant
from laydown.sheet.identity import page_number
from laydown.sheet.markers import MODULES, marker_bits, page_markers
from laydown.sheet.page import EDGE, GAP, LABEL, CellBox, content_box
from laydown.sheet.sheet import Cell, Sheet
from laydown.sheet.words import cell_lines, meant
from laydown.sheet.working_list import Pickup, working_list

BLACK, BORDER = "#000000", "#8c8c8c"
BORDER_WIDTH = 0.2
"""Of a cell's border [mm]; it stands wholly outside the cell, where no nib comes."""
TITLE, TEXT, SMALL = 12.0, 7.2, 5.2
"""Type sizes [points]."""
LINE = 1.75
"""From one line under a cell to the next [mm]."""
MOST_LINES = int((LABEL - 0.6) / LINE)
SIZES = (9.0, 8.5, 8.0, 7.4, 6.8, 6.2, 5.6, 5.2)
"""Type sizes for the words under the cells of a page, the first that has room for all [points]."""
CLEAR = 1.2
"""White kept between the words under a cell and the next row [mm]."""
CAUTIONS = (
    "Let every cell dry fully before you scan or photograph the page.",
    "Air the room. No flame, spark or heat gun near wet ink or solvent.",
)
HOW_TO_READ = (
    "Color each cell to its border and not beyond; leave the bare ones bare and the corner marks "
    "clean. Then scan or photograph it."
)
FRAME = (
    "Print on card. Cut out every box on its line, lay the frame on the paper, color through it."
)


def write_sheet_pdf(sheet: Sheet, *, lightness: Mapping[Colorant, float]) -> bytes:
    """Write a sheet, the same bytes for the same sheet.

    Parameters
    ----------
    sheet
        The sheet.
    lightness
        L* of one coat by colorant, as far as it is known, for the order to work in.

    Returns
    -------
    bytes
        The pages with cells, then the working list. Nothing is printed inside a cell: toner and
        ink foul nibs.

    Examples
    --------
    ``Path("sheet.pdf").write_bytes(write_sheet_pdf(sheet, lightness={}))``
    """
    size = (sheet.size.width, sheet.size.height)
    pen = Pen(size, title=printable(sheet.title), subject=f"Sheet {sheet.number}")
    for page in range(len(sheet.grids)):
        _draw_markers(pen, sheet, page)
        _draw_head(pen, sheet, page)
        points = label_size(sheet, page)
        for cell in sheet.on_page(page):
            _draw_cell(pen, sheet, cell, points)
        pen.next_page()
    _draw_list(pen, sheet, working_list(sheet, lightness=lightness))
    return pen.finish()


def _draw_markers(pen: Pen, sheet: Sheet, page: int) -> None:
    for marker in page_markers(sheet.size, number=page_number(sheet.number, page)):
        box, module = marker.box, marker.box.width / MODULES
        pen.box(Rectangle(box.left, box.top, box.width, box.height), fill=BLACK)
        for row, modules in enumerate(marker_bits(marker.id)):
            for start, end in _white_runs(modules.tolist()):
                x, y = box.left + start * module, box.top + row * module
                pen.box(Rectangle(x, y, (end - start) * module, module), fill="#ffffff")


def _white_runs(black: list[bool]) -> Iterator[tuple[int, int]]:
    """Return from where to where a row of modules is white."""
    start = None
    for place, dark in enumerate([*black, True]):
        if not dark and start is None:
            start = place
        elif dark and start is not None:
            yield start, place
            start = None


def _draw_head(pen: Pen, sheet: Sheet, page: int) -> None:
    area = content_box(sheet.size)
    pen.bookmark(f"page-{page}", f"Page {page + 1} to color in", 0.0)
    title = clip(sheet.title, TITLE, area.width * 0.62, bold=True)
    pen.text(area.left, area.top + 4.2, title, TITLE, bold=True)
    told = f"Sheet {sheet.number}, page {page + 1} of {len(sheet.grids)} · {sheet.paper}"
    shown = clip(told, TEXT, area.width * 0.38)
    pen.text(area.right, area.top + 4.2, shown, TEXT, color=PENCIL, to_right=True)
    pen.text(area.left, area.top + 7.6, " ".join(CAUTIONS), TEXT)
    media = {colorant.medium for cell in sheet.cells for colorant in cell.recipe.colorants}
    how = " ".join([*meant(media), FRAME if sheet.framed else HOW_TO_READ])
    for line, text in enumerate(wrap(how, SMALL, area.width)[:2]):
        pen.text(area.left, area.top + 10.1 + 2.0 * line, text, SMALL, color=PENCIL)


def _draw_cell(pen: Pen, sheet: Sheet, cell: Cell, size: float) -> None:
    box = sheet.box(cell)
    outer = box.inset(-BORDER_WIDTH / 2)
    place = Rectangle(outer.left, outer.top, outer.width, outer.height)
    pen.box(place, line=BORDER, weight=BORDER_WIDTH)
    measure = _measure(sheet, cell, box)
    if size:
        y = box.bottom + 0.2
        for text, bold in whole_lines(cell, size, measure):
            y += _leading(size)
            pen.text(box.left, y, text, size, bold=bold, color=INK)
        return
    for line, text in enumerate(label_lines(cell, measure)):
        y = box.bottom + 2.0 + LINE * line
        pen.text(box.left, y, text, SMALL, bold=line == 0, color=INK)


def _measure(sheet: Sheet, cell: Cell, box: CellBox) -> float:
    """Return how wide the words under a cell may be: never into the white of the next one."""
    pitch = sheet.grids[cell.page].pitch_x
    wide = max(box.width + min(GAP, pitch - box.width) - 1.0, pitch - GAP)
    return min(wide, content_box(sheet.size).right - box.left)


def label_size(sheet: Sheet, page: int) -> float:
    """Return the largest type at which the words of all cells of a page are whole; 0 for none."""
    grid = sheet.grids[page]
    room = grid.pitch_y - grid.cell_height - CLEAR
    cells = [(cell, _measure(sheet, cell, sheet.box(cell))) for cell in sheet.on_page(page)]

    def fits(size: float) -> bool:
        lines = (len(whole_lines(cell, size, measure)) for cell, measure in cells)
        return max(lines, default=0) * _leading(size) <= room

    return next((size for size in SIZES if fits(size)), 0.0)


def _leading(size: float) -> float:
    return 0.38 * size


def whole_lines(cell: Cell, size: float, measure: float) -> tuple[tuple[str, bool], ...]:
    """Return all that is said under a cell, broken to a width [mm], with what of it is bold."""
    joined = cell_lines(cell)
    parted = [part for line in joined for part in _name_and_words(line)]
    return min((_wrapped(cell, told, size, measure) for told in (parted, joined)), key=len)


def _wrapped(
    cell: Cell, told: Sequence[str], size: float, measure: float
) -> tuple[tuple[str, bool], ...]:
    bold = [(text, True) for text in wrap(f"{cell.number} {told[0]}", size, measure, bold=True)]
    return (*bold, *((text, False) for line in told[1:] for text in wrap(line, size, measure)))


def label_lines(cell: Cell, measure: float) -> tuple[str, ...]:
    """Return the lines printed under a cell, the first one bold, in full where they fit.

    What does not fit ends in …, and stands in full on the working list.
    """
    told = cell_lines(cell)
    first, *rest = [part for line in told for part in _name_and_words(line)]
    lines = [f"{cell.number} {first}", *rest]
    if len(lines) > MOST_LINES:
        lines = [f"{cell.number} {told[0]}", *told[1:]]
    if len(lines) > MOST_LINES:
        lines[MOST_LINES - 1 :] = ["; ".join(lines[MOST_LINES - 1 :])]
    return tuple(clip(line, SMALL, measure, bold=i == 0) for i, line in enumerate(lines))


def _name_and_words(line: str) -> tuple[str, ...]:
    name, colon, words = line.partition(": ")
    return (name, words) if colon else (line,)


def _draw_list(pen: Pen, sheet: Sheet, pickups: tuple[Pickup, ...]) -> None:
    area = Rectangle(
        EDGE + 10, EDGE + 10, sheet.size.width - 2 * EDGE - 20, sheet.size.height - 2 * EDGE - 20
    )
    pen.bookmark("list", "In this order", 0.0)
    y = _list_head(pen, sheet, area)
    round_number = 0
    for pickup in pickups:
        lines = list(_pickup_lines(pickup, area.width - 8))
        new_round = pickup.round != round_number
        if y + 3.6 * len(lines) + (8 if new_round else 0) > area.bottom:
            pen.next_page()
            y = _list_head(pen, sheet, area)
        if new_round:
            round_number = pickup.round
            y += _round_head(pen, area, y, round_number)
        pen.box(Rectangle(area.x, y - 2.3, 2.6, 2.6), line=PENCIL)
        for text, bold in lines:
            pen.text(area.x + (4.5 if bold else 8), y, text, TEXT + 1, bold=bold)
            y += 3.6
        y += 1.0
    pen.next_page()


def _list_head(pen: Pen, sheet: Sheet, area: Rectangle) -> float:
    title = clip(f"{sheet.title}: in this order", TITLE, area.width, bold=True)
    pen.text(area.x, area.y + 4.2, title, TITLE, bold=True)
    told = f"Sheet {sheet.number}. Pick each color up once, pale to dark where that is known."
    pen.text(area.x, area.y + 9.0, told, TEXT + 1, color=PENCIL)
    pen.rule(area.x, area.y + 11.0, area.width, weight=HAIRLINE)
    return area.y + 16.5


def _round_head(pen: Pen, area: Rectangle, y: float, number: int) -> float:
    if number == 1:
        return 0.0
    told = "When all of that is dry, go on with what is laid over it:"
    pen.text(area.x, y + 1.5, told, TEXT + 1.5, bold=True)
    return 7.0


def _pickup_lines(pickup: Pickup, measure: float) -> Iterator[tuple[str, bool]]:
    yield clip(pickup.name, TEXT + 1, measure, bold=True), True
    for job in pickup.jobs:
        cells = ", ".join(str(number) for number in job.cells)
        told = f"{job.words}: cell{'s' if len(job.cells) > 1 else ''} {cells}"
        for text in wrap(told, TEXT + 1, measure):
            yield text, False
