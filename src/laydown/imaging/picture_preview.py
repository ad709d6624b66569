"""A planned picture to look at: panels side by side on gray, and its regions with their numbers."""

import io
from collections.abc import Sequence
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFont

from laydown.color.arrays import Pixels

SURROUND = (119, 119, 119)
"""Neutral gray of L* 50, against which colors are to be judged (ISO 3664)."""
WRITING, INK, PLATE = (255, 255, 255), (0, 0, 0), (255, 255, 255)
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
    """Draw panels in rows, on a neutral gray surround.

    Parameters
    ----------
    rows
        From the top, each from the left.

    Returns
    -------
    bytes
        A PNG.

    Examples
    --------
    ``side_by_side([[("The picture", seen), ("From Orchard", made)]])``
    """
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
    """Draw a plan with the outlines of its regions, and each one's number in it.

    Parameters
    ----------
    pixels
        Shape (row, column, 3), the plan in its colors.
    labels
        Shape (row, column), its regions.
    places
        For each region the row and column of its number.

    Returns
    -------
    bytes
        A PNG.

    Examples
    --------
    ``numbered(screen_pixels(painted(plan)), plan.values.labels, inner_places(plan.values.labels))``
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

    Examples
    --------
    >>> flat(np.zeros((2, 3, 3), dtype=np.uint8))[1:4]
    b'PNG'
    """
    return _png(_listed(Image.fromarray(pixels)))


def soft(pixels: Pixels, *, longest: int = LOOKED_AT) -> bytes:
    """Draw a picture of soft shades to be looked at, as a WebP: a page shall weigh little.

    Parameters
    ----------
    pixels
        Shape (row, column, 3).
    longest
        Its longer side is made no longer than that [pixels].

    Examples
    --------
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
