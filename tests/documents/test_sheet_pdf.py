"""The printed sheet, measured on the page."""

from dataclasses import replace

import numpy as np
import pypdfium2
import pytest

from laydown.documents.print.sheets import head_lines, label_size, words_under, write_sheet_pdf
from laydown.media.laydown import Laydown
from laydown.media.marker.design import minimum_design
from laydown.media.recipe import Colorant, Medium, Recipe, Step
from laydown.sheet.markers import marker_bits, page_markers, page_number
from laydown.sheet.page import PageSize, content_box
from laydown.sheet.sheet import Sheet, SheetKind, arrange

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
        words=words_under(recipes),
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
    assert len(drawn) == len(sheet.grids)
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
        for marker, box in page_markers(size, number=page_number(sheet.number, number)):
            at = (np.arange(6) + 0.5) * box.width / 6
            rows_ = np.round((box.top + at) * MM).astype(int)
            columns_ = np.round((box.left + at) * MM).astype(int)
            assert ((page[np.ix_(rows_, columns_)] < 128) == marker_bits(marker)).all()


def test_the_same_sheet_gives_the_same_bytes() -> None:
    """Printing again prints the same."""
    sheet = sheet_of(8)
    assert write_sheet_pdf(sheet, lightness={}) == write_sheet_pdf(sheet, lightness={})


@pytest.mark.parametrize("framed", [True, False])
def test_cautions_and_number_are_on_the_page(framed: bool) -> None:
    """The page says how to work, to let it dry and to air the room, and which sheet it is."""
    (text,) = texts(sheet_of(8, framed=framed))
    assert "Work in the order of the bold numbers" in text
    assert "Let every cell dry fully before you scan or photograph" in text
    assert "Air the room. No flame, spark or heat gun near wet ink or solvent." in text
    assert "Sheet 321, page 1 of 1" in text
    assert ("cut out every big box" in text) == framed


def texts(sheet: Sheet) -> list[str]:
    """Return what each page says, with single spaces."""
    document = pypdfium2.PdfDocument(write_sheet_pdf(sheet, lightness={}))
    told = [" ".join(page.get_textpage().get_text_range().split()) for page in document]
    document.close()
    return told


@pytest.mark.parametrize("size", list(PageSize))
@pytest.mark.parametrize("count", [6, 24, 60, 150])
@pytest.mark.parametrize("name", [LONG, "Kelp"])
def test_words_under_a_cell_are_whole_and_large_enough(
    count: int, name: str, size: PageSize
) -> None:
    """However many cells a sheet has, no word is cut and none is smaller than 8 points."""
    sheet = sheet_of(count, name=name, size=size)
    told = texts(sheet)
    assert "…" not in "".join(told)
    for page, text in enumerate(told):
        assert label_size(sheet, page) >= 8.0
        assert text.count(name) == sum(len(cell.recipe.steps) for cell in sheet.on_page(page))


@pytest.mark.parametrize("size", list(PageSize))
def test_what_is_said_above_the_cells_is_whole_and_large_enough(size: PageSize) -> None:
    """A frame for pencils and washes has the most to say, and says it in 8 points or more."""
    media = [Colorant(str(medium), "Test", medium) for medium in Medium]
    recipes = [Recipe((Step(colorant),)) for colorant in media]
    sheet = arrange(
        recipes, number=1, title="T", kind=SheetKind.LIST, paper="P", size=size, framed=True
    )
    area, grid = content_box(size), sheet.grids[0]
    assert head_lines(sheet, area.width, grid.top - area.top)[0] >= 8.0


def test_a_cell_says_when_each_of_its_steps_is_due() -> None:
    """Its numbers count the colors of the page as they are picked up: no list is needed."""
    pale, dark = Colorant("Foam", "Test"), Colorant("Kelp", "Test")
    recipes = [Recipe((Step(dark), Step(pale))), Recipe((Step(pale), Step(dark, Laydown(2))))]
    sheet = arrange(
        recipes, number=1, title="T", kind=SheetKind.LIST, paper="P", words=words_under(recipes)
    )
    document = pypdfium2.PdfDocument(write_sheet_pdf(sheet, lightness={pale: 90.0, dark: 40.0}))
    (text,) = [" ".join(p.get_textpage().get_text_range().split()) for p in document]
    document.close()
    assert "2 Kelp 3 then Foam" in text
    assert "1 Foam 2 then Kelp 2 coats" in text


def test_words_under_a_cell_keep_clear_of_what_is_next_to_them() -> None:
    """However long, they end above the row below, and before the words beside them."""
    for count in (3, 6, 24, 60):
        sheet = sheet_of(count)
        document = pypdfium2.PdfDocument(write_sheet_pdf(sheet, lightness={}))
        page = document[0].get_textpage()
        grid, high = sheet.grids[0], sheet.size.height
        for place in range(page.count_rects()):
            left, bottom, right, top = (side / 72 * 25.4 for side in page.get_rect(place))
            if high - top < grid.top:
                continue
            row = int((high - top - grid.top) / grid.pitch_y)
            column = int((left - grid.left + 0.5) / grid.pitch_x)
            assert high - bottom < grid.top + (row + 1) * grid.pitch_y - 1.0
            assert high - top > grid.top + row * grid.pitch_y + grid.cell_height
            assert right < grid.left + (column + 1) * grid.pitch_x - 1.0
        document.close()


def test_a_sheet_that_was_kept_with_a_smaller_head_is_printed_whole() -> None:
    """Its cells stand where they stood; what is said above and below them takes smaller type."""
    sheet = sheet_of(40, name="Kelp")
    grid = replace(sheet.grids[0], top=sheet.grids[0].top - 12.0, pitch_y=18.0, cell_height=13.0)
    old = replace(sheet, grids=(grid,))
    (text,) = texts(old)
    assert "Air the room." in text
    assert 4.0 < label_size(old, 0) < 8.0


def test_what_found_no_room_is_named_under_the_cells() -> None:
    """As many names as two lines take, and how many more."""
    sheet = replace(sheet_of(6), left_out=tuple(f"Left {i}" for i in range(90)))
    (text,) = texts(sheet)
    assert "The page is full: Left 0, Left 1," in text
    assert "more wait for your next sheet." in text
    (few,) = texts(replace(sheet, left_out=("Foam", "Reed")))
    assert "The page is full: Foam and Reed wait for your next sheet." in few
