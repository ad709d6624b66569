"""The printed sheet, measured on the page."""

import numpy as np
import pypdfium2
import pytest

from laydown.documents.print.sheets import (
    label_lines,
    label_size,
    whole_lines,
    write_sheet_pdf,
)
from laydown.media.colorant import Colorant
from laydown.media.marker.design import minimum_design
from laydown.media.recipe import Recipe, Step
from laydown.sheet.arrange import arrange
from laydown.sheet.identity import page_number
from laydown.sheet.markers import marker_bits, page_markers
from laydown.sheet.page import GAP, PageSize
from laydown.sheet.sheet import Cell, Sheet, SheetKind

DPI = 300
MM = DPI / 25.4


LONG = "A rather long invented name"


def sheet_of(
    count: int, *, size: PageSize = PageSize.A4, framed: bool = False, name: str = LONG
) -> Sheet:
    """Return a kit's sheet of so many invented colorants."""
    colorants = [Colorant(f"{name} {i}", "Test") for i in range(count)]
    recipes = minimum_design(colorants, list(range(count)))
    return arrange(
        recipes,
        number=321,
        title="A title",
        kind=SheetKind.KIT,
        paper="Gannet smooth",
        size=size,
        framed=framed,
    )


def pages(content: bytes) -> list[np.ndarray]:
    """Return the pages drawn at 300 dpi, in gray."""
    document = pypdfium2.PdfDocument(content)
    drawn = [page.render(scale=DPI / 72).to_pil().convert("L") for page in document]
    document.close()
    return [np.asarray(page) for page in drawn]


@pytest.mark.parametrize("size", list(PageSize))
@pytest.mark.parametrize("count", [8, 150])
def test_nothing_is_printed_inside_a_cell_and_all_stands_where_it_says(
    size: PageSize, count: int
) -> None:
    """Toner fouls nibs: every cell is blank, its border is there, and marks are true to a dot."""
    sheet = sheet_of(count, size=size)
    drawn = pages(write_sheet_pdf(sheet, lightness={}))
    assert len(drawn) > len(sheet.grids)
    for number in range(len(sheet.grids)):
        page = drawn[number]
        assert np.abs(np.array(page.shape) - (size.height * MM, size.width * MM)).max() < 1.5
        for cell in sheet.on_page(number):
            box = sheet.box(cell)
            rows = slice(int(np.ceil(box.top * MM)) + 1, int(box.bottom * MM) - 1)
            columns = slice(int(np.ceil(box.left * MM)) + 1, int(box.right * MM) - 1)
            assert page[rows, columns].min() == 255
            middle = round(box.center[1] * MM)
            edge = round(box.left * MM)
            assert page[middle, edge - 4 : edge + 2].min() < 200
        for marker in page_markers(size, number=page_number(sheet.number, number)):
            at = (np.arange(6) + 0.5) * marker.box.width / 6
            rows_ = np.round((marker.box.top + at) * MM).astype(int)
            columns_ = np.round((marker.box.left + at) * MM).astype(int)
            assert ((page[np.ix_(rows_, columns_)] < 128) == marker_bits(marker.id)).all()


def test_the_same_sheet_gives_the_same_bytes() -> None:
    """Printing again prints the same."""
    sheet = sheet_of(8)
    assert write_sheet_pdf(sheet, lightness={}) == write_sheet_pdf(sheet, lightness={})


@pytest.mark.parametrize("framed", [True, False])
def test_cautions_number_and_list_are_on_the_pages(framed: bool) -> None:
    """The page says to let it dry and to air the room; the list names every cell to color."""
    sheet = sheet_of(8, framed=framed)
    document = pypdfium2.PdfDocument(write_sheet_pdf(sheet, lightness={}))
    text = [document[i].get_textpage().get_text_range() for i in range(len(document))]
    document.close()
    assert "Let every cell dry fully before you scan or photograph" in text[0]
    assert "Air the room. No flame, spark or heat gun near wet ink or solvent." in text[0]
    assert "Sheet 321, page 1 of 1" in text[0]
    assert ("Cut out every box" in text[0]) == framed
    listed = " ".join(text[1:])
    for cell in sheet.cells:
        assert cell.bare or str(cell.number) in listed


@pytest.mark.parametrize(
    ("count", "name", "least"),
    [(6, LONG, 7.4), (24, LONG, 5.6), (12, "Kelp", 8.5), (24, "Kelp", 8.0)],
)
def test_words_under_a_cell_are_whole_where_the_page_has_room(
    count: int, name: str, least: float
) -> None:
    """On a page with room no word is cut: the type is as large as all of them allow."""
    sheet = sheet_of(count, name=name)
    document = pypdfium2.PdfDocument(write_sheet_pdf(sheet, lightness={}))
    text = " ".join(document[0].get_textpage().get_text_range().split())
    document.close()
    assert label_size(sheet, 0) >= least
    assert "…" not in text
    assert text.count(name) == sum(len(cell.recipe.steps) for cell in sheet.on_page(0))


def test_words_under_a_cell_keep_clear_of_what_is_next_to_them() -> None:
    """However long, they end above the row below, and before the white beside the next cell."""
    for count in (3, 6, 24, 60):
        sheet = sheet_of(count)
        grid, size = sheet.grids[0], label_size(sheet, 0)
        for cell in sheet.on_page(0):
            lines = whole_lines(cell, size or 5.6, grid.pitch_x - GAP)
            if size:
                assert 0.38 * size * len(lines) < grid.pitch_y - grid.cell_height - 1.0


def test_words_under_a_cell_stay_out_of_the_white_beside_the_next() -> None:
    """Long names end in an ellipsis on the page and stand in full on the list."""
    sheet = sheet_of(150)
    cell = next(cell for cell in sheet.cells if not cell.bare)
    first, *_ = label_lines(cell, 12.0)
    assert first.endswith("…")


def test_steps_that_find_no_line_of_their_own_end_in_an_ellipsis() -> None:
    """A third step is never left out without a sign that there is more on the list."""
    one = Step(Colorant("Longname", "Test"))
    cell = Cell(1, 0, 0, Recipe((one, one, one)))
    *_, last = label_lines(cell, 30.0)
    assert last.endswith("…")
    assert len(label_lines(cell, 300.0)) == 2
    assert label_lines(cell, 300.0)[1].count("then") == 2
