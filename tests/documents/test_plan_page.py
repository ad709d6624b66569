"""A picture lies on its paper at its own size where that fits, and smaller where not."""

import pytest

from laydown.documents.print.plans import drawing_page, paper_size
from laydown.errors import BadFileError


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
