"""Digital negatives (DNG): what a sensor saw, made RGB by the file's own matrices."""

import io
import struct
from typing import Any

import numpy as np

from laydown.errors import BadFileError
from laydown.imaging.arrays import Pixels

DNG_VERSION = 0xC612
"""The tag that every digital negative has in its first directory."""
MOST_ENTRIES = 4096
ENCODING = (2.4, 12.92)
"""Power, and slope near black, of IEC 61966-2-1."""


def is_raw(data: bytes) -> bool:
    r"""Return whether a file is a digital negative: a TIFF that says its version as one.

    Examples
    --------
    >>> is_raw(b"II*\0\x08\0\0\0\x01\0\x12\xc6\x01\0\x04\0\0\0\x01\x04\0\0")
    True
    """
    if data[:4] not in (b"II*\0", b"MM\0*"):
        return False
    order = "<" if data[:2] == b"II" else ">"
    try:
        (first,) = struct.unpack_from(f"{order}I", data, 4)
        (count,) = struct.unpack_from(f"{order}H", data, first)
        tags = (
            struct.unpack_from(f"{order}H", data, first + 2 + 12 * i)[0]
            for i in range(min(count, MOST_ENTRIES))
        )
        return DNG_VERSION in tags
    except struct.error:
        return False


def opened_raw(data: bytes, source: str) -> Any:
    """Read what a digital negative says of itself, without decoding it.

    Raises
    ------
    BadFileError
        Where what reads it isn't installed.
    """
    try:
        import rawpy  # noqa: PLC0415 - an extra that need not be there
    except ImportError:
        raise BadFileError(
            f"{source} is a raw file (DNG), and what reads those is not installed.",
            hint="Save the picture as JPEG, or install what reads it.",
            command='pip install "laydown[raw]"',
        ) from None
    return rawpy.imread(io.BytesIO(data))


def developed_plainly(raw: Any, *, halved: bool) -> Pixels:
    """Return a digital negative as the file's matrices make it, shape (h, w, 3), upright.

    Its white balance is the one that the camera noted; nothing is brightened, and no curve is laid
    on it but the encoding of IEC 61966-2-1.
    """
    pixels = raw.postprocess(
        use_camera_wb=True,
        no_auto_bright=True,
        half_size=halved,
        gamma=ENCODING,
        output_bps=8,
    )
    return np.ascontiguousarray(pixels)
