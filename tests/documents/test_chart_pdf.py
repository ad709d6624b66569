import ctypes
from collections import Counter
from collections.abc import Callable, Iterator

import numpy as np
import pypdfium2 as pdfium
import pytest
from pypdfium2 import raw

from laydown.documents.print.charts import UNSHOWN, write_chart_pdf
from laydown.documents.print.entries import entries
from laydown.documents.print.layout import (
    CARD,
    CAUTIONS,
    HEADING_CAUTIONS,
    INVENTED,
    MARGIN,
    NO_ROWS,
    PAGES,
    SHOWN_COLORS,
    Rectangle,
)
from laydown.match.outcome import Match
from laydown.plan.chart import Chart

MM = 72.0 / 25.4
Mixed = Callable[[int], Chart]
Many = Callable[..., Chart]


def texts(data: bytes) -> list[str]:
    """Return the text of each page on one line."""
    return [
        " ".join(page.get_textpage().get_text_range().replace("\u00a0", " ").split())
        for page in pdfium.PdfDocument(data)
    ]


def rectangles(page: pdfium.PdfPage) -> Iterator[tuple[float, float, float, float]]:
    """Yield left, bottom, width and height [mm] of each path, without the width of its line."""
    for path in page.get_objects(filter=[raw.FPDF_PAGEOBJ_PATH]):
        points = []
        for i in range(raw.FPDFPath_CountSegments(path)):
            x, y = ctypes.c_float(), ctypes.c_float()
            segment = raw.FPDFPath_GetPathSegment(path, i)
            raw.FPDFPathSegment_GetPoint(segment, x, y)
            points.append((x.value, y.value))
        low, high = np.min(points, axis=0), np.max(points, axis=0)
        yield tuple(np.concatenate([low, high - low]) / MM)


@pytest.mark.parametrize(("name", "size"), PAGES.items())
def test_pages_are_exact(mixed: Mixed, name: str, size: tuple[float, float]) -> None:
    """Each page of the file has the size asked for, within a hundredth of a millimetre."""
    for page in pdfium.PdfDocument(write_chart_pdf(mixed(6), page=name)):
        assert np.array(page.get_size()) / MM == pytest.approx(size, abs=0.01)


@pytest.mark.parametrize("name", PAGES)
def test_boxes_to_color_in_are_printed_at_true_size(mixed: Mixed, name: str) -> None:
    """Each row has one box of 16 by 17 mm, drawn twice: its white and its dashed line."""
    trial = (CARD.trial.width, CARD.trial.height)
    found = 0
    for page in pdfium.PdfDocument(write_chart_pdf(mixed(12), page=name)):
        found += sum(box[2:] == pytest.approx(trial, abs=0.02) for box in rectangles(page))
    assert trial == (16.0, 17.0)
    assert found == 2 * 12


def test_patches_are_printed_where_the_layout_says(mixed: Mixed) -> None:
    """The first card and its wanted patch stand as far apart as the layout has them."""
    page = pdfium.PdfDocument(write_chart_pdf(mixed(6)))[0]
    boxes = list(rectangles(page))
    card = next(b for b in boxes if b[2:] == pytest.approx((68.0, 25.0), abs=0.02))
    assert card[0] == pytest.approx(MARGIN, abs=0.02)
    left, bottom = card[0] + CARD.wanted.x, card[1] + CARD.card.height - CARD.wanted.bottom
    patch = (left, bottom, CARD.wanted.width, CARD.wanted.height)
    assert sum(b == pytest.approx(patch, abs=0.02) for b in boxes) == 1


def test_patches_have_the_screen_colors_of_their_entries(mixed: Mixed) -> None:
    """Rendered, each patch of the first row shows its own color and no other's."""
    chart = mixed(1)
    row = entries(chart)[0]
    page = pdfium.PdfDocument(write_chart_pdf(chart))[0]
    x, y = next(b for b in rectangles(page) if b[2:] == pytest.approx((68.0, 25.0), abs=0.02))[:2]
    top = PAGES["A4"][1] - y - CARD.card.height
    image = page.render(scale=4.0).to_numpy()

    def seen(box: Rectangle) -> str:
        down, right = top + box.y + box.height / 2.0, x + box.x + box.width / 2.0
        blue, green, red = image[int(down * MM * 4.0), int(right * MM * 4.0)][:3]
        return f"#{red:02x}{green:02x}{blue:02x}"

    assert seen(CARD.wanted) == row.wanted.fill
    assert seen(CARD.predicted) == row.predicted.fill
    assert seen(CARD.wanted_gray) == row.wanted.gray
    assert seen(CARD.predicted_gray) == row.predicted.gray
    assert seen(CARD.trial) == "#ffffff"
    assert len({row.wanted.fill, row.predicted.fill, row.wanted.gray, row.predicted.gray}) == 4


@pytest.mark.parametrize("name", PAGES)
def test_everything_a_row_says_is_on_the_page(mixed: Mixed, name: str) -> None:
    """Names, roles, colors in words and numbers, what is off, mud and notes are printed."""
    chart = mixed(12)
    found = " ".join(texts(write_chart_pdf(chart, page=name)))
    for row in entries(chart):
        said = [row.name, row.role, row.wanted.words, row.predicted.numbers, row.off, row.sure]
        said += [row.chance, str(row.verdict), row.mud, *row.notes]
        said += [layer.name for layer in row.layers] + [layer.how for layer in row.layers]
        for text in said:
            assert " ".join(text.split()) in found


@pytest.mark.parametrize("name", PAGES)
def test_nothing_printed_leaves_the_margins(mixed: Mixed, name: str) -> None:
    """Every character keeps 13 mm from the sides of the page, 7 from its head and foot."""
    for page in pdfium.PdfDocument(write_chart_pdf(mixed(60), page=name)):
        width, height = np.array(page.get_size()) / MM
        read = page.get_textpage()
        boxes = np.array([read.get_charbox(i) for i in range(read.count_chars())]) / MM
        left, low, right, high = boxes.T
        assert min(left.min(), width - right.max()) > 13.0
        assert min(low.min(), height - high.max()) > 7.0


def test_texts_of_one_page_do_not_lie_on_each_other(mixed: Mixed) -> None:
    """No two characters' boxes overlap by more than a point, as “ff” nearly does."""
    page = pdfium.PdfDocument(write_chart_pdf(mixed(12)))[1]
    read = page.get_textpage()
    count = read.count_chars()
    signs = [read.get_text_range(i, 1) for i in range(count)]
    boxes = np.array(
        [read.get_charbox(i) for i in range(count) if signs[i].strip() and signs[i] != "\u00a0"]
    )
    left, low, right, high = boxes.T
    wide = np.minimum(right[:, None], right) - np.maximum(left[:, None], left)
    tall = np.minimum(high[:, None], high) - np.maximum(low[:, None], low)
    over = (wide > 1.0) & (tall > 1.0)
    np.fill_diagonal(over, val=False)
    assert not over.any()


def test_passages_go_on_with_their_heading(
    make_chart: Many, make_match: Callable[..., Match]
) -> None:
    """A passage longer than a page stands under its heading, “continued”, on the next."""
    chart = make_chart(*[make_match(f"Rind {i}") for i in range(30)])
    pages = texts(write_chart_pdf(chart))
    assert "Lemons 30 colors" in pages[0]
    rows = [i for i, page in enumerate(pages) if "Rind" in page]
    assert len(rows) > 2
    assert all("Lemons continued" in pages[i] for i in rows[1:])


def test_every_page_tells_its_number_and_that_colors_are_not_true(mixed: Mixed) -> None:
    """At each foot stand page and count, the warning on shown colors, and that data is invented."""
    pages = texts(write_chart_pdf(mixed(12)))
    for number, page in enumerate(pages, start=1):
        assert f"page {number} of {len(pages)}" in page
        assert SHOWN_COLORS in page
        assert INVENTED in page


def test_data_is_called_invented_only_where_notes_say_so(
    make_chart: Many, make_match: Callable[..., Match]
) -> None:
    """A chart of real swatches carries no such line."""
    assert INVENTED not in " ".join(texts(write_chart_pdf(make_chart(make_match()))))


def test_the_supply_list_and_the_cautions_close_the_chart(mixed: Mixed) -> None:
    """Colorants with how often they are used, the owner's code, next swatches, every caution."""
    found = " ".join(texts(write_chart_pdf(mixed(6))))
    assert "What you need" in found
    assert "m/17-b" in found
    assert "Two coats of Plum skin on Gannet smooth." in found
    for caution in CAUTIONS:
        assert caution in found


def test_a_chart_without_rows_is_one_page_that_says_so(mixed: Mixed) -> None:
    """No targets make a page with title, that there are none, and the cautions."""
    pages = texts(write_chart_pdf(mixed(0)))
    assert len(pages) == 1
    assert NO_ROWS in pages[0]
    assert "What you need" not in pages[0]


def test_the_same_chart_gives_the_same_bytes(mixed: Mixed) -> None:
    """Nothing in the file depends on when or how often it was written."""
    data = write_chart_pdf(mixed(6))
    assert data == write_chart_pdf(mixed(6))
    written = pdfium.PdfDocument(data).get_metadata_dict()
    assert {written["CreationDate"], written["ModDate"]} == {"D:20000101000000+00'00'"}


def test_only_the_shipped_typeface_is_used(mixed: Mixed) -> None:
    """No page falls back on a typeface of the reader's, and all type is embedded."""
    fonts: Counter[str] = Counter()
    for page in pdfium.PdfDocument(write_chart_pdf(mixed(6))):
        for item in page.get_objects(filter=[raw.FPDF_PAGEOBJ_TEXT]):
            font = raw.FPDFTextObj_GetFont(item)
            buffer = ctypes.create_string_buffer(100)
            raw.FPDFFont_GetBaseFontName(font, buffer, 100)
            fonts[buffer.value.decode()] += 1
            assert raw.FPDFFont_GetIsEmbedded(font) == 1
    assert {name.split("+")[-1] for name in fonts} == {"FiraSans-Regular", "FiraSans-Bold"}


def test_a_name_without_glyphs_is_shown_by_number_and_explained(
    make_chart: Many, make_match: Callable[..., Match]
) -> None:
    """A character the typeface lacks appears as its number, and the foot says what that is."""
    page = texts(write_chart_pdf(make_chart(make_match("Dune 砂"))))[0]
    assert "Dune ‹7802›" in page
    assert UNSHOWN in page


def test_words_that_never_end_are_cut_and_kept(
    make_chart: Many, make_match: Callable[..., Match]
) -> None:
    """A name without spaces wider than its column is broken over lines, whole."""
    name = "Lemonrind" * 20
    page = texts(write_chart_pdf(make_chart(make_match(name))))[0]
    assert name in page.replace(" ", "")


def test_the_file_describes_itself(mixed: Mixed) -> None:
    """Title, language and an outline of the passages are in the file."""
    document = pdfium.PdfDocument(write_chart_pdf(mixed(12)))
    assert document.get_metadata_dict()["Title"] == "Lemons in a blue bowl"
    titles = [mark.get_title() for mark in document.get_toc()]
    assert titles == ["Lemons", "Bowl", "Other colors"]


def test_a_page_that_is_not_known_is_refused(mixed: Mixed) -> None:
    """A page size is one of those in the table, spelled so."""
    with pytest.raises(ValueError, match="allowed are A4, Letter"):
        write_chart_pdf(mixed(1), page="a4")


@pytest.mark.parametrize("rows", range(1, 9))
def test_cautions_stay_together(mixed: Mixed, rows: int) -> None:
    """However full the page before them is, all cautions and their heading are on one page."""
    pages = texts(write_chart_pdf(mixed(rows)))
    assert sum(all(text in page for text in (HEADING_CAUTIONS, *CAUTIONS)) for page in pages) == 1
