"""Open photographs, scans and scanned PDFs safely: checked before decoding, in bounded memory.

Pages of a PDF are drawn by a process of their own: see `pdf_drawing`.
"""

import io
import json
import struct
import subprocess
import sys
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from tempfile import TemporaryFile
from typing import IO, Any, TypeVar

import numpy as np
from numpy.typing import NDArray
from PIL import Image, UnidentifiedImageError

from laydown import allowed_sizes
from laydown.color.arrays import Pixels
from laydown.errors import BadFileError, LaydownError
from laydown.imaging.pdf_drawing import BROKEN, TOO_LARGE

MOST_PIXELS = 110_000_000
"""A picture with more is refused before it is decoded."""
HALVED_ABOVE = 24_000_000
"""A JPEG with more pixels is opened at half its size: finer than any cell needs."""
MOST_PAGES = 16
"""Pages of one PDF."""
FEWEST_PIXELS = 200
"""Shorter side below which no sheet can be seen."""
MOST_TOLD, MOST_TAGS = 16_000_000, 4_000_000
"""Bytes that are read of what a picture says of itself before its pixels: profiles, EXIF, texts.
Those of a TIFF are its tags, of which Pillow makes far larger lists."""
MOST_PARTS, MOST_PIECES = 20_000, 500_000
"""How often a file is read from, before its pixels and then: a PNG or a JPEG in millions of tiny
parts would take minutes. A picture of `MOST_PIXELS` in pieces of 8 kB has 60,000."""
FORMS = ("PNG", "JPEG", "TIFF", "MPO")
HEIC_MARKS = (b"heic", b"heix", b"hevc", b"mif1", b"msf1", b"heim", b"heis")
WHAT_IS_READ = "Pictures are read from PNG, JPEG, TIFF, HEIC, DNG or PDF."


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


def turned(plane: NDArray[Scalar], orientation: int) -> NDArray[Scalar]:
    """Return pixels, shape (h, w) or (h, w, channels), as they were seen, in a contiguous array.

    >>> turned(np.array([[1, 2, 3]]), 6).tolist()
    [[1], [2], [3]]
    >>> turned(np.array([[1, 2, 3]]), 2).tolist()
    [[3, 2, 1]]
    """
    mirror, quarters = TURNS.get(orientation, (False, 0))
    return np.ascontiguousarray(np.rot90(plane[:, ::-1] if mirror else plane, quarters))


@dataclass(frozen=True, slots=True, eq=False)
class Photograph:
    """A picture as opened. Where it was taken, by whom and when is not kept."""

    source: str
    """Name of the file, with the page for a PDF."""
    pixels: Pixels
    """Shape (h, w, 3), upright."""
    profile: bytes = b""
    """The embedded ICC profile; empty without one."""
    notes: tuple[str, ...] = ()
    """What was done to open it, as sentences."""
    raw: bool = False
    """Whether no camera has developed it: a digital negative, by its own matrices."""


def open_photographs(data: bytes, *, source: str) -> Iterator[Photograph]:
    """Open a file as pictures, one after the other: one, or one a page of a PDF or a TIFF.

    Raises `BadFileError` for what is no picture, too large, broken, gray, or in inks (CMYK).
    """
    check_bytes(data, source)
    if data[:5] == b"%PDF-":
        yield from _pdf_pages(data, source)
    elif is_raw(data):
        yield _negative(data, source)
    else:
        yield from _frames(data, source)


def check_bytes(data: bytes, source: str) -> None:
    """Refuse an empty file and one of more than `allowed_sizes.PICTURE`."""
    if not data:
        raise BadFileError(f"{source} is empty.", hint=WHAT_IS_READ)
    if len(data) > allowed_sizes.PICTURE:
        most = allowed_sizes.PICTURE / 1e6
        raise BadFileError(
            f"{source} has {len(data) / 1e6:.0f} MB; at most {most:.0f} MB are read.",
            hint="Scan at 300 dpi, or save the photograph as JPEG.",
        )


def _frames(data: bytes, source: str) -> Iterator[Photograph]:
    with broken_told(source), opened(data, source) as image:
        frames = min(getattr(image, "n_frames", 1), MOST_PAGES) if image.format == "TIFF" else 1
        for frame in range(frames):
            if frame:
                image.seek(frame)
            name = source if frames == 1 else f"{source}, page {frame + 1}"
            yield _photograph(image, name)


@contextmanager
def broken_told(source: str) -> Iterator[None]:
    """Turn what goes wrong in decoding into one sentence."""
    try:
        yield
    except LaydownError:
        raise
    except (Image.DecompressionBombError, Image.DecompressionBombWarning):
        raise too_large(source) from None
    except UnidentifiedImageError:
        raise BadFileError(f"{source} is not a picture.", hint=WHAT_IS_READ) from None
    except Exception:
        raise BadFileError(
            f"{source} is broken: its picture ends early or can't be decoded.",
            hint="Copy the file again from the camera or scanner, or take the picture again.",
        ) from None


def opened(data: bytes, source: str) -> Image.Image:
    """Read what a picture says of itself, without decoding it."""
    if data[4:8] == b"ftyp" and data[8:12] in HEIC_MARKS:
        _learn_heic(source)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        return Image.open(_Counted(data, source))


class _Counted(io.BytesIO):
    """A picture's file that is refused once it says too much of itself, or in too many parts."""

    def __init__(self, data: bytes, source: str) -> None:
        super().__init__(data)
        self._source, self._size = source, len(data)
        self._most_bytes = MOST_TAGS if data[:2] in (b"II", b"MM") else MOST_TOLD
        self._most_parts = MOST_PARTS
        self._bytes = self._parts = 0

    def read(self, size: int | None = -1, /) -> bytes:
        content = super().read(size)
        self._parts += 1
        self._bytes += len(content)
        if self._parts > self._most_parts or self._bytes > self._most_bytes:
            raise BadFileError(
                f"{self._source} says more about its picture than is read.",
                hint="Save it flat, without layers and notes, or as PNG or JPEG.",
            )
        return content

    def go_on_to_pixels(self) -> None:
        """Allow for as much more as decoding takes."""
        self._most_bytes = self._bytes + 2 * self._size
        self._most_parts = self._parts + MOST_PIECES


def too_large(source: str, size: tuple[int, int] | None = None) -> BadFileError:
    """Return the error for a picture of more than `MOST_PIXELS`."""
    measured = f" ({size[0]} × {size[1]} pixels)" if size else ""
    return BadFileError(
        f"{source} is too large{measured}: at most {MOST_PIXELS / 1e6:.0f} megapixels are read.",
        hint="Scan at 300 dpi, or save the photograph smaller.",
    )


def _photograph(image: Image.Image, source: str) -> Photograph:
    """Check before decoding, then decode."""
    check_header(image, source, fewest=FEWEST_PIXELS)
    _check_mode(image.mode, source)
    notes = []
    if image.format in ("JPEG", "MPO") and image.width * image.height > HALVED_ABOVE:
        image.draft("RGB", (image.width // 2, image.height // 2))
        notes.append("Read at half its size, which is finer than the cells need.")
    profile = image.info.get("icc_profile") or b""
    if image.mode != "RGB":
        notes.append(f"Converted from mode {image.mode} to red, green and blue in 8 bits.")
    pixels = np.asarray(image.convert("RGB"))
    orientation = orientation_of(image)
    if orientation != UPRIGHT:
        notes.append(TURNED)
    return Photograph(source, turned(pixels, orientation), profile, tuple(notes))


def _negative(data: bytes, source: str) -> Photograph:
    with broken_told(source), opened_raw(data, source) as raw:
        size = (raw.sizes.width, raw.sizes.height)
        check_size(size, source, fewest=FEWEST_PIXELS)
        # As the file's matrices make it, with the white balance that the camera noted: nothing is
        # brightened, and no curve is laid on it but the encoding of IEC 61966-2-1.
        pixels = raw.postprocess(
            use_camera_wb=True,
            no_auto_bright=True,
            half_size=size[0] * size[1] > HALVED_ABOVE,
            gamma=ENCODING,
            output_bps=8,
        )
    told = "Its light is taken as the sensor saw it, its colors by the file's own matrices."
    return Photograph(source, np.ascontiguousarray(pixels), notes=(told,), raw=True)


def check_header(image: Image.Image, source: str, *, fewest: int) -> None:
    """Refuse before decoding what is of no known form, too large, or has too few pixels a side."""
    if image.format not in (*FORMS, "HEIF"):
        raise BadFileError(f"{source} is a {image.format} file.", hint=WHAT_IS_READ)
    check_size(image.size, source, fewest=fewest)
    source_file = getattr(image, "fp", None)
    if isinstance(source_file, _Counted):
        source_file.go_on_to_pixels()


def check_size(size: tuple[int, int], source: str, *, fewest: int) -> None:
    """Refuse what is too large, or has too few pixels a side."""
    if size[0] * size[1] > MOST_PIXELS:
        raise too_large(source, size)
    if min(size) < fewest:
        raise BadFileError(
            f"{source} has only {size[0]} × {size[1]} pixels; "
            f"at least {fewest} each way are needed.",
            hint="Use the photograph itself and not its thumbnail.",
        )


def _check_mode(mode: str, source: str) -> None:
    if mode == "CMYK":
        raise BadFileError(
            f"{source} is in printing inks (CMYK), which hide the scanner's colors.",
            hint="Scan or save it as RGB.",
        )
    if mode in ("1", "L", "LA", "I", "F") or mode.startswith("I;"):
        raise BadFileError(
            f"{source} is gray and tells no colors.", hint="Scan or photograph in color."
        )
    if mode not in ("RGB", "RGBA", "RGBX", "P", "PA", "YCbCr", "LAB"):
        raise BadFileError(f"{source} is in an unknown color mode ({mode}).", hint=WHAT_IS_READ)


def _learn_heic(source: str) -> None:
    try:
        import pillow_heif  # noqa: PLC0415 - an extra that need not be there
    except ImportError:
        raise BadFileError(
            f"{source} is HEIC: to read it, laydown needs its extra “heif”, which isn't installed.",
            hint="Save the picture as JPEG, or install the extra.",
            command='pip install "laydown[heif]"',
        ) from None
    pillow_heif.register_heif_opener()


def _pdf_pages(data: bytes, source: str) -> Iterator[Photograph]:
    number = count = 1
    seconds = SECONDS
    while number <= count:
        page, count, took = drawn_page(data, source, number, seconds=seconds)
        if count > MOST_PAGES:
            raise BadFileError(f"{source} has {count} pages; at most {MOST_PAGES} are read.")
        yield page
        number += 1
        seconds += SECONDS_MORE - took


DNG_VERSION = 0xC612
"""The tag that every digital negative has in its first directory."""
MOST_ENTRIES = 4096
ENCODING = (2.4, 12.92)
"""Power, and slope near black, of IEC 61966-2-1."""


def is_raw(data: bytes) -> bool:
    r"""Return whether a file is a digital negative: a TIFF that says its version as one.

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
    """Read what a digital negative says of itself; `BadFileError` where nothing here reads it."""
    try:
        import rawpy  # noqa: PLC0415 - an extra that need not be there
    except ImportError:
        raise BadFileError(
            f"{source} is a raw file (DNG), and what reads those is not installed.",
            hint="Save the picture as JPEG, or install what reads it.",
            command='pip install "laydown[raw]"',
        ) from None
    return rawpy.imread(io.BytesIO(data))


PDF_DPI = 300
MOST_DRAWN = 40_000_000
"""Pixels of a page, which is drawn at a lower resolution if it would have more. A sheet of
420 × 594 mm has 35 million at 300 dpi."""
SECONDS, SECONDS_MORE = 4.0, 0.2
"""Of processor time that drawing the first page may take, and what each further one adds: as much
as a sheet scanned in color takes."""
LONGEST_WAIT = 60.0
"""Seconds on the clock, where a system holds no limits or the process stands still."""


def drawn_page(
    data: bytes, source: str, number: int, *, dpi: float = PDF_DPI, seconds: float = SECONDS
) -> tuple[Photograph, int, float]:
    """Draw a page of a PDF, by its number from 1.

    Returns the page, how many the PDF has, and the seconds of processor time that it took, which
    may be no more than `seconds` where the system can hold it to that. A page that would have more
    than `MOST_DRAWN` pixels is drawn coarser than `dpi`. Raises `BadFileError` for a PDF that is
    too large, can't be opened, lacks the page, or takes more than it may.
    """
    if len(data) > allowed_sizes.PDF:
        raise BadFileError(
            f"{source} has {len(data) / 1e6:.0f} MB; at most {allowed_sizes.PDF / 1e6:.0f} MB are "
            f"read of a PDF.",
            hint="Scan at 300 dpi, or fewer pages at a time.",
        )
    if seconds <= 0:
        raise _too_much("time or memory", source)
    asked = [str(value) for value in (number, dpi, MOST_DRAWN, seconds)]
    with TemporaryFile() as file, TemporaryFile() as drawn:
        file.write(data)
        file.seek(0)
        _check_end(_run(asked, file, drawn), source)
        drawn.seek(0)
        told = json.loads(drawn.readline())
        if "width" not in told:
            raise no_such_page(source, number, told["count"])
        note = f"Drawn from the PDF at {told['dpi']:.0f} dpi; a profile inside it is not used."
        width, height = told["width"], told["height"]
        rows = np.frombuffer(drawn.read(), np.uint8).reshape(height, told["stride"])
        pixels = rows[:, : 3 * width].reshape(height, width, 3)
        page = Photograph(f"{source}, page {number}", pixels, notes=(note,))
        return page, told["count"], told["seconds"]


def _run(asked: list[str], file: IO[bytes], drawn: IO[bytes]) -> int | None:
    """Return what the process ended with; None where it didn't."""
    # -P: nothing is imported from whatever folder this happens to run in.
    command = [sys.executable, "-P", "-m", "laydown.imaging.pdf_drawing", *asked]
    streams: dict[str, Any] = {"stdin": file, "stdout": drawn, "stderr": subprocess.DEVNULL}
    try:
        return subprocess.run(command, **streams, timeout=LONGEST_WAIT, check=False).returncode
    except subprocess.TimeoutExpired:
        return None


def _check_end(ended: int | None, source: str) -> None:
    if ended == 0:
        return
    if ended == BROKEN:
        raise BadFileError(
            f"{source} is a PDF that can't be opened (broken, or with a password).",
            hint="Scan to JPEG or PNG instead.",
        )
    raise _too_much("pixels" if ended == TOO_LARGE else "time or memory", source)


def _too_much(what: str, source: str) -> BadFileError:
    return BadFileError(
        f"{source} takes more {what} to draw than a page of a PDF may.",
        hint="Save the page as JPEG or PNG at 300 dpi instead.",
    )


def no_such_page(source: str, number: int, count: int) -> BadFileError:
    """Return the error for a page that is asked for and isn't there."""
    pages = "1 page" if count == 1 else f"{count} pages"
    return BadFileError(f"{source} has {pages}; there is no page {number}.")
