"""Cards that somebody else drew."""

from types import ModuleType

import cv2
import numpy as np
import pytest

from laydown.color.lab import ciede2000, lab_from_xyz
from laydown.imaging.profiles import usual_profile
from laydown.imaging.reading import (
    PITCH,
    PageCell,
    card_boxes,
    find_card,
    map_card,
    read_card_cells,
)

ROWS, COLUMNS = 4, 6
CORNERS = np.array([[310.0, 260.0], [1650.0, 320.0], [1600.0, 1210.0], [290.0, 1150.0]])


def drawn(colors: np.ndarray) -> np.ndarray:
    """Return a picture of a card under falling light, colors in linear signal, shape (24, 3)."""
    flat = np.ones((ROWS * 100, COLUMNS * 100, 3))
    for place, color in enumerate(colors):
        row, column = divmod(place, COLUMNS)
        flat[row * 100 + 10 : row * 100 + 90, column * 100 + 10 : column * 100 + 90] = color
    at = np.array([[0, 0], [600, 0], [600, 400], [0, 400]], dtype=np.float64)
    homography = cv2.findHomography(at, CORNERS, 0)[0]
    page = cv2.warpPerspective(flat, homography, (2000, 1500), borderValue=(1, 1, 1))
    lit = page * np.linspace(0.9, 0.5, 2000)[None, :, None]
    coded = np.where(lit <= 0.0031308, 12.92 * lit, 1.055 * np.maximum(lit, 0) ** (1 / 2.4) - 0.055)
    return np.round(255 * coded).astype(np.uint8)


@pytest.fixture
def colors() -> np.ndarray:
    """Return 24 colors, four of them bare paper."""
    made = np.random.default_rng(4).uniform(0.05, 0.8, (24, 3))
    made[[0, 5, 14, 18]] = 1.0
    return made


@pytest.mark.parametrize("found", [True, False])
def test_places_are_read_whether_corners_are_found_or_told(colors: np.ndarray, found: bool) -> None:
    """Each named place comes back with its color, the light being taken from the bare ones."""
    pixels = drawn(colors)
    if found:
        page_map = find_card(pixels, rows=ROWS, columns=COLUMNS)
    else:
        page_map = map_card(CORNERS, rows=ROWS, columns=COLUMNS)
    assert page_map is not None
    boxes = card_boxes(rows=ROWS, columns=COLUMNS)
    cells = [
        PageCell(place + 1, box, bool((colors[place] == 1).all()))
        for place, box in enumerate(boxes)
    ]
    reading = read_card_cells(pixels, page_map, cells, usual_profile().linear)
    matrix = usual_profile().matrix
    read = np.array([reading.patches[place + 1].mean for place in range(24)]) @ matrix
    assert ciede2000(lab_from_xyz(read), lab_from_xyz(colors @ matrix)).max() < 1.0


def test_a_picture_without_a_grid_has_none(photos: ModuleType) -> None:
    """Where no grid of that size is seen, none is made up."""
    del photos
    assert find_card(np.full((400, 600, 3), 200, np.uint8), rows=4, columns=6) is None


def test_places_lie_in_the_middle_of_the_grid() -> None:
    """Half of a place is read, so that ragged edges don't matter."""
    box = card_boxes(rows=2, columns=3)[5]
    assert box.center == (2.5 * PITCH, 1.5 * PITCH)
    assert box.width == PITCH / 2
