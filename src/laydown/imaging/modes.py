"""From any mode of picture to linear light: gray, palette, inks, CIELAB, 16 bits, transparent.

A picture is decoded strip by strip, so that no more than a strip of it is held in numbers. Where
its curves are known its light is averaged in them, not in the encoded numbers: half ink and half
paper send back half the light, however fine the strokes.
"""

import struct
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from PIL import Image, ImageCms

from laydown.color.arrays import FloatArray, Plane
from laydown.color.lab import WHITE_D50
from laydown.errors import BadFileError
from laydown.imaging.files import WHAT_IS_READ
from laydown.imaging.profiles import (
    Profile,
    read_gray_curve,
    read_profile,
    to_lab,
    usual_profile,
    xyz_of_coded,
)
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


@dataclass(frozen=True, slots=True, eq=False)
class Decoder:
    """How the strips of one picture become light."""

    linear: Callable[[Image.Image], Plane]
    """From a strip to its linear signal, shape (h, w, channels)."""
    matrix: FloatArray
    """Shape (channels, 3): linear @ matrix is XYZ with white at Y = 100."""
    notes: tuple[str, ...]
    """What it takes the picture for, as sentences."""
    slow: bool = False
    """Whether it goes through tables, so that the picture is better made smaller before."""


def decoder_for(image: Image.Image, source: str) -> Decoder:
    """Choose how a picture is decoded, by its mode and its profile.

    Parameters
    ----------
    image
        As opened; it need not be loaded yet.
    source
        Its name, for the error.

    Raises
    ------
    BadFileError
        For a mode in which no picture is read.
    """
    profile = image.info.get("icc_profile") or b""
    if image.mode in GRAY_MODES:
        return _gray(profile, source)
    if image.mode in COLOR_MODES:
        return _color(profile, source)
    if image.mode == "CMYK":
        return _inks(profile)
    if image.mode == "LAB":
        return Decoder(_xyz, np.eye(3), ("It is in CIELAB.",), slow=True)
    raise BadFileError(
        f"{source} is in a color mode that is not read ({image.mode}).", hint=WHAT_IS_READ
    )


def is_transparent(image: Image.Image) -> bool:
    """Tell whether some of a picture may be see-through."""
    return image.mode in ALPHA_MODES or "transparency" in image.info


def opacity(strip: Image.Image) -> Plane:
    """Return how far each pixel covers what is behind it, 0 to 1, shape (h, w)."""
    seen = strip if strip.mode in ("RGBA", "LA") else strip.convert("RGBA")
    return np.asarray(np.asarray(seen.getchannel("A"), dtype=np.float32) / np.float32(255))


def _gray(data: bytes, source: str) -> Decoder:
    curve, told = usual_profile().curves[:, 0], NO_PROFILE
    if data:
        try:
            curve, told = read_gray_curve(data, source=source), "Its own gray profile is used."
        except BadFileError:
            told = BROKEN_PROFILE
    steps = curve.astype(np.float32)
    notes = ("It is gray: it tells values and no hues.", told)
    return Decoder(lambda strip: _looked_up_gray(strip, steps), WHITE_D50[None], notes)


def _looked_up_gray(strip: Image.Image, curve: Plane) -> Plane:
    if strip.mode.startswith("I;16"):
        levels = np.asarray(strip, dtype=np.float32) / 257
        return np.interp(levels, np.arange(256), curve).astype(np.float32)[..., None]
    return np.asarray(curve[np.asarray(strip.convert("L"))][..., None])


def _color(data: bytes, source: str) -> Decoder:
    profile, told = usual_profile(), NO_PROFILE
    if data:
        try:
            profile = read_profile(data, source=source)
            told = f"Its colors are read by its profile, {profile.name}."
        except BadFileError:
            told = BROKEN_PROFILE
    if profile.tables:
        return Decoder(_by_tables(profile), profile.matrix, (told,), slow=True)
    return replace(_by_curves(profile), notes=(told,))


def _by_curves(profile: Profile) -> Decoder:
    table = profile.curves.astype(np.float32)[None]
    return Decoder(lambda strip: _looked_up(strip, table), profile.matrix, ())


def _looked_up(strip: Image.Image, table: Plane) -> Plane:
    pixels = np.asarray(strip.convert("RGB"))
    return np.asarray(cv2.LUT(pixels, table), dtype=np.float32)


def _by_tables(profile: Profile) -> Callable[[Image.Image], Plane]:
    def linear(strip: Image.Image) -> Plane:
        return profile.linear(np.asarray(strip.convert("RGB"))).astype(np.float32)

    return linear


def _inks(data: bytes) -> Decoder:
    if not data:
        table = usual_profile().curves.astype(np.float32)[None]
        return Decoder(
            lambda strip: _looked_up(strip, table), usual_profile().matrix, (ROUGH_INKS,)
        )
    try:
        inks_to_lab = to_lab(data, "CMYK")
    except (ImageCms.PyCMSError, OSError, struct.error):
        return _inks(b"")

    def linear(strip: Image.Image) -> Plane:
        return _xyz(ImageCms.applyTransform(strip, inks_to_lab))

    told = "It is in printing inks (CMYK); its own profile says what they look like."
    return Decoder(linear, np.eye(3), (told,), slow=True)


def _xyz(strip: Image.Image | None) -> Plane:
    return xyz_of_coded(strip).astype(np.float32)
