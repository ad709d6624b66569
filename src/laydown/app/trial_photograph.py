"""The photograph that is kept with a trial: what may be one, and how it is shown."""

import io

import numpy as np
from PIL import Image

from laydown.app.show_trial import photograph_of
from laydown.imaging.files import broken_told, check_header, opened
from laydown.imaging.orientation import orientation_of, turned
from laydown.store.library import Library

SHOWN_SIDE, QUALITY = 1600, 85
"""The longer side of what is shown [pixels], and the quality of its JPEG."""


def check_photograph(content: bytes, source: str) -> None:
    """Refuse what is no picture, without decoding it.

    Raises
    ------
    BadFileError
        For what is none.
    """
    with broken_told(source), opened(content, source) as image:
        check_header(image, source, fewest=1)


def shown_photograph(library: Library, number: int) -> bytes:
    """Return the photograph of a trial as JPEG: upright, and no larger than is looked at.

    Raises
    ------
    UnknownNameError, NotMeasuredError
        Where there is no such trial, or no photograph of it.
    BadFileError
        For one that can't be opened.
    """
    kept = photograph_of(library, number)
    with broken_told(kept.name), opened(kept.content, kept.name) as image:
        check_header(image, kept.name, fewest=1)
        image.draft("RGB", (SHOWN_SIDE, SHOWN_SIDE))
        pixels = np.asarray(image.convert("RGB"))
        upright = Image.fromarray(turned(pixels, orientation_of(image)))
    upright.thumbnail((SHOWN_SIDE, SHOWN_SIDE))
    content = io.BytesIO()
    upright.save(content, "JPEG", quality=QUALITY)
    return content.getvalue()
