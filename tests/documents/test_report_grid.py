import pypdfium2

from laydown.documents.print.reports import (
    GridCell,
    Report,
    ReportRow,
    Section,
    report_html,
    report_pdf,
)

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
REPORT = Report(
    "Lights",
    ("One line.",),
    (
        Section("Grid", columns=COLUMNS, lines=LINES),
        Section("Rows", (ReportRow("", "After it."),)),
    ),
)


def _pages(content: bytes) -> list[str]:
    document = pypdfium2.PdfDocument(content)
    return [page.get_textpage().get_text_range() for page in document]


def test_a_grid_runs_over_pages_with_its_columns_named_on_each() -> None:
    """Every line is printed once; the names of the columns stand at the head of every page."""
    pages = _pages(report_pdf(REPORT))
    assert len(pages) > 1
    assert pages[1].count("Grid") == 1
    assert all("by lamp" in page for page in pages)
    text = " ".join(pages)
    assert all(text.count(f"Color {n}.") == 1 for n in range(30))
    assert text.count("breaks") == 30


def test_a_grid_on_a_page_is_a_table_that_can_be_read_aloud() -> None:
    """Columns and lines have headings of their own, and patches of color are not read."""
    page = report_html(REPORT)
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
        assert report_pdf(REPORT, page=page) == report_pdf(REPORT, page=page)


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
