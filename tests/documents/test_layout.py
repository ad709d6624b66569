import re

import pytest

from laydown.documents.print.layout import (
    CAUTIONS,
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


def test_nothing_is_called_safe() -> None:
    """No caution calls a solvent or an ink safe, harmless or the like."""
    told = " ".join(CAUTIONS).casefold()
    assert not re.search(r"\bsafe|harmless|non-?toxic|no risk|not dangerous", told)


@pytest.mark.parametrize(
    "matter",
    [
        "air the room",
        "dry in air",
        "flame, spark or heat gun",
        "small, lidded, labeled jar",
        "never in a cup",
        "label and local rules",
        "fresh air",
        "lick brushes",
        "pigment dust",
        "classes go without solvent",
        "hazard label of your own country",
        "license",
    ],
)
def test_each_matter_is_spoken_of(matter: str) -> None:
    """What the trade warns of is in the cautions."""
    assert matter in " ".join(CAUTIONS)


def test_the_label_comes_first() -> None:
    """The first caution says that the label and local rules count before this page."""
    assert "counts before anything written here" in CAUTIONS[0]
