import pytest

from laydown.documents.print.layout import (
    PAGES,
    text_area,
)


def test_pages_have_the_sizes_of_their_standards() -> None:
    """A4 is 210 by 297 mm; Letter is 8.5 by 11 inches of 25.4 mm."""
    assert PAGES["A4"] == (210.0, 297.0)
    assert PAGES["Letter"] == pytest.approx((8.5 * 25.4, 11 * 25.4))


@pytest.mark.parametrize("page", PAGES.values(), ids=PAGES)
def test_text_stays_where_home_printers_print(page: tuple[float, float]) -> None:
    """The text area leaves 12 mm or more bare at each side of the page."""
    area = text_area(page)
    assert min(area.left, area.top, page[0] - area.right, page[1] - area.bottom) >= 12.0
