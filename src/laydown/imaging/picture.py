"""Open any photograph or drawing to plan it: upright, in light under D50, at the size asked for."""

import warnings
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from laydown.color.arrays import Plane
from laydown.color.lab import WHITE_D50, lab_from_xyz
from laydown.errors import BadFileError
from laydown.imaging.files import (
    TURNED,
    UPRIGHT,
    broken_told,
    check_bytes,
    check_header,
    drawn_page,
    lies_on_its_side,
    no_such_page,
    opened,
    orientation_of,
    turned,
)
from laydown.imaging.modes import Decoder, decoder_for, is_transparent, opacity
from laydown.opencv import cv2

FEWEST_PIXELS = 48
"""Shorter side below which there is nothing to plan."""
LONGEST_SHAPE = 20
"""A strip longer than so many times its width is refused."""
PANORAMA = 5
"""What is longer than so many times its width is made smaller by its width: a fifth of what was
asked for is left of it, so that its length is more."""
MOST_WORKING = 12_000_000
"""Pixels of the result: 12 bytes each."""
STRIP = 2_000_000
"""Pixels that are decoded at a time."""
FINER = 2
"""A JPEG, or what goes through tables, is first made smaller to so many times the wanted size."""
COVERED = 0.998
"""Cover that counts as whole: 254 of 255, less what averaging rounds."""


@dataclass(frozen=True, slots=True, eq=False)
class Picture:
    """A picture as opened. Where it was taken, by whom and when is not kept."""

    source: str
    """Name of the file."""
    xyz: Plane
    """Shape (h, w, 3), the light of each place under D50, the perfect white at Y = 100."""
    opaque: NDArray[np.bool_]
    """Shape (h, w), False where the file is more than half transparent."""
    size: tuple[int, int]
    """Width and height of the whole picture, upright, before it was made smaller [pixels]."""
    notes: tuple[str, ...] = ()
    """What was done to open it, as sentences."""

    @property
    def lab(self) -> Plane:
        """CIELAB under D50, shape (h, w, 3)."""
        return lab_from_xyz(self.xyz.astype(np.float64)).astype(np.float32)


def open_picture(data: bytes, *, source: str, longest: int | None = None, page: int = 1) -> Picture:
    """Open a photograph, a scan or a drawing.

    Parameters
    ----------
    data
        The file: PNG, JPEG, TIFF, HEIC or PDF; in color, gray, black and white, inks (CMYK), a
        palette or CIELAB; in up to 16 bits; transparent or not.
    source
        Its name, for messages.
    longest
        Longer side to make it smaller to [pixels]; None for as large as `MOST_WORKING` allows. A
        panorama comes back longer: see `PANORAMA`.
    page
        Of a PDF or a TIFF, from 1.

    Returns
    -------
    Picture

    Raises
    ------
    BadFileError
        For what is no picture, too large, too small, too narrow, or broken.

    Notes
    -----
    Light is averaged, not encoded numbers, so that hatching and halftones keep their value. A JPEG
    far larger than asked for is decoded at ½, ¼ or ⅛ of its size, of which this does not hold.

    Examples
    --------
    ``open_picture(Path("lemons.jpg").read_bytes(), source="lemons.jpg", longest=1000).lab``
    """
    check_bytes(data, source)
    if data[:5] == b"%PDF-":
        return _from_pdf(data, source, longest, page)
    with broken_told(source), warnings.catch_warnings():
        warnings.simplefilter("ignore")  # odd tags, and sizes that check_header judges
        with opened(data, source) as image:
            return _from_image(image, source, longest, page)


def _from_pdf(data: bytes, source: str, longest: int | None, page: int) -> Picture:
    drawn, count, _ = drawn_page(data, source, page)
    image = Image.fromarray(drawn.pixels)
    _check_shape(image, source)
    told = (*_page_told(source, page, count), *drawn.notes)
    decoder = replace(decoder_for(image, source), notes=())
    return _decoded(image, decoder, source, longest, told)


def _from_image(image: Image.Image, source: str, longest: int | None, page: int) -> Picture:
    told = _page_told(source, page, getattr(image, "n_frames", 1) if image.format == "TIFF" else 1)
    if page > 1:
        image.seek(page - 1)
    check_header(image, source, fewest=FEWEST_PIXELS)
    _check_shape(image, source)
    decoder = decoder_for(image, source)
    if ";16" in str(getattr(image, "tile", "")) and not image.mode.startswith("I;16"):
        told += ("Of its 16 bits a channel the upper 8 are used.",)
    whole = image.size
    if longest and image.format in ("JPEG", "MPO"):
        width, height = _fitted(whole, longest)
        image.draft(image.mode, (FINER * width, FINER * height))
    image.load()
    picture = _decoded(image, decoder, source, longest, told)
    return _upright(picture, orientation_of(image), whole)


def _page_told(source: str, page: int, count: int) -> tuple[str, ...]:
    if not 1 <= page <= count:
        raise no_such_page(source, page, count)
    return (f"Page {page} of {count} is read.",) if count > 1 else ()


def _check_shape(image: Image.Image, source: str) -> None:
    shape = max(image.size) / min(image.size)
    if shape > LONGEST_SHAPE:
        raise BadFileError(
            f"{source} is {shape:.0f} times as long as it is wide; at most {LONGEST_SHAPE} times "
            "can be planned.",
            hint="Cut it into parts.",
        )


def _fitted(size: tuple[int, int], longest: int | None) -> tuple[int, int]:
    """Return the width and height to make a picture smaller to."""
    width, height = size
    wanted = (MOST_WORKING / (width * height)) ** 0.5
    if longest:
        wanted = min(wanted, max(longest / max(size), longest / PANORAMA / min(size)))
    scale = min(1.0, wanted)
    return max(1, round(width * scale)), max(1, round(height * scale))


def _decoded(
    image: Image.Image, decoder: Decoder, source: str, longest: int | None, told: tuple[str, ...]
) -> Picture:
    size = _fitted(image.size, longest)
    if decoder.slow:
        image = image.reduce(max(1, min(image.width // size[0], image.height // size[1]) // FINER))
    linear, covered = _shrunk(image, decoder, size)
    xyz = linear @ decoder.matrix.astype(np.float32)
    notes = told + decoder.notes
    if covered.min() < COVERED:
        xyz += (1 - covered)[..., None] * WHITE_D50.astype(np.float32)
        notes += ("What is transparent in it is laid over white paper.",)
    return Picture(source, np.maximum(xyz, 0), covered >= 0.5, image.size, notes)


def _shrunk(image: Image.Image, decoder: Decoder, size: tuple[int, int]) -> tuple[Plane, Plane]:
    """Return mean light, weighted by its cover, shape (h, w, channels), and mean cover, (h, w)."""
    block = max(1, min(image.width // size[0], image.height // size[1]))
    rows = block * max(1, STRIP // (image.width * block))
    parts = []
    for top in range(0, image.height, rows):
        strip = image.crop((0, top, image.width, min(top + rows, image.height)))
        light = decoder.linear(strip)
        cover = opacity(strip) if is_transparent(strip) else np.ones(light.shape[:2], np.float32)
        parts.append(_averaged(np.dstack([light * cover[..., None], cover]), block))
    whole = np.concatenate(parts)
    if whole.shape[1::-1] != size:
        whole = np.asarray(cv2.resize(whole, size, interpolation=cv2.INTER_AREA))
    return whole[..., :-1], whole[..., -1]


def _averaged(strip: Plane, block: int) -> Plane:
    """Average square blocks; the last ones are filled up with their own edge."""
    down, across = -strip.shape[0] % block, -strip.shape[1] % block
    if down or across:
        strip = cv2.copyMakeBorder(strip, 0, down, 0, across, cv2.BORDER_REPLICATE)
    size = (strip.shape[1] // block, strip.shape[0] // block)
    return np.asarray(cv2.resize(strip, size, interpolation=cv2.INTER_AREA))


def _upright(picture: Picture, orientation: int, whole: tuple[int, int]) -> Picture:
    """Turn a picture as the camera noted, and give it its size before a JPEG was made smaller."""
    if orientation == UPRIGHT:
        return replace(picture, size=whole)
    xyz, opaque = turned(picture.xyz, orientation), turned(picture.opaque, orientation)
    size = whole[::-1] if lies_on_its_side(orientation) else whole
    notes = (*picture.notes, TURNED)
    return replace(picture, xyz=xyz, opaque=opaque, size=size, notes=notes)
