"""Turn what a camera stored as it was held into what a person saw: the one place that does."""

import struct
import warnings
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray
from PIL import Image

Scalar = TypeVar("Scalar", bound=np.generic)

ORIENTATION = 0x0112
"""The EXIF tag that says how the camera was held."""
UPRIGHT = 1
TURNS: dict[int, tuple[bool, int]] = {
    2: (True, 0),
    3: (False, 2),
    4: (True, 2),
    5: (True, 1),
    6: (False, 3),
    7: (True, 3),
    8: (False, 1),
}
"""By orientation (EXIF 2.32, 4.6.4): whether to mirror first, then quarter turns to the left."""
TURNED = "It is turned upright, as the camera noted."


def orientation_of(image: Image.Image) -> int:
    """Return how a picture has still to be turned, 1 to 8, once it is loaded.

    Before, a TIFF isn't turned yet by what decodes it, and a PNG may not have come to its note. A
    note that can't be read, or is none of the eight, counts as upright.
    """
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # a note that breaks off
            noted = image.getexif().get(ORIENTATION, UPRIGHT)
    except (SyntaxError, ValueError, OSError, struct.error):
        return UPRIGHT
    return noted if noted in TURNS else UPRIGHT


def lies_on_its_side(orientation: int) -> bool:
    """Return whether width and height are exchanged by turning it.

    Examples
    --------
    >>> [lies_on_its_side(orientation) for orientation in (1, 3, 6)]
    [False, False, True]
    """
    return TURNS.get(orientation, (False, 0))[1] % 2 == 1


def turned(plane: NDArray[Scalar], orientation: int) -> NDArray[Scalar]:
    """Return rows and columns of pixels as they were seen, in a contiguous array.

    Parameters
    ----------
    plane
        Shape (h, w) or (h, w, channels).
    orientation
        As `orientation_of` returns it.

    Examples
    --------
    >>> turned(np.array([[1, 2, 3]]), 6).tolist()
    [[1], [2], [3]]
    >>> turned(np.array([[1, 2, 3]]), 2).tolist()
    [[3, 2, 1]]
    """
    mirror, quarters = TURNS.get(orientation, (False, 0))
    return np.ascontiguousarray(np.rot90(plane[:, ::-1] if mirror else plane, quarters))
