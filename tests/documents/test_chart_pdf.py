import ctypes
from collections import Counter
from collections.abc import Callable, Iterator
from itertools import pairwise

import numpy as np
import pypdfium2 as pdfium
import pytest
from pypdfium2 import raw

from laydown.documents.print.charts import BARE, write_chart_pdf
from laydown.documents.print.entries import (
    INVENTED,
    KEYS,
    NO_ROWS,
    entries,
    own_fill,
    paper_shade,
    sample,
)
from laydown.documents.print.layout import (
    CARE,
    CAUTIONS,
    HEADING_CAUTIONS,
    LEAST,
    PAGES,
    SHOWN_COLORS,
    UNSHOWN,
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
        a, b, c, d, e, f = path.get_matrix().get()
        placed = np.array(points) @ [[a, b], [c, d]] + [e, f]
        low, high = np.min(placed, axis=0), np.max(placed, axis=0)
        yield tuple(np.concatenate([low, high - low]) / MM)


@pytest.mark.parametrize(("name", "size"), PAGES.items())
def test_pages_are_exact(mixed: Mixed, name: str, size: tuple[float, float]) -> None:
    """Each page of the file has the size asked for, within a hundredth of a millimetre."""
    for page in pdfium.PdfDocument(write_chart_pdf(mixed(6), page=name)):
        assert np.array(page.get_size()) / MM == pytest.approx(size, abs=0.01)


class Shown:
    """A page as it is seen: drawn once, and its paths read once."""

    def __init__(self, page: pdfium.PdfPage) -> None:
        self._image = page.render(scale=4.0).to_numpy().copy()
        self._high = page.get_size()[1] / MM
        self.boxes = list(rectangles(page))

    def color(self, box: tuple[float, float, float, float]) -> str:
        """Return the color in the middle of a box: left, bottom, width and height [mm]."""
        down, right = self._high - box[1] - box[3] / 2.0, box[0] + box[2] / 2.0
        blue, green, red = self._image[int(down * MM * 4.0), int(right * MM * 4.0)][:3]
        return f"#{red:02x}{green:02x}{blue:02x}"

    def wide(self, width: float) -> list[tuple[float, float, float, float]]:
        """Return the filled boxes of a width [mm], as one reads: by column, from the top."""
        found = {
            tuple(np.round(box, 2))
            for box in self.boxes
            if abs(box[2] - width) <= 0.02 and box[3] > 1.0
        }
        return sorted(found, key=lambda box: (box[0] > 100.0, -round(box[1] + box[3]), box[0]))


@pytest.mark.parametrize("name", PAGES)
@pytest.mark.parametrize(("rows", "steps"), [(25, 3), (30, 2)])
def test_a_lesson_is_one_page(
    mixed: Mixed, make_chart: Many, name: str, rows: int, steps: int
) -> None:
    """25 colors, a fifth of three steps and most of them off, or 30 of two, are one page."""
    known = mixed(6).matches
    short = [m for m in known if len(m.best.prediction.recipe.steps) <= steps]
    short = [match for match in short if len(match.target.name) < 30]
    chart = make_chart(*(short[n * len(short) // rows] for n in range(rows)))
    pages = texts(write_chart_pdf(chart, page=name))
    assert len(pages) == 1
    assert max(len(row.layers) for row in entries(chart)) == steps
    for row in entries(chart):
        assert f"{row.number}. {row.name}" in pages[0]


def test_patches_give_way_to_words_where_a_page_would_not_hold_them(
    mixed: Mixed, make_chart: Many
) -> None:
    """28 colors of up to three steps are one page, with boxes of 9 mm in place of 12."""
    short = [match for match in mixed(6).matches if len(match.target.name) < 30]
    chart = make_chart(*(short[n * len(short) // 28] for n in range(28)))
    (page,) = map(Shown, pdfium.PdfDocument(write_chart_pdf(chart)))
    assert len(page.wide(9.0)) == 28
    assert not page.wide(12.0)


@pytest.mark.parametrize("name", PAGES)
def test_boxes_to_color_in_are_printed_at_true_size(mixed: Mixed, name: str) -> None:
    """Each row has one empty box of 12 mm by 12 or more, for a broad nib."""
    (page,) = map(Shown, pdfium.PdfDocument(write_chart_pdf(mixed(12), page=name)))
    boxes = page.wide(12.0)
    assert len(boxes) == 12
    assert all(box[3] >= 12.0 for box in boxes)
    assert {page.color(box) for box in boxes} == {"#ffffff"}


def test_patches_stand_in_the_order_that_the_page_names(mixed: Mixed) -> None:
    """Each row shows paper, wanted touching given, their grays, and the box, in its own colors."""
    chart = mixed(12)
    (page,) = map(Shown, pdfium.PdfDocument(write_chart_pdf(chart)))
    patches, grays, boxes = page.wide(8.6), page.wide(3.0), page.wide(12.0)
    paper = page.wide(1.4)
    assert {page.color(box) for box in paper} == {paper_shade(chart).fill}
    for row, wanted, given, gray, other, box in zip(
        entries(chart), patches[::2], patches[1::2], grays[::2], grays[1::2], boxes, strict=True
    ):
        assert page.color(wanted) == row.wanted.fill
        assert page.color(given) == row.predicted.fill
        assert page.color(gray) == row.wanted.gray
        assert page.color(other) == row.predicted.gray
        assert wanted[0] + wanted[2] == pytest.approx(given[0], abs=0.02)
        assert given[0] < gray[0] < other[0] < box[0]


@pytest.mark.parametrize("name", PAGES)
def test_a_key_names_each_patch_of_a_row(mixed: Mixed, name: str) -> None:
    """Above the rows stand their patches with what each is, in the colors of one of the rows."""
    chart = mixed(12)
    data = write_chart_pdf(chart, page=name)
    (page,), (found,) = map(Shown, pdfium.PdfDocument(data)), texts(data)
    shown = sample(entries(chart))
    colors, grays = page.wide(19.0), page.wide(25.0)
    assert [page.color(box) for box in colors] == [shown.wanted.fill, shown.predicted.fill]
    assert [page.color(box) for box in grays] == [shown.wanted.gray, shown.predicted.gray]
    assert [page.color(box) for box in page.wide(7.0)] == [own_fill(shown.layers[0])]
    assert all(said in found for said in KEYS)
    assert shown.wanted.fill != shown.predicted.fill


def test_a_passage_is_a_band_from_light_to_dark(
    make_chart: Many, make_match: Callable[..., Match]
) -> None:
    """The colors of a passage touch from row to row, so that neighbors are compared."""
    chart = make_chart(*[make_match(f"Rind {n}", wanted=(90.0 - 8 * n, 0, 30)) for n in range(5)])
    (page,) = map(Shown, pdfium.PdfDocument(write_chart_pdf(chart)))
    wanted = page.wide(8.6)[::2]
    for upper, lower in pairwise(wanted):
        assert lower[1] + lower[3] == pytest.approx(upper[1], abs=0.02)


def test_each_step_has_the_color_of_its_own_marker(mixed: Mixed) -> None:
    """Beside each step stands a patch of what it lays alone, in the order of laying."""
    chart = mixed(6)
    (page,) = map(Shown, pdfium.PdfDocument(write_chart_pdf(chart)))
    shown = [page.color(box) for box in page.wide(6.0)]
    assert shown == [own_fill(layer) for row in entries(chart) for layer in row.layers]


@pytest.mark.parametrize("name", PAGES)
def test_the_page_for_the_table_says_what_to_do(mixed: Mixed, name: str) -> None:
    """Names, roles, steps in words and what stays off are on it; numbers are not."""
    chart = mixed(12)
    (found,) = texts(write_chart_pdf(chart, page=name))
    for row in entries(chart):
        for said in (row.name, row.role, row.in_short, *(words for words, _ in row.layers)):
            assert " ".join(said.split()) in found
        assert row.predicted.numbers.replace("\u00a0", " ") not in found
    assert BARE in found
    assert "ΔE" not in found


@pytest.mark.parametrize("name", PAGES)
def test_everything_known_of_a_row_lies_behind(mixed: Mixed, name: str) -> None:
    """With details, colors in words and numbers, what is off, mud and notes are printed too."""
    chart = mixed(12)
    found = " ".join(texts(write_chart_pdf(chart, page=name, details=True)))
    for row in entries(chart):
        said = [row.name, row.role, row.wanted.words, row.predicted.numbers, row.off, row.sure]
        said += [row.chance, str(row.verdict), row.mud, row.recipe, *row.notes]
        for text in said:
            assert " ".join(text.split()) in found


@pytest.mark.parametrize("details", [False, True])
def test_type_can_be_read(mixed: Mixed, details: bool) -> None:
    """No type is under 8 points, and every name is set in 10 or more."""
    sizes: Counter[float] = Counter()
    named = set()
    for page in pdfium.PdfDocument(write_chart_pdf(mixed(12), details=details)):
        read = page.get_textpage()
        for item in page.get_objects(filter=[raw.FPDF_PAGEOBJ_TEXT]):
            size = ctypes.c_float()
            raw.FPDFTextObj_GetFontSize(item, size)
            sizes[round(size.value, 2)] += 1
            length = raw.FPDFTextObj_GetText(item, read, None, 0)
            held = (ctypes.c_ushort * length)()
            raw.FPDFTextObj_GetText(item, read, held, length)
            said = bytes(held).decode("utf-16-le").strip("\0")
            if said.startswith(("1. Rind", "Glaze", "1 coat", "2 coats")):
                named.add(round(size.value, 2))
    assert min(sizes) >= LEAST == 8.0
    if not details:
        assert min(named) >= 10.0


@pytest.mark.parametrize("name", PAGES)
def test_nothing_printed_leaves_the_margins(mixed: Mixed, name: str) -> None:
    """Every character keeps 13 mm from the sides of the page, 3 from its head and foot."""
    for page in pdfium.PdfDocument(write_chart_pdf(mixed(60), page=name, details=True)):
        width, height = np.array(page.get_size()) / MM
        read = page.get_textpage()
        boxes = np.array([read.get_charbox(i) for i in range(read.count_chars())]) / MM
        left, low, right, high = boxes.T
        assert min(left.min(), width - right.max()) > 13.0
        assert min(low.min(), height - high.max()) > 3.0


@pytest.mark.parametrize("which", [0, 1])
def test_texts_of_one_page_do_not_lie_on_each_other(mixed: Mixed, which: int) -> None:
    """No two characters' boxes overlap by more than a point, as “ff” nearly does."""
    page = pdfium.PdfDocument(write_chart_pdf(mixed(25), details=True))[which]
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


def test_a_band_has_an_edge_where_it_is_broken_too(
    make_chart: Many, make_match: Callable[..., Match]
) -> None:
    """A line runs along the foot of the last patches of each column, so that pale ones don't end
    in the paper.
    """
    document = pdfium.PdfDocument(
        write_chart_pdf(make_chart(*[make_match(f"Rind {i}") for i in range(36)]))
    )
    page = Shown(document[0])
    lines = [box for box in page.boxes if box[3] < 0.01]
    feet: dict[float, float] = {}
    for left, foot, *_ in page.wide(8.6):
        feet[left] = min(foot, feet.get(left, foot))
    assert len(feet) == 4
    for left, foot in feet.items():
        assert any(
            abs(y - foot) < 0.1 and x < left + 0.1 and x + across > left + 8.5
            for x, y, across, _ in lines
        )


def test_passages_go_on_with_their_heading(
    make_chart: Many, make_match: Callable[..., Match]
) -> None:
    """A passage longer than a column has its heading over each part, and one mark to find it."""
    document = pdfium.PdfDocument(
        write_chart_pdf(make_chart(*[make_match(f"Rind {i}") for i in range(60)]))
    )
    pages = [page.get_textpage().get_text_range() for page in document]
    assert len(pages) > 1
    assert all(page.count("Lemons\r\n") >= 1 for page in pages)
    assert [mark.get_title() for mark in document.get_toc()][1:] == ["Lemons"]


def test_every_page_tells_its_number_and_that_colors_are_not_true(mixed: Mixed) -> None:
    """At each foot stand page and count, the warnings, and that data is invented."""
    pages = texts(write_chart_pdf(mixed(12), details=True))
    assert len(pages) > 1
    for number, page in enumerate(pages, start=1):
        assert f"page {number} of {len(pages)}" in page
        assert SHOWN_COLORS in page
        assert CARE in page
        assert INVENTED in page


def test_data_is_called_invented_only_where_notes_say_so(
    make_chart: Many, make_match: Callable[..., Match]
) -> None:
    """A chart of real swatches carries no such line."""
    assert INVENTED not in " ".join(texts(write_chart_pdf(make_chart(make_match()))))


def test_the_supply_list_and_the_cautions_close_the_chart(mixed: Mixed) -> None:
    """Colorants with how often they are used, the owner's code, next swatches, every caution."""
    found = " ".join(texts(write_chart_pdf(mixed(6), details=True)))
    assert "What you need" in found
    assert "m/17-b" in found
    assert "Two coats of Plum skin on Gannet smooth." in found
    for caution in CAUTIONS:
        assert caution in found


def test_a_chart_without_rows_is_one_page_that_says_so(mixed: Mixed) -> None:
    """No targets make a page with the title, and that there are none."""
    pages = texts(write_chart_pdf(mixed(0)))
    assert len(pages) == 1
    assert NO_ROWS in pages[0]
    assert "Take out" not in pages[0]


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
    """A name wider than its column is broken over lines, whole, and over pages where it must be."""
    name = "Lemonrind" * 20
    page = texts(write_chart_pdf(make_chart(make_match(name))))[0]
    assert name in page.replace(" ", "")
    long = make_chart(make_match("Rind " * 2000, passage="Peel " * 300, role="shade " * 50))
    found = " ".join(texts(write_chart_pdf(long, details=True)))
    assert found.count("Rind") >= 2 * 2000


def test_the_file_describes_itself(mixed: Mixed) -> None:
    """Title, language and an outline of the passages are in the file."""
    document = pdfium.PdfDocument(write_chart_pdf(mixed(12)))
    assert document.get_metadata_dict()["Title"] == "Lemons in a blue bowl"
    titles = [mark.get_title() for mark in document.get_toc()]
    assert titles == ["Lemons in a blue bowl", "Lemons", "Bowl", "Other colors"]
    language = (ctypes.c_ushort * 40)()
    raw.FPDFCatalog_GetLanguage(document, language, 80)
    assert bytes(language).decode("utf-16-le").strip("\0") == "en"


def test_a_page_that_is_not_known_is_refused(mixed: Mixed) -> None:
    """A page size is one of those in the table, spelled so."""
    with pytest.raises(ValueError, match="allowed are A4, Letter"):
        write_chart_pdf(mixed(1), page="a4")


@pytest.mark.parametrize("rows", range(1, 9))
def test_cautions_stay_together(mixed: Mixed, rows: int) -> None:
    """However full the page before them is, all cautions and their heading are on one page."""
    pages = texts(write_chart_pdf(mixed(rows), details=True))
    assert sum(all(text in page for text in (HEADING_CAUTIONS, *CAUTIONS)) for page in pages) == 1
