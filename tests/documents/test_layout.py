from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from laydown.documents.print.layout import (
    PAGES,
    Block,
    paginate,
    text_area,
)

BLOCKS = st.lists(
    st.builds(
        Block,
        height=st.floats(1.0, 90.0),
        passage=st.integers(0, 3),
        heading=st.sampled_from([False, False, False, True]),
    ),
    max_size=40,
)
HEIGHT = 200.0


def test_pages_have_the_sizes_of_their_standards() -> None:
    """A4 is 210 by 297 mm; Letter is 8.5 by 11 inches of 25.4 mm."""
    assert PAGES["A4"] == (210.0, 297.0)
    assert PAGES["Letter"] == pytest.approx((8.5 * 25.4, 11 * 25.4))


@pytest.mark.parametrize("page", PAGES.values(), ids=PAGES)
def test_text_stays_where_home_printers_print(page: tuple[float, float]) -> None:
    """The text area leaves 12 mm or more bare at each side of the page."""
    area = text_area(page)
    assert min(area.x, area.y, page[0] - area.right, page[1] - area.bottom) >= 12.0


@given(BLOCKS)
def test_every_block_is_placed_once_and_in_order(blocks: list[Block]) -> None:
    """Repeated headings aside, blocks come once each, in their order."""
    placed = [p.block for p in paginate(blocks, HEIGHT) if not p.again]
    assert placed == list(range(len(blocks)))


@given(BLOCKS)
def test_no_block_reaches_into_the_next_or_off_the_page(blocks: list[Block]) -> None:
    """On each page blocks follow without overlap; only what stands first may be too high."""
    end: dict[int, float] = {}
    alone = True
    for place in paginate(blocks, HEIGHT):
        alone = place.page not in end or (alone and blocks[place.block - 1].heading)
        assert place.y >= end.get(place.page, 0.0)
        end[place.page] = place.y + blocks[place.block].height
        assert end[place.page] <= HEIGHT or alone or place.y <= 90.0


@given(BLOCKS)
def test_a_heading_has_its_first_row_on_the_same_page(blocks: list[Block]) -> None:
    """No heading is the last thing on a page, unless nothing follows or nothing could fit."""
    places = paginate(blocks, HEIGHT)
    for place, after in pairwise(places):
        if blocks[place.block].heading and place.page != after.page:
            assert blocks[place.block].height + blocks[after.block].height > HEIGHT or place.y == 0


def test_a_passage_that_goes_on_repeats_its_heading() -> None:
    """After a page's end within a passage its heading stands first on the next page."""
    blocks = [Block(10.0, 0, heading=True), *[Block(60.0, 0)] * 5]
    places = paginate(blocks, HEIGHT)
    first = {p.page: p for p in reversed(places)}
    assert not first[0].again
    assert first[1].block == 0
    assert first[1].again
    assert [p.block for p in places if not p.again] == [0, 1, 2, 3, 4, 5]


def test_a_block_higher_than_a_page_gets_a_page_of_its_own() -> None:
    """What fits nowhere starts at a page's top, and what follows goes to the next."""
    places = paginate([Block(50.0), Block(300.0), Block(50.0)], HEIGHT)
    assert [(p.page, p.y) for p in places] == [(0, 0.0), (1, 0.0), (2, 0.0)]
