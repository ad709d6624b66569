import ctypes

import numpy as np
import pypdfium2
import pytest
from pypdfium2 import raw

from laydown.documents.print.reports import Report, ReportRow, Section, report_html, report_pdf
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
