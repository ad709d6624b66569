"""A printed plan: a numbered drawing, a pale outline, and a list with recipes and cautions."""

from collections.abc import Callable
from dataclasses import replace
from functools import cache

import numpy as np
import pypdfium2 as pdfium
import pytest

from laydown.documents.print.layout import CAUTIONS, SHOWN_COLORS
from laydown.documents.print.plans import (
    draw_plan,
    drawing_page,
    losses,
    numbers_of,
    paper_size,
    plan_html,
    plan_rows,
    plan_svg,
    print_warnings,
    write_plan_pdf,
)
from laydown.errors import BadFileError
from laydown.plan.picture.picture import PicturePlan

MM = 72.0 / 25.4
Plans = Callable[..., PicturePlan]


def written(plan: PicturePlan, paper: str = "A4") -> bytes:
    """Write a plan on a paper."""
    return write_plan_pdf(plan, draw_plan(plan, paper_size(paper)))


@pytest.fixture(scope="module")
def printed(make_picture_plan: Plans) -> Callable[[str], bytes]:
    """Give the usual plan on a paper, written once."""
    plan = make_picture_plan()
    return cache(lambda paper: written(plan, paper))


def texts(data: bytes) -> list[str]:
    """Return the text of each page on one line."""
    return [
        " ".join(page.get_textpage().get_text_range().replace("\u00a0", " ").split())
        for page in pdfium.PdfDocument(data)
    ]


@pytest.mark.parametrize("paper", ["A5", "A4", "A3", "Letter", "240x320"])
def test_pages_have_the_papers_size(printed: Callable[[str], bytes], paper: str) -> None:
    """Drawings and list are on the paper asked for, exact to a tenth of a millimetre."""
    for page in pdfium.PdfDocument(printed(paper)):
        size = sorted((page.get_width() / MM, page.get_height() / MM))
        assert size == pytest.approx(sorted(paper_size(paper)), abs=0.1)


@pytest.mark.parametrize("paper", ["A4", "A3", "Letter"])
def test_a_millimetre_is_a_millimetre(printed: Callable[[str], bytes], paper: str) -> None:
    """Both drawings, measured on the printed page, are 120 × 90 mm large, their lines included."""
    for page in list(pdfium.PdfDocument(printed(paper)))[:2]:
        ink = page.render(scale=10 / MM, grayscale=True).to_numpy()[: -13 * 10] < 230
        high, wide = (np.ptp(np.flatnonzero(ink.any(axis=axis))) / 10 for axis in (1, 0))
        assert (wide, high) == pytest.approx((120.0, 90.0), abs=0.4)


def test_each_region_has_its_colors_number(
    make_picture_plan: Plans, printed: Callable[[str], bytes]
) -> None:
    """The first page prints as many of each number as the plan has regions of that color."""
    plan = make_picture_plan()
    page, *_ = texts(printed("A4"))
    numbers = sorted(word for word in page.split() if word.isdigit())
    assert numbers == sorted(numbers_of(plan).values())


def test_the_outline_to_trace_bears_no_number(printed: Callable[[str], bytes]) -> None:
    """The second page has lines and a line of words at its foot alone."""
    page = texts(printed("A4"))[1]
    assert "Pale outline" in page
    assert not any(word.isdigit() for word in page.split())


@pytest.mark.parametrize("paper", ["A5", "A4"])
def test_the_list_says_all(
    make_picture_plan: Plans, printed: Callable[[str], bytes], paper: str
) -> None:
    """Colors with recipe, judgement and value, what is lost, what is needed, notes, cautions."""
    plan = make_picture_plan()
    pages = texts(printed(paper))[2:]
    told = " ".join(pages).replace("- ", "-")
    for row in plan_rows(plan):
        assert row.wanted.words in told
        assert row.entry is not None
        assert str(row.entry.verdict) in told.casefold()
    words = ("Marrow", "Plum skin", "Orchard, marker", "Invented data")
    for text in (*losses(plan), *plan.notes, *CAUTIONS, *words):
        assert text.replace("\u00a0", " ").split(".")[0] in " ".join(told.split())
    assert all(SHOWN_COLORS in page for page in pages)


def test_a_plan_of_values_alone_is_printed(make_picture_plan: Plans) -> None:
    """Without palette and kit its numbers are the steps from the lightest, each with its value."""
    plan = make_picture_plan(kits=(), valued=True)
    rows = plan_rows(plan)
    assert [row.number for row in rows] == [1, 2, 3, 4]
    assert [row.wanted.numbers.split(",")[0] for row in rows] == [
        f"value {v}" for v in (8.5, 6.5, 4.5, 2.5)
    ]
    pages = texts(written(plan))
    assert set(numbers_of(plan).values()) == {"1", "2", "3", "4"}
    assert "before any kit is chosen" in pages[2]


def test_a_paper_too_small_is_told(make_picture_plan: Plans) -> None:
    """The drawing shrinks to the paper, and the list says by how much."""
    plan = make_picture_plan()
    small = draw_plan(plan, (100.0, 140.0))
    assert small.scale == pytest.approx(78.0 / 90.0)
    assert any("too small" in text for text in print_warnings(small))
    assert not any(
        "paper is too small" in text for text in print_warnings(draw_plan(plan, (210.0, 297.0)))
    )


def test_regions_without_a_number_are_told(make_picture_plan: Plans) -> None:
    """A picture so small that numbers don't fit says how many, and what to do."""
    plan = make_picture_plan()
    tiny = replace(plan, values=replace(plan.values, width=6.0))
    drawing = draw_plan(tiny, (210.0, 297.0))
    assert drawing.unnumbered == len(plan.values.regions) - len(drawing.numbers) > 0
    assert any(
        text.startswith(f"{drawing.unnumbered} region") and "wider" in text
        for text in print_warnings(drawing)
    )


def test_the_same_plan_gives_the_same_bytes(make_picture_plan: Plans) -> None:
    """Nothing of time or chance is in the file."""
    assert written(make_picture_plan()) == written(make_picture_plan())


def test_values_alone_are_shown_in_grays(make_picture_plan: Plans) -> None:
    """Where hues are free no patch of the list has one, and no small picture has."""
    plan = make_picture_plan()
    free = replace(plan, kits=(replace(plan.kits[0], values_only=True),))
    for row in plan_rows(free):
        assert all(len({fill[1:3], fill[3:5], fill[5:7]}) == 1 for fill in row.shown)
    for page in list(pdfium.PdfDocument(written(free)))[2:]:
        pixels = page.render(scale=1).to_numpy()[..., :3].astype(int)
        assert np.ptp(pixels, axis=-1).max() <= 8


def test_a_gray_of_value_8_is_told_from_its_ground(make_picture_plan: Plans) -> None:
    """Every patch has an edge that shows on what it lies on, in each form."""
    plan = make_picture_plan(kits=(), valued=True)
    drawing = draw_plan(plan, paper_size("A4"))
    assert "#cbcbcb" not in plan_svg(plan, drawing) + plan_html(plan, drawing)
    assert plan_svg(plan, drawing).count('fill="none" stroke="#5c5c58" stroke-width="0.2"') == 8
    page = pdfium.PdfDocument(written(plan))[2].render(scale=3, grayscale=True).to_numpy()
    assert (page < 130).any()


@pytest.mark.parametrize(
    ("text", "size"),
    [
        ("A4", (210.0, 297.0)),
        (" a3 ", (297.0, 420.0)),
        ("LETTER", (215.9, 279.4)),
        ("240x320", (240.0, 320.0)),
        ("300.5 × 400", (300.5, 400.0)),
    ],
)
def test_papers_are_known_by_name_or_by_their_sides(text: str, size: tuple[float, float]) -> None:
    """Names in any case, or width and height in millimetres."""
    assert paper_size(text) == size


@pytest.mark.parametrize("text", ["", "A9", "100x300", "300x2000", "300", "-5x300", "nanxnan"])
def test_another_paper_is_refused(text: str) -> None:
    """The sentence says what papers there are."""
    with pytest.raises(BadFileError, match="is no paper") as raised:
        paper_size(text)
    assert "A4" in raised.value.hint


@pytest.mark.parametrize("picture", [(180.0, 120.0), (120.0, 180.0), (400.0, 100.0), (50.0, 900.0)])
@pytest.mark.parametrize("paper", ["A5", "A4", "A3", "Letter"])
def test_a_picture_stays_on_its_paper(paper: str, picture: tuple[float, float]) -> None:
    """It lies wholly inside the margins, keeps its shape, and is never made larger."""
    size, box, scale = drawing_page(paper_size(paper), picture)
    assert sorted(size) == sorted(paper_size(paper))
    assert box.left >= 9 - 1e-9
    assert box.top >= 9 - 1e-9
    assert box.right <= size[0] - 9 + 1e-9
    assert box.bottom <= size[1] - 13 + 1e-9
    assert box.width / box.height == pytest.approx(picture[0] / picture[1])
    assert scale <= 1.0


def test_a_wide_picture_turns_its_paper_only_where_that_helps() -> None:
    """What fits upright stays upright."""
    a4 = paper_size("A4")
    assert drawing_page(a4, (180.0, 120.0))[0] == a4
    assert drawing_page(a4, (250.0, 120.0))[0] == a4[::-1]
    assert drawing_page(a4, (250.0, 120.0))[2] == 1.0
