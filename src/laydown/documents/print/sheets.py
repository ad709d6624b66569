"""Sheets of cells and targets for a sketchbook as PDF, in exact millimetres."""

from collections.abc import Iterator, Mapping, Sequence
from functools import cache
from math import inf

from laydown.documents.print.layout import PENCIL, Pen, clip, printable, width, wrap
from laydown.media.recipe import Colorant, Recipe
from laydown.sheet import markers
from laydown.sheet.page import APART, CellBox, Words, content_box
from laydown.sheet.sheet import Cell, Sheet
from laydown.sheet.words import cell_steps, left_out_words, meant, order_of_steps, working_list

BLACK, BORDER = "#000000", "#8c8c8c"
BORDER_WIDTH = 0.2
"""Of a cell's border [mm]; it stands wholly outside the cell, where no nib comes."""
TITLE, LEAST = 12.0, 8.0
"""Of the title, and the smallest type on a sheet [points]."""
SIZES = (10.0, 9.0, 8.5, LEAST, 7.0, 6.0, 5.2, 4.4)
"""Type sizes, the first that has room for all; what is smaller than `LEAST` only a sheet needs that
was kept before its words decided on its cells [points]."""
LEADING = 0.38
"""From one line to the next [mm for each point of type]."""
CLEAR = 2.4
"""White kept between the words under a cell and the next row [mm]."""
BOX, BESIDE = 0.3, 0.09
"""Side of the small box that stands for a coat, and the white beside it [mm for each point]."""
NARROW = 40.0
"""A narrower column never cuts a word in two [mm]."""
HOW_TO_WORK = (
    (
        "Work in the order of the bold numbers: every 1 on this page, then every 2, and so on."
        " (Gray “cell 7” is only a name.)"
    ),
    (
        "Fill the big box to its border. Each small box is one coat: tick it when"
        " the coat is down, and let it dry before you color over it."
    ),
)
FRAME = "Print on card, cut out every big box on its line, lay this on the paper, color through it."
READING = (
    (
        "Leave the black squares clean, and bare cells bare. Let every cell dry fully before you"
        " scan or photograph the page."
    ),
    "Air the room. No flame, spark or heat gun near wet ink or solvent.",
)


def write_sheet_pdf(sheet: Sheet, *, lightness: Mapping[Colorant, float]) -> bytes:
    """Write a sheet's pages with cells, the same bytes for the same sheet.

    `lightness` is L* of one coat by colorant, as far as it is known, for the order to work in.
    Nothing is printed inside a cell: toner and ink foul nibs.
    """
    size = (sheet.size.width, sheet.size.height)
    pen = Pen.on_file(size, title=printable(sheet.title), subject=f"Sheet {sheet.number}")
    for page in range(len(sheet.grids)):
        number = markers.page_number(sheet.number, page)
        for marker, box in markers.page_markers(sheet.size, number=number):
            draw_marker(pen, marker, box)
        _draw_head(pen, sheet, page)
        order = order_of_steps(working_list(sheet.on_page(page), lightness=lightness))
        points = label_size(sheet, page)
        for cell in sheet.on_page(page):
            lines = label(cell, order.get(cell.number, (0,)), points, _measure(sheet, page))
            _draw_cell(pen, sheet, cell, lines, points)
        _draw_foot(pen, sheet, page)
        pen.next_page()
    return pen.finish()


def draw_marker(pen: Pen, marker_id: int, box: CellBox) -> None:
    """Draw a marker."""
    module = box.width / markers.MODULES
    pen.box(box, fill=BLACK)
    for row, modules in enumerate(markers.marker_bits(marker_id)):
        for start, end in _white_runs(modules.tolist()):
            x, y = box.left + start * module, box.top + row * module
            pen.box(CellBox(x, y, (end - start) * module, module), fill="#ffffff")


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
    pen.bookmark(f"page-{page}", f"Page {page + 1} to color in")
    title = clip(sheet.title, TITLE, area.width * 0.62, bold=True)
    pen.text(area.left, area.top + 4.2, title, TITLE, bold=True)
    told = f"Sheet {sheet.number}, page {page + 1} of {len(sheet.grids)} · {sheet.paper}"
    shown = clip(told, LEAST, area.width * 0.38)
    pen.text(area.right, area.top + 4.2, shown, LEAST, color=PENCIL, to_right=True)
    size, lines = head_lines(sheet, area.width, sheet.grids[page].top - area.top)
    for place, line in enumerate(lines, start=1):
        pen.text(area.left, area.top + 5.0 + LEADING * size * place, line, size)


def head_lines(sheet: Sheet, measure: float, room: float) -> tuple[float, list[str]]:
    """Return how to work on a sheet, first what to do: the largest type that fits, and lines.

    They are so wide; the room is so high, with the title [mm].
    """
    media = {colorant.medium for cell in sheet.cells for colorant in cell.recipe.colorants}
    told = (*([FRAME] if sheet.framed else []), *HOW_TO_WORK, " ".join([*meant(media), *READING]))
    for size in SIZES[1:]:
        lines = [line for text in told for line in wrap(text, size, measure)]
        if LEADING * size * len(lines) <= room - 6.0:
            break
    return size, lines


def _draw_foot(pen: Pen, sheet: Sheet, page: int) -> None:
    """Say under the last cells what found no room: as many names as two lines take."""
    area = content_box(sheet.size)
    told = [left_out_words(sheet.left_out, most=most) for most in range(len(sheet.left_out), 0, -1)]
    fit = (lines for text in told if len(lines := wrap(text, LEAST, area.width)) <= 2)
    lines = next(fit, [])
    for place, line in enumerate(lines if page == len(sheet.grids) - 1 else ()):
        pen.text(area.left, area.bottom - 3.6 + LEADING * LEAST * place, line, LEAST)


def _measure(sheet: Sheet, page: int) -> float:
    """Return how wide the words under a cell may be [mm]."""
    grid = sheet.grids[page]
    last = content_box(sheet.size).right - grid.box(grid.columns - 1).left
    return max(grid.cell_width, min(grid.pitch_x - APART, last))


Label = list[tuple[str, int, str]]
"""Lines under a cell: a number in the order of work, how many small boxes, words."""


def label(cell: Cell, order: Sequence[int], size: float, measure: float) -> Label:
    """Return what stands under a cell, broken to a width [mm], with room for its own name."""
    lines: Label = []
    for place, (coats, what, how) in zip(order, cell_steps(cell.recipe), strict=True):
        number = str(place) if place else ""
        lines += _hung(number, 0 if how else coats, what, size, measure)
        lines += _hung("", coats, how, size, measure) if how else []
    number, coats, words = lines[-1]
    taken = _indent(number, coats, size) + width(words, size) + 0.2 * size
    room = measure - taken - width(_name(cell), size)
    return lines if room >= 0 else [*lines, ("", 0, "")]


def _hung(number: str, coats: int, words: str, size: float, measure: float) -> Label:
    """Break words to a width [mm], behind a number and small boxes on the first line."""
    shown = printable(words)
    first = wrap(shown, size, measure - _indent(number, coats, size))[0]
    rest = shown[len(first) :].strip()
    return [(number, coats, first), *(("", 0, line) for line in wrap(rest, size, measure) if line)]


def _name(cell: Cell) -> str:
    return f"cell {cell.number}"


def _indent(number: str, coats: int, size: float) -> float:
    """Return how far the words stand from the left: a number and small boxes are before them."""
    boxes = coats * (BOX + BESIDE) * size
    return width(number, size, bold=True) + boxes + (0.1 * size if number else 0.0)


def words_under(recipes: Sequence[Recipe]) -> Words:
    """Return how high the words under cells of these recipes stand, told how wide they may be."""
    cells = [Cell(888, 0, 0, recipe) for recipe in dict.fromkeys((*recipes, Recipe()))]

    @cache  # the same few widths are asked for each number of columns
    def height(measure: float) -> float:
        labels = (label(c, [88] * max(1, len(c.recipe.steps)), LEAST, measure) for c in cells)
        lines = max(map(len, labels))
        whole = measure >= NARROW or all(_uncut(cell, measure) for cell in cells)
        return LEADING * LEAST * lines + CLEAR if whole else inf

    return height


def _uncut(cell: Cell, measure: float) -> bool:
    """Return whether no word under a cell is wider than its room."""
    return all(
        width(word, LEAST) <= measure - _indent("88", coats, LEAST)
        for coats, *said in cell_steps(cell.recipe)
        for words in said
        for word in printable(words).split(" ")
    )


def label_size(sheet: Sheet, page: int) -> float:
    """Return the largest type at which the words of all cells of a page have room [points]."""
    grid, measure = sheet.grids[page], _measure(sheet, page)
    room = grid.pitch_y - grid.cell_height - CLEAR

    def fits(size: float) -> bool:
        lines = (
            len(label(cell, [88] * max(1, len(cell.recipe.steps)), size, measure))
            for cell in sheet.on_page(page)
        )
        return LEADING * size * max(lines, default=0) <= room + 1e-9

    return next((size for size in SIZES if fits(size)), SIZES[-1])


def _draw_cell(pen: Pen, sheet: Sheet, cell: Cell, lines: Label, size: float) -> None:
    box = sheet.box(cell)
    pen.box(box.inset(-BORDER_WIDTH / 2), line=BORDER, weight=BORDER_WIDTH)
    y = box.bottom + 0.3
    for number, coats, words in lines:
        y += LEADING * size
        pen.text(box.left, y, number, size, bold=True)
        x = box.left + _indent(number, 0, size)
        for _ in range(coats):
            pen.box(CellBox(x, y - 0.26 * size, BOX * size, BOX * size), line=PENCIL)
            x += (BOX + BESIDE) * size
        pen.text(x, y, words, size)
    end = x + width(words, size) + 0.2 * size + width(_name(cell), size)
    pen.text(max(box.right, end), y, _name(cell), size, color=PENCIL, to_right=True)


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
    pen.bookmark("target", "Target to cut out")
    pen.text(CORNER[0], CORNER[1] - 12, clip(sheet.title, 12.0, 150.0, bold=True), 12.0, bold=True)
    pen.box(markers.OUTLINE.moved(*CORNER), line=PENCIL)
    marks = zip(
        markers.target_ids(sheet.number),
        (markers.target_marks()[place] for place in markers.PLACES),
        strict=True,
    )
    for marker, box in marks:
        draw_marker(pen, marker, box.moved(*CORNER))
    for level, box in zip(markers.GRAYS, markers.target_grays(), strict=True):
        pen.box(box.moved(*CORNER), fill=f"#{level:02x}{level:02x}{level:02x}", line=PENCIL)
    left, wide = CORNER[0] + 17.0, 30.0
    pen.text(left, CORNER[1] + 7.5, f"Target {sheet.number}", 9.0, bold=True)
    pen.text(left, CORNER[1] + 12.0, clip(sheet.paper, 8.0, wide), 8.0, color=PENCIL)
    pen.text(left, CORNER[1] + 33.0, "Name", 8.0, color=PENCIL)
    pen.box(CellBox(17.0, 39.0, wide, 0.1).moved(*CORNER), fill=PENCIL)
    for line, words in enumerate(HOW_TO_USE):
        pen.text(CORNER[0], CORNER[1] + markers.OUTLINE.height + 10.0 + 5.0 * line, words, 10.0)
    pen.next_page()
    return pen.finish()
