"""Previews of planned pictures."""

import io

import numpy as np
from PIL import Image

from laydown.imaging.preview import (
    GAP,
    LOOKED_AT,
    SURROUND,
    WIDEST,
    flat,
    numbered,
    side_by_side,
    soft,
)


def opened(content: bytes) -> np.ndarray:
    """Return the pixels of a PNG."""
    return np.asarray(Image.open(io.BytesIO(content)).convert("RGB"))


def test_panels_stand_side_by_side_on_neutral_gray() -> None:
    """Two plain panels keep their colors, with gray around and between them."""
    red, blue = (np.full((40, 60, 3), c, np.uint8) for c in ((200, 0, 0), (0, 0, 200)))
    sheet = opened(side_by_side([[("one", red), ("two", blue)], [("three", red)]]))
    assert sheet.shape[1] == 2 * 60 + 3 * GAP
    assert tuple(sheet[0, 0]) == SURROUND
    assert int((sheet == (200, 0, 0)).all(axis=-1).sum()) == 2 * 40 * 60
    assert int((sheet == (0, 0, 200)).all(axis=-1).sum()) == 40 * 60


def test_large_panels_are_made_smaller_and_long_captions_wrapped() -> None:
    """No panel is wider than allowed, whatever its picture and its words."""
    large = np.zeros((900, 1800, 3), np.uint8)
    sheet = opened(side_by_side([[("word " * 60, large)]]))
    assert sheet.shape[1] == WIDEST + 2 * GAP
    assert sheet.shape[0] > WIDEST // 2 + 4 * GAP


def test_regions_are_outlined_and_numbered() -> None:
    """Black runs where regions meet, and a plate lies at each number's place."""
    labels = np.ones((200, 300), np.int32)
    labels[:, 150:] = 2
    gray = np.full((200, 300, 3), 128, np.uint8)
    drawn = opened(numbered(gray, labels, {1: (100, 75), 2: (100, 225)}))
    scale = drawn.shape[0] // 200
    assert (drawn[:, 150 * scale] == 0).all()
    assert (drawn[5, 5] == 128).all()
    for column in (75, 225):
        around = drawn[90 * scale : 110 * scale, (column - 15) * scale : (column + 15) * scale]
        assert (around == 255).any()
        assert (around == 0).any()


def test_few_flat_colors_are_listed_and_kept_exactly() -> None:
    """The file holds a list of the colors; opened, each pixel is what it was."""
    chance = np.random.default_rng(3)
    colors = chance.integers(0, 256, (40, 3)).astype(np.uint8)
    pixels = colors[chance.integers(0, 40, (60, 90))]
    drawn = flat(pixels)
    assert Image.open(io.BytesIO(drawn)).mode == "P"
    assert np.array_equal(opened(drawn), pixels)


def test_many_flat_colors_are_kept_exactly_as_well() -> None:
    """More colors than a list holds are written pixel by pixel."""
    pixels = np.arange(3 * 30 * 40).reshape(30, 40, 3).astype(np.uint8)
    pixels[..., 0] = np.arange(30)[:, None]
    assert np.array_equal(opened(flat(pixels)), pixels)


def test_a_photograph_is_shown_no_larger_than_it_is_looked_at() -> None:
    """A large one is made smaller, a small one stays; both keep their shape."""
    large = np.full((600, 1800, 3), 90, np.uint8)
    assert Image.open(io.BytesIO(soft(large))).size == (LOOKED_AT, LOOKED_AT // 3)
    assert Image.open(io.BytesIO(soft(large[:20, :60]))).size == (60, 20)
