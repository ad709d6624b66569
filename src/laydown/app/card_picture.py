"""A picture as it lies in a browser, upright and in a form that any can show."""

import io

import numpy as np
from PIL import Image

from laydown.app.read_sheet import PictureFile
from laydown.imaging.files import open_photographs

QUALITY = 85


def card_picture(file: PictureFile) -> bytes:
    """Return the first picture of a file as JPEG, as large as it is, to place a grid on.

    Its colors are only to be recognized, so its profile is left out.

    Raises
    ------
    BadFileError
        For what is no picture.
    """
    pixels = next(open_photographs(file.content, source=file.source)).pixels
    if pixels.dtype != np.uint8:
        pixels = (pixels / np.iinfo(pixels.dtype).max * 255).round().astype(np.uint8)
    content = io.BytesIO()
    Image.fromarray(pixels).save(content, "JPEG", quality=QUALITY)
    return content.getvalue()
