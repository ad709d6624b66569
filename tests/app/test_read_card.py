"""Cards read from photographs: however the camera was held, and whatever became of the paper."""

import io
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from PIL import Image

from laydown.app.given_file import GivenFile
from laydown.app.library import Library
from laydown.app.sheets.cards import ReadCard, card_picture, read_card
from laydown.app.supplies.papers import add_paper
from laydown.color.difference import ciede2000

BARE = (0, 5, 14, 18)
"""Places of bare paper; the others span the whole grid, so that it can be found."""
NAMES = tuple("paper" if place in BARE else f"Tint {place}" for place in range(24))
CORNERS = ((100.0, 150.0), (700.0, 150.0), (700.0, 550.0), (100.0, 550.0))
AsHeld = Callable[[Image.Image, int, str], bytes]


@pytest.fixture(scope="module")
def seen() -> Image.Image:
    """Return a card of four rows and six columns, upright, no two places of it alike."""
    pixels = np.full((700, 900, 3), 235, np.uint8)
    colors = np.random.default_rng(1).integers(30, 200, (24, 3))
    for place in set(range(24)) - set(BARE):
        top, left = 160 + 100 * (place // 6), 110 + 100 * (place % 6)
        pixels[top : top + 80, left : left + 80] = colors[place]
    return Image.fromarray(pixels)


def asked(content: bytes, **more: Any) -> ReadCard:
    """Return how the card is read, and nothing kept of it."""
    return replace(
        ReadCard(GivenFile(content, "card"), 4, 6, NAMES, "Old card", "Tints", keep=False),
        **more,
    )


@pytest.mark.parametrize("orientation", range(1, 9))
def test_a_card_reads_the_same_however_the_camera_was_held(
    library: Library, as_held: AsHeld, seen: Image.Image, orientation: int
) -> None:
    """Found or placed by its corners as a person sees them, each name gets its own color."""
    upright, found, placed = (
        read_card(library, asked(as_held(seen, 1, "JPEG"))),
        read_card(library, asked(as_held(seen, orientation, "JPEG"))),
        read_card(library, asked(as_held(seen, orientation, "JPEG"), corners=CORNERS)),
    )
    for held in (found, placed):
        assert [place.recipe for place in held.places] == [p.recipe for p in upright.places]
        off = [ciede2000(a.lab, b.lab) for a, b in zip(held.places, upright.places, strict=True)]
        assert max(off) < 1


@pytest.mark.parametrize("orientation", range(1, 9))
def test_the_picture_to_place_a_grid_on_is_the_one_that_is_read(
    as_held: AsHeld, seen: Image.Image, orientation: int
) -> None:
    """What a browser shows is upright, as large as what is read, and marked with no turn."""
    shown = card_picture(GivenFile(as_held(seen, orientation, "JPEG"), "card"))
    with Image.open(io.BytesIO(shown)) as image:
        assert image.size == seen.size
        assert 0x0112 not in image.getexif()
        off = np.abs(np.asarray(image).astype(int) - np.asarray(seen))
    assert off.mean() < 2


@pytest.mark.parametrize(("light", "kept"), [(1.0, True), (0.8, False)])
def test_bare_places_measure_the_paper_where_they_can_be_its_color(
    library: Library, as_held: AsHeld, seen: Image.Image, *, light: float, kept: bool
) -> None:
    """In a picture that is too dark they are passed over, and it is said what to do."""
    content = as_held(seen.point(lambda level: light * level), 1, "PNG")
    card = read_card(library, asked(content, way="profile", corners=CORNERS, keep=True))
    bare = [place for place in card.places if not place.recipe.steps]
    assert {place.why_not for place in bare} == ({""} if kept else {"no color of bare paper"})
    assert card.taken == 20 + kept * len(bare)
    assert any("bare Old card comes out too dark" in note for note in card.notes) != kept
    with library.look() as work:
        assert work.paper("Old card").measured == kept
        assert len(work.swatches("Tints")) == 20


def test_places_read_by_paper_white_alone_do_not_measure_the_paper(
    library: Library, as_held: AsHeld, seen: Image.Image
) -> None:
    """What was assumed of it is not kept as if it had been seen."""
    content = as_held(seen, 1, "PNG")
    card = read_card(library, asked(content, corners=CORNERS, accept_rough=True, keep=True))
    assert card.taken == 24
    with library.look() as work:
        assert not work.paper("Old card").measured


def test_a_card_is_not_forced_to_a_paper_that_a_bad_picture_left(
    library: Library, as_held: AsHeld, seen: Image.Image
) -> None:
    """By its profile, too, a picture of usual paper stands by itself against a darker one."""
    add_paper(library, "Old card", color="lab:80,0,0")
    content = as_held(seen, 1, "PNG")
    card = read_card(library, asked(content, way="profile", corners=CORNERS))
    bare = [place.lab[0] for place in card.places if not place.recipe.steps]
    assert np.mean(bare) == pytest.approx(93.0, abs=0.5)
    assert any(note.startswith("Check the color of Old card") for note in card.notes)
