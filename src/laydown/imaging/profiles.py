"""What an embedded ICC profile says: exact curves and matrix where it has them, else its tables."""

import io
import struct
from dataclasses import dataclass

import numpy as np
from PIL import Image, ImageCms

from laydown.color.arrays import FloatArray, Pixels
from laydown.color.lab import WHITE_D50, xyz_from_lab
from laydown.color.screen import light_of_signal
from laydown.errors import BadFileError

SCANNER_CLASS = b"scnr"
"""Device class of a profile that was measured for an input device (ICC.1, 7.2.5)."""
LONGEST_NAME = 100
"""Characters that are told of what a profile calls itself."""
STEPS = np.arange(256) / 255.0


@dataclass(frozen=True, slots=True, eq=False)
class Profile:
    """From a picture's numbers to colors under D50."""

    name: str
    curves: FloatArray
    """Shape (256, 3), from 8 bits to linear, by channel."""
    matrix: FloatArray
    """Shape (3, 3): linear @ matrix is XYZ with white at Y = 100."""
    measured: bool
    """Whether it was made for an input device, so that it holds for this very scanner or camera."""
    tables: bytes = b""
    """The profile itself, where it works by tables and not by curves and a matrix."""
    raw: bool = False
    """Whether no camera has bent its curves: those are of a file that says what a sensor saw."""

    def linear(self, pixels: Pixels) -> FloatArray:
        """Return the linear signal, shape (…, 3), in the profile's own channels."""
        if not self.tables:
            return np.stack([self.curves[pixels[..., k], k] for k in range(3)], axis=-1)
        image = Image.fromarray(np.ascontiguousarray(pixels.reshape(1, -1, 3)))
        xyz = xyz_of_coded(ImageCms.applyTransform(image, to_lab(self.tables)))
        return np.asarray(xyz @ np.linalg.inv(self.matrix)).reshape(pixels.shape)


def to_lab(data: bytes, mode: str = "RGB") -> ImageCms.ImageCmsTransform:
    """Return what leads from a profile's numbers to CIELAB in 8 bits."""
    return ImageCms.buildTransform(
        ImageCms.ImageCmsProfile(io.BytesIO(data)),
        ImageCms.createProfile("LAB"),
        mode,
        "LAB",
        ImageCms.Intent.RELATIVE_COLORIMETRIC,
    )


def xyz_of_coded(image: Image.Image | None) -> FloatArray:
    """Return XYZ of a picture in CIELAB of 8 bits, good to about 0.3 of a unit."""
    coded = np.asarray(image).astype(np.float64)
    signed = np.where(coded[..., 1:] > 127, coded[..., 1:] - 256, coded[..., 1:])
    return xyz_from_lab(np.concatenate([coded[..., :1] / 2.55, signed], axis=-1))


def usual_profile() -> Profile:
    """Return sRGB, which a picture without a profile is taken for.

    Its primaries are those of IEC 61966-2-1 adapted to D50, as ICC profiles carry them (to four
    digits, from memory); white is made exact.

    >>> profile = usual_profile()
    >>> white = np.array([255, 255, 255], dtype=np.uint8)
    >>> np.round(profile.linear(white) @ profile.matrix, 1).tolist()
    [96.4, 100.0, 82.5]
    """
    primaries = np.array(
        [[0.4361, 0.2225, 0.0139], [0.3851, 0.7169, 0.0971], [0.1431, 0.0606, 0.7139]]
    )
    matrix = 100 * primaries
    scale = np.linalg.solve(matrix.T, WHITE_D50)
    curves = light_of_signal(STEPS)[:, None].repeat(3, axis=1)
    return Profile("sRGB", curves, scale[:, None] * matrix, False)


def read_profile(data: bytes, *, source: str) -> Profile:
    """Read the ICC profile of a picture, whose name is for the error.

    ICC.1:2010: header in 7.2, tag table in 7.3, curves in 10.5 and 10.15. Colors are relative to
    the profile's white. Raises `BadFileError` where it is none of a picture in red, green and blue.
    """
    try:
        return _read(data)
    except (struct.error, IndexError, KeyError, ValueError, OSError, ImageCms.PyCMSError):
        raise BadFileError(
            f"{source}: its embedded color profile can't be read.",
            hint="Save the picture again with an sRGB profile, or none.",
        ) from None


def _read(data: bytes) -> Profile:
    if data[36:40] != b"acsp" or data[16:20] != b"RGB ":
        raise ValueError("not an RGB profile")
    tags = _tags(data)
    measured = data[12:16] == SCANNER_CLASS
    name = ImageCms.getProfileDescription(ImageCms.ImageCmsProfile(io.BytesIO(data))).strip()
    name = name[:LONGEST_NAME]
    if b"A2B0" in tags or b"rXYZ" not in tags:
        usual = usual_profile()
        to_lab(data)  # tables that can't be used are told here, and not amid a picture
        return Profile(name, usual.curves, usual.matrix, measured, data)
    curves = np.stack([_curve(tags[color + b"TRC"]) for color in (b"r", b"g", b"b")], axis=-1)
    matrix = np.array([_fixed(tags[color + b"XYZ"], 8, 3) for color in (b"r", b"g", b"b")])
    if np.linalg.matrix_rank(matrix) < 3:
        raise ValueError("two primaries are one color")
    return Profile(name, curves, 100 * matrix, measured)


def read_gray_curve(data: bytes, *, source: str) -> FloatArray:
    """Read the curve of an ICC profile for gray pictures, shape (256,), from 8 bits to linear.

    Raises `BadFileError` where it is none of those, with a curve (ICC.1:2010, 8.3.4 and 9.2.28).
    """
    try:
        if data[36:40] != b"acsp" or data[16:20] != b"GRAY":
            raise ValueError("not a gray profile")
        curve = _curve(_tags(data)[b"kTRC"])
    except (struct.error, IndexError, KeyError, ValueError):
        raise BadFileError(
            f"{source}: its embedded gray profile can't be read.",
            hint="Save the picture again without a profile.",
        ) from None
    if data[20:24] == b"Lab ":  # the curve then is one of L*
        return xyz_from_lab(100 * curve[:, None] * np.array([1.0, 0.0, 0.0]))[:, 1] / 100
    return curve


def _tags(data: bytes) -> dict[bytes, memoryview]:
    """Return the tags by name, none of them copied: each may claim to be the whole profile."""
    (count,) = struct.unpack_from(">I", data, 128)
    if count > 200:
        raise ValueError("too many tags")
    entries = [struct.unpack_from(">4sII", data, 132 + 12 * i) for i in range(count)]
    whole = memoryview(data)
    return {name: whole[start : start + size] for name, start, size in entries}


def _fixed(data: memoryview, offset: int, count: int) -> FloatArray:
    return np.array(struct.unpack_from(f">{count}i", data, offset)) / 65536


def _curve(tag: memoryview) -> FloatArray:
    with np.errstate(all="ignore"):
        curve = _said_curve(tag)
    if not np.isfinite(curve).all():
        raise ValueError("a curve without end")
    return curve


def _said_curve(tag: memoryview) -> FloatArray:
    if bytes(tag[:4]) == b"para":
        return _parametric(struct.unpack_from(">H", tag, 8)[0], tag)
    (count,) = struct.unpack_from(">I", tag, 8)
    if bytes(tag[:4]) != b"curv" or count > 65536:
        raise ValueError("unknown curve")
    if count == 0:
        return STEPS
    values = np.array(struct.unpack_from(f">{count}H", tag, 12), dtype=np.float64)
    if count == 1:
        return np.asarray(STEPS ** (values[0] / 256))
    return np.asarray(np.interp(STEPS, np.linspace(0, 1, count), values / 65535))


def _parametric(kind: int, tag: memoryview) -> FloatArray:
    """ICC.1:2010, table 65: functions 0 to 4."""
    count = (1, 3, 4, 5, 7)[kind]
    numbers = np.array([1.0, 1.0, 0.0, 0.0, 0.0, 0.0, 0.0])
    numbers[:count] = _fixed(tag, 12, count)
    g, a, b, c, d, e, f = numbers
    if kind in (1, 2):
        c, d, e, f = 0.0, -b / a, c, c
    upper = np.maximum(a * STEPS + b, 0.0) ** g + e
    return np.asarray(np.where(d > STEPS, c * STEPS + f, upper))
