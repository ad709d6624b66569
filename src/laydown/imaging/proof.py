"""The proof picture: the page drawn flat, with each cell's outline, reading and flags on it."""

import io
from collections.abc import Mapping, Sequence

import numpy as np
from PIL import Image, ImageDraw, ImageFont

from laydown.color.lab import lab_from_xyz
from laydown.imaging.patches import inner
from laydown.imaging.reading import PageCell
from laydown.imaging.rectify import FlatPage
from laydown.sheet.page import CellBox
from laydown.sheet.reading import CellReading

RESOLUTION = 7.0
"""Of the proof [pixels per mm], at most."""
SOUND, DOUBTFUL, PLATE = (20, 60, 20), (170, 0, 0), (255, 255, 255)
SCALE = 2.5
"""Height of the writing [mm]."""


def draw_proof(
    flat: FlatPage, cells: Sequence[PageCell], readings: Mapping[int, CellReading]
) -> bytes:
    """Draw the proof.

    Parameters
    ----------
    flat
        The page drawn flat.
    cells
        Its cells.
    readings
        By cell number.

    Returns
    -------
    bytes
        A PNG without any description of where or when the photograph was taken. A sound cell has a
        thin outline, a doubtful one a double outline and its flags in words, so that the two are
        told apart without color.
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
    content = io.BytesIO()
    image.save(content, "PNG")
    return content.getvalue()


def _draw_cell(
    pen: ImageDraw.ImageDraw,
    cell: PageCell,
    reading: CellReading,
    scale: float,
    font: ImageFont.FreeTypeFont | ImageFont.ImageFont,
) -> None:
    color = DOUBTFUL if reading.flags else SOUND
    for box in (inner(cell.box), cell.box.inset(-0.5))[: 2 if reading.flags else 1]:
        pen.rectangle(_corners(box, scale), outline=color, width=2 if reading.flags else 1)
    L, a, b = np.round(lab_from_xyz(reading.xyz)).astype(int)
    lines = [f"{cell.number}: {L} {a} {b}", *sorted(str(flag) for flag in reading.flags)]
    x, y = (inner(cell.box).left + 0.3) * scale, (inner(cell.box).top + 0.2) * scale
    for line, text in enumerate(lines):
        place = (x, y + 1.15 * line * SCALE * scale)
        pen.rectangle(pen.textbbox(place, text, font=font), fill=PLATE)
        pen.text(place, text, fill=color, font=font)


def _corners(box: CellBox, scale: float) -> tuple[float, float, float, float]:
    return box.left * scale, box.top * scale, box.right * scale, box.bottom * scale
