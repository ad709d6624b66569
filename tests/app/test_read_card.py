"""Cards read from photographs: however the camera was held, and whatever became of the paper."""

import io
import shutil
from collections.abc import Callable
from contextlib import closing
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image

from laydown.app.library import Library, open_named
from laydown.app.sheets.cards import card_picture, read_card
from laydown.app.sheets.reading import ReadSheet, SheetRead
from laydown.app.supplies.papers import add_paper
from laydown.app.swatches import ImportSwatches, import_swatches
from laydown.app.tasks import GivenFile
from laydown.color.lab import ciede2000
from laydown.errors import BadFileError
from laydown.imaging.chart import chart_xyz
from laydown.imaging.profiles import usual_profile

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


def asked(content: bytes, **more: Any) -> ReadSheet:
    """Return how the card is read, and nothing kept of it."""
    of_card = {"rows": 4, "columns": 6, "names": NAMES, "paper": "Old card", "range": "Tints"}
    return ReadSheet((GivenFile(content, "card"),), **({"keep": False} | of_card | more))


@pytest.fixture(scope="module")
def upright(
    filled: Path, as_held: AsHeld, seen: Image.Image, tmp_path_factory: pytest.TempPathFactory
) -> SheetRead:
    """Return what is read of the card as it was held upright."""
    path = shutil.copyfile(filled, tmp_path_factory.mktemp("upright") / "library.db")
    with closing(open_named(str(path))) as library:
        return read_card(library, asked(as_held(seen, 1, "JPEG")))


@pytest.mark.parametrize("orientation", range(1, 9))
def test_a_card_reads_the_same_however_the_camera_was_held(
    library: Library, as_held: AsHeld, seen: Image.Image, upright: SheetRead, orientation: int
) -> None:
    """Found or placed by its corners as a person sees them, each name gets its own color."""
    found, placed = (
        read_card(library, asked(as_held(seen, orientation, "JPEG"))),
        read_card(library, asked(as_held(seen, orientation, "JPEG"), corners=CORNERS)),
    )
    for held in (found, placed):
        assert [place.recipe for place in held.cells] == [p.recipe for p in upright.cells]
        off = [ciede2000(a.lab, b.lab) for a, b in zip(held.cells, upright.cells, strict=True)]
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
    bare = [place for place in card.cells if not place.recipe.steps]
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
    bare = [place.lab[0] for place in card.cells if not place.recipe.steps]
    assert np.mean(bare) == pytest.approx(93.0, abs=0.5)
    assert any(note.startswith("Check the color of Old card") for note in card.notes)


def png(pixels: np.ndarray) -> bytes:
    """Return a picture as a file."""
    content = io.BytesIO()
    Image.fromarray(pixels).save(content, "PNG")
    return content.getvalue()


def beside_a_chart(seen: Image.Image, *, left: bool) -> np.ndarray:
    """Return the card with a 24-patch chart to its left or right, of patches as large as its."""
    profile = usual_profile()
    linear = np.clip(chart_xyz() @ np.linalg.inv(profile.matrix), 0, 1)
    coded = np.searchsorted(profile.curves[:, 0], linear).clip(0, 255).astype(np.uint8)
    chart = np.full((700, 720, 3), 20, np.uint8)
    for patch, color in enumerate(coded):
        top, across = 155 + 105 * (patch // 6), 55 + 105 * (patch % 6)
        chart[top : top + 85, across : across + 85] = color
    both = (chart, np.asarray(seen)) if left else (np.asarray(seen), chart)
    return np.concatenate(both, axis=1)


@pytest.mark.parametrize("left", [True, False])
def test_a_chart_beside_a_card_is_never_read_as_the_card(
    library: Library, seen: Image.Image, *, left: bool
) -> None:
    """Of two grids of four by six the one that is no chart is the card, wherever it lies."""
    alone = read_card(library, asked(png(np.asarray(seen)), corners=CORNERS))
    card = read_card(library, asked(png(beside_a_chart(seen, left=left))))
    assert str(card.pages[0].accuracy.conversion) == "reference chart"
    off = [ciede2000(a.lab, b.lab) for a, b in zip(card.cells, alone.cells, strict=True)]
    assert max(off) < alone.pages[0].accuracy.mean  # else it is by 30 and more


def test_a_chart_alone_is_no_card(library: Library, seen: Image.Image) -> None:
    """Where nothing but the chart lies in the picture, no card is made up from it."""
    chart = beside_a_chart(seen, left=True)[:, :720]
    with pytest.raises(BadFileError, match="no grid of 4 rows and 6 columns") as raised:
        read_card(library, asked(png(np.ascontiguousarray(chart))))
    assert "reference chart" in raised.value.hint


@pytest.mark.parametrize("way", ["turned", "mirrored"])
def test_a_card_whose_bare_places_are_not_bare_is_refused(
    library: Library, seen: Image.Image, way: str
) -> None:
    """Held upside down or mirrored, without a word of it, the names would go to other colors."""
    pixels = np.asarray(seen)
    pixels = pixels[::-1, ::-1] if way == "turned" else pixels[:, ::-1]
    with pytest.raises(BadFileError, match="bare paper") as raised:
        read_card(library, asked(png(np.ascontiguousarray(pixels)), corners=turned_corners(way)))
    assert ("upside down" if way == "turned" else "mirrored") in raised.value.hint


def turned_corners(way: str) -> tuple[tuple[float, float], ...]:
    """Return the corners of the card's grid in a turned or mirrored picture, as they lie there."""
    low, high = (900 - 700, 900 - 100)
    top, bottom = (700 - 550, 700 - 150) if way == "turned" else (150, 550)
    return ((low, top), (high, top), (high, bottom), (low, bottom))


def test_a_single_bare_place_that_is_darker_than_its_neighbors_is_none(
    library: Library, seen: Image.Image
) -> None:
    """Where a place that is named for a color is lighter than the paper, both are misnamed."""
    names = ("Tint 0", "paper", *(name if name != "paper" else "-" for name in NAMES[2:]))
    with pytest.raises(BadFileError, match="place 1 is lighter than the places of bare paper"):
        read_card(library, asked(png(np.asarray(seen)), names=names, corners=CORNERS))
    told = read_card(
        library,
        asked(png(np.asarray(seen)), names=names, corners=CORNERS, accept=frozenset({1, 2})),
    )
    assert len(told.cells) == 21


def known_elsewhere(library: Library, lab: np.ndarray, places: list[int]) -> None:
    """Take in what an instrument measured of some tints on another paper."""
    rows = [f"Other paper,Tints,Tint {p},{lab[p][0]},{lab[p][1]},{lab[p][2]}" for p in places]
    text = "\n".join(["paper,range,color,L,a,b", "Other paper,,,95,0,0", *rows])
    import_swatches(library, ImportSwatches((GivenFile(text.encode(), "known.csv"),)))


def test_names_that_belong_to_other_colors_are_refused(library: Library, seen: Image.Image) -> None:
    """What is known of the colorants on any paper tells that the list is not this card's."""
    right = read_card(library, asked(png(np.asarray(seen)), corners=CORNERS))
    lab = {place.number - 1: place.lab for place in right.cells}
    colored = [place for place in range(24) if place not in BARE]
    known_elsewhere(library, lab, colored[:9])
    assert read_card(library, asked(png(np.asarray(seen)), corners=CORNERS)).cells
    moved = dict(zip(colored, colored[7:] + colored[:7], strict=True))
    names = tuple("paper" if p in BARE else f"Tint {moved[p]}" for p in range(24))
    with pytest.raises(BadFileError, match="names and colors don't belong together") as raised:
        read_card(library, asked(png(np.asarray(seen)), names=names, corners=CORNERS))
    assert "Tint " in raised.value.message


def test_one_name_for_two_colors_is_refused(library: Library, seen: Image.Image) -> None:
    """The same recipe laid twice looks the same twice, or a name is in the wrong line."""
    names = tuple("Tint 1" if name in ("Tint 2", "Tint 3") else name for name in NAMES)
    with pytest.raises(BadFileError, match="names and colors don't belong together"):
        read_card(library, asked(png(np.asarray(seen)), names=names, corners=CORNERS))
