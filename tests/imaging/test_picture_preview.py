"""Previews of planned pictures."""

import io

import numpy as np
from PIL import Image

from laydown.imaging.picture_preview import GAP, SURROUND, WIDEST, Panel, numbered, side_by_side


def opened(content: bytes) -> np.ndarray:
    """Return the pixels of a PNG."""
    return np.asarray(Image.open(io.BytesIO(content)))


def test_panels_stand_side_by_side_on_neutral_gray() -> None:
    """Two plain panels keep their colors, with gray around and between them."""
    red, blue = (np.full((40, 60, 3), c, np.uint8) for c in ((200, 0, 0), (0, 0, 200)))
    sheet = opened(side_by_side([[Panel("one", red), Panel("two", blue)], [Panel("three", red)]]))
    assert sheet.shape[1] == 2 * 60 + 3 * GAP
    assert tuple(sheet[0, 0]) == SURROUND
    assert int((sheet == (200, 0, 0)).all(axis=-1).sum()) == 2 * 40 * 60
    assert int((sheet == (0, 0, 200)).all(axis=-1).sum()) == 40 * 60


def test_large_panels_are_made_smaller_and_long_captions_wrapped() -> None:
    """No panel is wider than allowed, whatever its picture and its words."""
    large = np.zeros((900, 1800, 3), np.uint8)
    sheet = opened(side_by_side([[Panel("word " * 60, large)]]))
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
