"""Reports and trials on pages."""

import ctypes
import io
from xml.etree import ElementTree as ET

import numpy as np
import pypdfium2
import pytest
from pypdfium2 import raw

from laydown.color.arrays import FloatArray
from laydown.color.lab import WHITE_D50, lab_from_xyz
from laydown.color.value import luminance_from_value
from laydown.documents.print.layout import PAGES
from laydown.documents.print.reports import (
    SWATCH,
    GridCell,
    Report,
    ReportRow,
    Section,
    calibration_svg,
    report_html,
    report_pdf,
    write_trial_pdf,
)
from laydown.plan.notebook import Compared
from laydown.plan.run.ranges import hue_value_page

ROWS = tuple(ReportRow(f"Row {n}", "says <this> & that", ("#aa3344",), box=True) for n in range(40))
PLOT = hue_value_page("A plot", np.array([[50.0, 20, 20]]), np.array([[60.0, -20, 20]]))
REPORT = Report(
    "A <report>",
    ("One line.",),
    (Section("Many", ROWS), Section("Drawn", (ReportRow("", tick=True),), (PLOT,))),
    "At every foot.",
)


def _pages(content: bytes) -> list[str]:
    document = pypdfium2.PdfDocument(content)
    return [page.get_textpage().get_text_range() for page in document]


def test_a_report_runs_over_pages_and_repeats_its_headings() -> None:
    """Every row is printed once, the heading again on the next page, the foot on all."""
    pages = _pages(report_pdf(REPORT))
    assert len(pages) > 1
    assert all("At every foot." in page for page in pages)
    assert all(page.count("Many") == 1 for page in pages[:-1])
    text = " ".join(pages)
    assert all(text.count(f"Row {n}\r\n") == 1 for n in range(40))


def test_a_report_is_the_same_bytes_each_time() -> None:
    """PDF and HTML of the same report are the same."""
    assert report_pdf(REPORT, page="Letter") == report_pdf(REPORT, page="Letter")
    assert report_html(REPORT) == report_html(REPORT)


def test_a_page_needs_nothing_else_and_escapes_what_people_wrote() -> None:
    """No script, no request, no inline style; signs of markup are text."""
    page = report_html(REPORT)
    assert "A &lt;report&gt;" in page
    assert "says &lt;this&gt; &amp; that" in page
    assert "<script" not in page
    assert " style=" not in page
    assert page.count("<rect") == 2 * 40 + 2


@pytest.mark.parametrize("under", [False, True])
def test_each_patch_has_its_key_and_a_box_where_asked(under: bool) -> None:
    """Keys stand under their patches, each in the patch's own width, and none is under 8 points."""
    row = ReportRow("Rind", "", ("#aa3344", "#33aa44"), keys=("wanted", "you get"), under=under)
    report = Report("Keys", (), (Section("Pairs", (row,)),))
    (page,) = pypdfium2.PdfDocument(report_pdf(report))
    said = page.get_textpage().get_text_range()
    assert "wanted" in said
    assert "you get" in said
    for item in page.get_objects(filter=[raw.FPDF_PAGEOBJ_TEXT]):
        size = ctypes.c_float()
        raw.FPDFTextObj_GetFontSize(item, size)
        assert size.value >= 8.0
    html = report_html(report)
    assert html.count("<li>") == 2
    assert html.count('fill="#fff"') == 2 * under


COLUMNS = ("by day", "by lamp", "under a very long name of a light that must be broken")
LINES = tuple(
    (
        f"Color {n}.",
        "Kelp*2; <Dune>",
        tuple(
            GridCell((word, "1.5 off"), ("#aa3344", "#a93345"), strong=word == "breaks")
            for word in ("by day", "breaks", "holds")
        ),
    )
    for n in range(30)
)
GRIDS = Report(
    "Lights",
    ("One line.",),
    (
        Section("Grid", columns=COLUMNS, lines=LINES),
        Section("Rows", (ReportRow("", "After it."),)),
    ),
)


def test_a_grid_runs_over_pages_with_its_columns_named_on_each() -> None:
    """Every line is printed once; the names of the columns stand at the head of every page."""
    pages = _pages(report_pdf(GRIDS))
    assert len(pages) > 1
    assert pages[1].count("Grid") == 1
    assert all("by lamp" in page for page in pages)
    text = " ".join(pages)
    assert all(text.count(f"Color {n}.") == 1 for n in range(30))
    assert text.count("breaks") == 30


def test_a_grid_on_a_page_is_a_table_that_can_be_read_aloud() -> None:
    """Columns and lines have headings of their own, and patches of color are not read."""
    page = report_html(GRIDS)
    assert page.count('<th scope="col">') == 4
    assert page.count('<th scope="row">') == 30
    assert page.count("<strong>breaks</strong>") == 30
    assert page.count('aria-hidden="true"') == 90
    assert "Kelp*2; &lt;Dune&gt;" in page
    assert " style=" not in page
    assert ".grid { overflow-x: auto; }" in page


def test_a_grid_is_the_same_bytes_each_time() -> None:
    """PDF and HTML of the same grid are the same, on either page."""
    for page in ("A4", "Letter"):
        assert report_pdf(GRIDS, page=page) == report_pdf(GRIDS, page=page)


def test_many_columns_stay_on_the_page() -> None:
    """Ten lights still fit side by side, each cell within its column."""
    cells = tuple(
        GridCell(("breaks", "12.5 off", "value 5.2 / 5.8"), ("#aa3344", "#a93345"), strong=True)
        for _ in "0123456789"
    )
    names = tuple(f"light {n}" for n in range(10))
    grid = Section("Grid", columns=names, lines=(("Color", "Kelp", cells),))
    (text,) = _pages(report_pdf(Report("Lights", (), (grid,))))
    assert text.count("breaks") == 10
    assert text.count("12.5 off") == 10
    assert text.count("5.8") == 10


def test_patches_beside_their_words_leave_room_for_a_whole_box_on_a_page() -> None:
    """36 lines of three patches with a name each are one page, of A4 and of Letter."""
    cell = GridCell(("Watering can",), ("#336699",), beside=True)
    lines = tuple((f"Color {i}", "", (cell,) * 3) for i in range(36))
    grid = Section("Light, middle, dark", columns=("light", "middle", "dark"), lines=lines)
    report = Report("Runs", ("On paper.",), (grid,))
    for page in ("A4", "Letter"):
        document = pypdfium2.PdfDocument(report_pdf(report, page=page))
        assert len(document) == 1
        assert document[0].get_textpage().get_text_range().count("Watering can") == 108


MM = 72.0 / 25.4
TRIALS = tuple(
    ReportRow(f"{n}  Kelp*2; Dune", "mine on Gannet smooth\ncame out deep yellow green",
              ("#507040", "#607050"), keys=("came out", "wanted"))
    for n in range(1, 8)
)  # fmt: skip


@pytest.mark.parametrize("page", PAGES)
def test_pages_have_their_size_and_hold_every_trial(page: str) -> None:
    """Seven trials stand on two pages of the size asked for, each with its words."""
    written = pypdfium2.PdfDocument(io.BytesIO(write_trial_pdf(TRIALS, title="Trials", page=page)))
    assert len(written) == 2
    text = ""
    for sheet in written:
        assert sheet.get_size() == pytest.approx([side * MM for side in PAGES[page]], abs=0.1)
        text += sheet.get_textpage().get_text_range()
    for trial in TRIALS:
        assert trial.head.split("  ")[0] in text
    assert text.count("glue the real swatch") == 7
    assert "came out" in text
    assert "wanted" in text


def test_the_same_trials_give_the_same_bytes() -> None:
    """No clock and no chance is in the file."""
    first, second = (write_trial_pdf(TRIALS, title="Trials") for _ in range(2))
    assert first == second


def test_there_is_room_for_a_swatch() -> None:
    """The box is at least 40 by 30 mm."""
    assert SWATCH[0] >= 40
    assert SWATCH[1] >= 30


def test_a_page_that_is_not_known_is_refused() -> None:
    """Only the pages of the layout can be asked for."""
    with pytest.raises(ValueError, match="A4"):
        write_trial_pdf(TRIALS, title="Trials", page="A9")


NAME = "{http://www.w3.org/2000/svg}"


def gray(value: float) -> FloatArray:
    """Return the Lab of a gray of a value."""
    return lab_from_xyz(np.asarray(WHITE_D50) * float(luminance_from_value(value)) / 100)


COMPARED = [
    Compared(1, gray(5.0), gray(4.0), gray(4.9), 9.0, 1.0, False),
    Compared(2, gray(3.0), gray(8.0), gray(7.9), 30.0, 29.0, True),
]


def test_each_trial_is_a_ring_and_a_dot_at_its_values() -> None:
    """The dot of value 5 measured and 4.9 predicted lies just left of the middle."""
    root = ET.fromstring(calibration_svg(COMPARED, title="Mine"))
    dots = [c for c in root.iter(f"{NAME}circle") if c.find(f"{NAME}title") is not None]
    assert len(dots) == 2
    width = float(root.attrib["viewBox"].split()[2])
    assert abs(float(dots[0].attrib["cy"]) - width / 2) < 0.2
    assert 0 < width / 2 - float(dots[0].attrib["cx"]) < 5


def test_a_trial_set_aside_is_crossed_and_not_only_colored() -> None:
    """Two more lines are drawn for it than for another."""
    counts = [
        len(list(ET.fromstring(calibration_svg([p], title="x")).iter(f"{NAME}line")))
        for p in COMPARED
    ]
    assert counts[1] == counts[0] + 2


def test_it_says_what_it_shows_and_has_no_inline_style() -> None:
    """Its title is escaped, and a strict page may hold it."""
    svg = calibration_svg(COMPARED, title='Kit "mine" & yours')
    root = ET.fromstring(svg)
    assert root.attrib["aria-label"] == 'Kit "mine" & yours'
    assert "style=" not in svg
