"""Open any photograph or drawing to plan it: upright, in light under D50, at the size asked for.

A picture is decoded strip by strip, so that no more than a strip of it is held in numbers. Where
its curves are known its light is averaged in them, not in the encoded numbers: half ink and half
paper send back half the light, however fine the strokes.
"""

import struct
import warnings
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import partial
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageCms

from laydown.color.arrays import FloatArray, Plane
from laydown.color.lab import WHITE_D50, lab_from_xyz
from laydown.errors import BadFileError
from laydown.imaging import files, profiles
from laydown.opencv import cv2

GRAY_MODES = ("1", "L", "LA", "I;16", "I;16B", "I;16L")
COLOR_MODES = ("RGB", "RGBA", "RGBX", "P", "PA", "YCbCr")
ALPHA_MODES = ("RGBA", "LA", "PA")
NO_PROFILE = "It has no color profile and is taken for sRGB."
BROKEN_PROFILE = "Its color profile can't be used, so it is taken for sRGB."
ROUGH_INKS = (
    "It is in printing inks (CMYK) without a profile: its colors are a rough guess; save it as RGB "
    "for better ones."
)


Decoder: TypeAlias = Callable[[Image.Image, tuple[int, int]], tuple[Plane, Plane]]
"""From a picture, and the width and height to make it smaller to, to its mean light (XYZ, white at
Y = 100), weighted by its cover, shape (h, w, 3), and its mean cover, shape (h, w)."""


def decoder_for(image: Image.Image, source: str) -> tuple[Decoder, tuple[str, ...]]:
    """Choose how a picture is decoded, by its mode and its profile; it need not be loaded yet.

    Returned is what it is taken for, too, as sentences. Raises `BadFileError` for a mode in which
    no picture is read.
    """
    profile = image.info.get("icc_profile") or b""
    if image.mode in GRAY_MODES:
        return _gray(profile, source)
    if image.mode in COLOR_MODES:
        return _color(profile, source)
    if image.mode == "CMYK":
        return _inks(profile)
    if image.mode == "LAB":
        return partial(_light, linear=_xyz, matrix=np.eye(3), slow=True), ("It is in CIELAB.",)
    raise BadFileError(
        f"{source} is in a color mode that is not read ({image.mode}).", hint=files.WHAT_IS_READ
    )


def opacity(strip: Image.Image) -> Plane:
    """Return how far each pixel covers what is behind it, 0 to 1, shape (h, w)."""
    seen = strip if strip.mode in ("RGBA", "LA") else strip.convert("RGBA")
    return np.asarray(np.asarray(seen.getchannel("A"), dtype=np.float32) / np.float32(255))


def _gray(data: bytes, source: str) -> tuple[Decoder, tuple[str, ...]]:
    curve, told = profiles.usual_profile().curves[:, 0], NO_PROFILE
    if data:
        try:
            curve = profiles.read_gray_curve(data, source=source)
            told = "Its own gray profile is used."
        except BadFileError:
            told = BROKEN_PROFILE
    table = curve.astype(np.float32)

    def linear(strip: Image.Image) -> Plane:
        if strip.mode.startswith("I;16"):
            levels = np.asarray(strip, dtype=np.float32) / 257
            return np.interp(levels, np.arange(256), table).astype(np.float32)[..., None]
        return np.asarray(table[np.asarray(strip.convert("L"))][..., None])

    notes = ("It is gray: it tells values and no hues.", told)
    return partial(_light, linear=linear, matrix=WHITE_D50[None]), notes


def _color(data: bytes, source: str) -> tuple[Decoder, tuple[str, ...]]:
    profile, told = profiles.usual_profile(), NO_PROFILE
    if data:
        try:
            profile = profiles.read_profile(data, source=source)
            told = f"Its colors are read by its profile, {profile.name}."
        except BadFileError:
            told = BROKEN_PROFILE
    return _by_profile(profile), (told,)


def _by_profile(profile: profiles.Profile) -> Decoder:
    table = profile.curves.astype(np.float32)[None]

    def linear(strip: Image.Image) -> Plane:
        pixels = np.asarray(strip.convert("RGB"))
        found = profile.linear(pixels) if profile.tables else cv2.LUT(pixels, table)
        return np.asarray(found, dtype=np.float32)

    return partial(_light, linear=linear, matrix=profile.matrix, slow=bool(profile.tables))


def _inks(data: bytes) -> tuple[Decoder, tuple[str, ...]]:
    if not data:
        return _by_profile(profiles.usual_profile()), (ROUGH_INKS,)
    try:
        inks_to_lab = profiles.to_lab(data, "CMYK")
    except (ImageCms.PyCMSError, OSError, struct.error):
        return _inks(b"")

    def linear(strip: Image.Image) -> Plane:
        return _xyz(ImageCms.applyTransform(strip, inks_to_lab))

    told = "It is in printing inks (CMYK); its own profile says what they look like."
    return partial(_light, linear=linear, matrix=np.eye(3), slow=True), (told,)


def _xyz(strip: Image.Image | None) -> Plane:
    return profiles.xyz_of_coded(strip).astype(np.float32)


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
    """Open a photograph, a scan or a drawing: PNG, JPEG, TIFF, HEIC, or a `page` of a PDF, from 1.

    It may be in color, gray, black and white, inks (CMYK), a palette or CIELAB; in up to 16 bits;
    transparent or not. It is made smaller to its longer side, `longest` [pixels], or to as large as
    `MOST_WORKING` allows; a panorama comes back longer: see `PANORAMA`. Light is averaged, not
    encoded numbers, so that hatching and halftones keep their value. A JPEG far larger than asked
    for is decoded at ½, ¼ or ⅛ of its size, of which this does not hold.

    Raises `BadFileError` for what is no picture, too large, too small, too narrow, or broken.

    ``open_picture(Path("lemons.jpg").read_bytes(), source="lemons.jpg", longest=1000).lab``
    """
    files.check_bytes(data, source)
    if data[:5] == b"%PDF-":
        return _from_pdf(data, source, longest, page)
    with files.broken_told(source), warnings.catch_warnings():
        warnings.simplefilter("ignore")  # odd tags, and sizes that check_header judges
        with files.opened(data, source) as image:
            return _from_image(image, source, longest, page)


def _from_pdf(data: bytes, source: str, longest: int | None, page: int) -> Picture:
    drawn, count, _ = files.drawn_page(data, source, page)
    image = Image.fromarray(drawn.pixels)
    _check_shape(image, source)
    told = (*_page_told(source, page, count), *drawn.notes)
    decoder, _ = decoder_for(image, source)
    return _decoded(image, decoder, source, longest, told)


def _from_image(image: Image.Image, source: str, longest: int | None, page: int) -> Picture:
    told = _page_told(source, page, getattr(image, "n_frames", 1) if image.format == "TIFF" else 1)
    if page > 1:
        image.seek(page - 1)
    files.check_header(image, source, fewest=FEWEST_PIXELS)
    _check_shape(image, source)
    decoder, notes = decoder_for(image, source)
    if ";16" in str(getattr(image, "tile", "")) and not image.mode.startswith("I;16"):
        told += ("Of its 16 bits a channel the upper 8 are used.",)
    whole = image.size
    if longest and image.format in ("JPEG", "MPO"):
        width, height = _fitted(whole, longest)
        image.draft(image.mode, (FINER * width, FINER * height))
    image.load()
    picture = _decoded(image, decoder, source, longest, told + notes)
    return _upright(picture, files.orientation_of(image), whole)


def _page_told(source: str, page: int, count: int) -> tuple[str, ...]:
    if not 1 <= page <= count:
        raise files.no_such_page(source, page, count)
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
    xyz, covered = decoder(image, _fitted(image.size, longest))
    if covered.min() < COVERED:
        xyz += (1 - covered)[..., None] * WHITE_D50.astype(np.float32)
        told += ("What is transparent in it is laid over white paper.",)
    return Picture(source, np.maximum(xyz, 0), covered >= 0.5, image.size, told)


def _light(
    image: Image.Image,
    size: tuple[int, int],
    *,
    linear: Callable[[Image.Image], Plane],
    matrix: FloatArray,
    slow: bool = False,
) -> tuple[Plane, Plane]:
    """Do as a `Decoder` does.

    `linear` leads from a strip to its signal, shape (h, w, channels), and linear @ matrix is XYZ.
    What goes slowly, through tables, is made smaller before.
    """
    if slow:
        image = image.reduce(max(1, min(image.width // size[0], image.height // size[1]) // FINER))
    block = max(1, min(image.width // size[0], image.height // size[1]))
    rows = block * max(1, STRIP // (image.width * block))
    parts, is_transparent = [], image.mode in ALPHA_MODES or "transparency" in image.info
    for top in range(0, image.height, rows):
        strip = image.crop((0, top, image.width, min(top + rows, image.height)))
        light = linear(strip)
        cover = opacity(strip) if is_transparent else np.ones(light.shape[:2], np.float32)
        parts.append(_averaged(np.dstack([light * cover[..., None], cover]), block))
    whole = np.concatenate(parts)
    if whole.shape[1::-1] != size:
        whole = np.asarray(cv2.resize(whole, size, interpolation=cv2.INTER_AREA))
    return whole[..., :-1] @ matrix.astype(np.float32), whole[..., -1]


def _averaged(strip: Plane, block: int) -> Plane:
    """Average square blocks; the last ones are filled up with their own edge."""
    down, across = -strip.shape[0] % block, -strip.shape[1] % block
    if down or across:
        strip = cv2.copyMakeBorder(strip, 0, down, 0, across, cv2.BORDER_REPLICATE)
    size = (strip.shape[1] // block, strip.shape[0] // block)
    return np.asarray(cv2.resize(strip, size, interpolation=cv2.INTER_AREA))


def _upright(picture: Picture, orientation: int, whole: tuple[int, int]) -> Picture:
    """Turn a picture as the camera noted, and give it its size before a JPEG was made smaller."""
    if orientation == files.UPRIGHT:
        return replace(picture, size=whole)
    xyz, opaque = files.turned(picture.xyz, orientation), files.turned(picture.opaque, orientation)
    on_its_side = files.TURNS[orientation][1] % 2 == 1
    size = whole[::-1] if on_its_side else whole
    notes = (*picture.notes, files.TURNED)
    return replace(picture, xyz=xyz, opaque=opaque, size=size, notes=notes)
