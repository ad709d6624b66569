"""Pictures to look at: the proof of a sheet, and a plan in panels or with its numbers."""

import io
from collections.abc import Mapping, Sequence
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFont

from laydown.color.arrays import Pixels
from laydown.color.lab import lab_from_xyz
from laydown.imaging.patches import inner
from laydown.imaging.reading import PageCell
from laydown.imaging.rectify import FlatPage
from laydown.sheet.reading import CellReading

RESOLUTION = 7.0
"""Of the proof [pixels per mm], at most."""
SOUND, DOUBTFUL, PLATE = (20, 60, 20), (170, 0, 0), (255, 255, 255)
SCALE = 2.5
"""Height of the writing [mm]."""


def draw_proof(
    flat: FlatPage, cells: Sequence[PageCell], readings: Mapping[int, CellReading]
) -> bytes:
    """Draw the proof of cells on a page drawn flat, with readings by cell number.

    A PNG without any description of where or when the photograph was taken. A sound cell has a thin
    outline, a doubtful one a double outline and its flags in words, so that the two are told apart
    without color.
    """
    shrink = min(1.0, RESOLUTION / flat.resolution)
    size = (round(flat.pixels.shape[1] * shrink), round(flat.pixels.shape[0] * shrink))
    image = Image.fromarray(flat.pixels).resize(size, Image.Resampling.BOX)
    pen = ImageDraw.Draw(image)
    scale = flat.resolution * shrink
    font = ImageFont.load_default(max(9, round(SCALE * scale)))
    for cell in cells:
        reading = readings.get(cell.number)
        if reading is not None:
            _draw_cell(pen, cell, reading, scale, font)
    return _png(image)


def _draw_cell(
    pen: ImageDraw.ImageDraw,
    cell: PageCell,
    reading: CellReading,
    scale: float,
    font: ImageFont.FreeTypeFont | ImageFont.ImageFont,
) -> None:
    color = DOUBTFUL if reading.flags else SOUND
    for box in (inner(cell.box), cell.box.inset(-0.5))[: 2 if reading.flags else 1]:
        corners = (box.left * scale, box.top * scale, box.right * scale, box.bottom * scale)
        pen.rectangle(corners, outline=color, width=2 if reading.flags else 1)
    L, a, b = np.round(lab_from_xyz(reading.xyz)).astype(int)
    lines = [f"{cell.number}: {L} {a} {b}", *sorted(str(flag) for flag in reading.flags)]
    x, y = (inner(cell.box).left + 0.3) * scale, (inner(cell.box).top + 0.2) * scale
    for line, text in enumerate(lines):
        place = (x, y + 1.15 * line * SCALE * scale)
        pen.rectangle(pen.textbbox(place, text, font=font), fill=PLATE)
        pen.text(place, text, fill=color, font=font)


SURROUND = (119, 119, 119)
"""Neutral gray of L* 50, against which colors are to be judged (ISO 3664)."""
WRITING, INK = (255, 255, 255), (0, 0, 0)
GAP = 16
CAPTION = 18
"""Height of the captions [pixels]."""
WIDEST = 720
"""Of a panel [pixels]."""
NUMBERED = 1600
"""Longer side of the picture with numbers [pixels]."""
LOOKED_AT, SOFT = 720, 80
"""Longer side [pixels] and quality of a photograph that is only to be looked at (chosen)."""
MOST_COLORS = 256
"""Of a PNG that holds a list of its colors, and for each pixel a place in it."""


Panel: TypeAlias = tuple[str, Pixels]
"""A picture with words above it: the words first."""


def side_by_side(rows: Sequence[Sequence[Panel]]) -> bytes:
    """Draw panels in rows from the top, on a neutral gray surround; return a PNG."""
    drawn = [[_fitted(panel) for panel in row] for row in rows]
    width = max(sum(image.width + GAP for image in row) for row in drawn) + GAP
    heights = [max(image.height for image in row) + GAP for row in drawn]
    sheet = Image.new("RGB", (width, sum(heights) + GAP), SURROUND)
    y = GAP
    for row, height in zip(drawn, heights, strict=True):
        x = GAP
        for image in row:
            sheet.paste(image, (x, y))
            x += image.width + GAP
        y += height
    return _png(sheet)


def _fitted(panel: Panel) -> Image.Image:
    caption, pixels = panel
    picture = Image.fromarray(pixels)
    picture.thumbnail((WIDEST, WIDEST), Image.Resampling.BOX)
    font = ImageFont.load_default(CAPTION)
    lines = _wrapped(caption, font, picture.width)
    top = len(lines) * (CAPTION + 4)
    image = Image.new("RGB", (picture.width, picture.height + top), SURROUND)
    pen = ImageDraw.Draw(image)
    for number, line in enumerate(lines):
        pen.text((0, number * (CAPTION + 4)), line, fill=WRITING, font=font)
    image.paste(picture, (0, top))
    return image


def _wrapped(
    text: str, font: ImageFont.FreeTypeFont | ImageFont.ImageFont, measure: int
) -> list[str]:
    lines = [""]
    for word in text.split():
        longer = f"{lines[-1]} {word}".strip()
        if lines[-1] and font.getlength(longer) > measure:
            lines.append(word)
        else:
            lines[-1] = longer
    return lines


def numbered(
    pixels: Pixels, labels: NDArray[np.int32], places: dict[int, tuple[int, int]]
) -> bytes:
    """Draw a plan in its colors with its regions' outlines, and each number at its row and column.

    The pixels are of shape (row, column, 3), the labels of shape (row, column). Returns a PNG.
    """
    scale = max(1, NUMBERED // max(labels.shape))
    large = np.kron(labels, np.ones((scale, scale), dtype=np.int32))
    edge = np.zeros(large.shape, dtype=np.bool_)
    edge[:, 1:] |= large[:, 1:] != large[:, :-1]
    edge[1:] |= large[1:] != large[:-1]
    shown = pixels.repeat(scale, axis=0).repeat(scale, axis=1)
    image = Image.fromarray(np.where(edge[..., None], np.uint8(0), shown))
    pen = ImageDraw.Draw(image)
    font = ImageFont.load_default(max(11, max(large.shape) // 80))
    for number, (row, column) in places.items():
        place = (scale * column, scale * row)
        left, top, right, bottom = pen.textbbox(place, str(number), font=font, anchor="mm")
        pen.rectangle((left - 2, top - 2, right + 2, bottom + 2), fill=PLATE)
        pen.text(place, str(number), fill=INK, font=font, anchor="mm")
    return _png(_listed(image))


def flat(pixels: Pixels) -> bytes:
    """Draw a picture of flat areas, as a PNG: small, and each pixel exactly as it is.

    >>> flat(np.zeros((2, 3, 3), dtype=np.uint8))[1:4]
    b'PNG'
    """
    return _png(_listed(Image.fromarray(pixels)))


def soft(pixels: Pixels, *, longest: int = LOOKED_AT) -> bytes:
    """Draw a picture to be looked at, its longer side at most so long [pixels], as a light WebP.

    >>> soft(np.zeros((2, 3, 3), dtype=np.uint8))[8:12]
    b'WEBP'
    """
    image = Image.fromarray(pixels)
    image.thumbnail((longest, longest), Image.Resampling.LANCZOS)
    content = io.BytesIO()
    image.save(content, "WEBP", quality=SOFT)
    return content.getvalue()


def _listed(image: Image.Image) -> Image.Image:
    """Return a picture with a list of its colors, each as it is; itself where they are many."""
    counted = image.getcolors(MOST_COLORS)
    if counted is None:
        return image
    colors = np.array(sorted(color for _, color in counted), dtype=np.int32)
    key = np.array([1 << 16, 1 << 8, 1], dtype=np.int32)
    places = np.searchsorted(colors @ key, np.asarray(image, dtype=np.int32) @ key)
    listed = Image.fromarray(places.astype(np.uint8))
    listed.putpalette(colors.astype(np.uint8).tobytes())
    return listed


def _png(image: Image.Image) -> bytes:
    content = io.BytesIO()
    image.save(content, "PNG", optimize=image.mode == "P")
    return content.getvalue()
