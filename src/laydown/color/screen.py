"""How a color looks on an sRGB screen, and colors picked from one."""

import re
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from laydown.color.arrays import FloatArray
from laydown.color.lab import (
    WHITE_D50,
    adapt,
    lab_from_lch,
    lab_from_xyz,
    lch_from_lab,
    xyz_from_lab,
)
from laydown.errors import BadColorError

PRIMARIES: FloatArray = np.array([[0.64, 0.33], [0.30, 0.60], [0.15, 0.06]])
"""Chromaticities x, y of red, green and blue (IEC 61966-2-1)."""
WHITE_D65: FloatArray = np.array([0.3127 / 0.3290, 1.0, (1.0 - 0.3127 - 0.3290) / 0.3290]) * 100.0
"""XYZ of the screen's white, from x = 0.3127, y = 0.3290 (IEC 61966-2-1)."""
SCREEN_DEVIATION = 5.0
"""Standard deviation of a color picked from a picture, per CIELAB axis (common practice, no
source): about what an uncalibrated screen is off by."""
HALF_A_STEP = 0.5 / 255.0
"""A color nearer to the screen's limits than half a step of its 8 bits is shown truly."""


def _rgb_to_xyz() -> FloatArray:
    x, y = PRIMARIES.T
    columns = np.stack([x / y, np.ones(3), (1.0 - x - y) / y])
    return np.asarray(columns * np.linalg.solve(columns, WHITE_D65), dtype=np.float64)


RGB_TO_XYZ: FloatArray = _rgb_to_xyz()
"""Shape (3, 3): from linear red, green, blue [0 to 1] to XYZ [white at Y = 100]."""
RGB_FROM_PAPER: FloatArray = np.linalg.inv(RGB_TO_XYZ) @ (
    adapt(np.eye(3), white_from=WHITE_D50, white_to=WHITE_D65).T
)
"""Shape (3, 3): from XYZ under D50 to linear red, green, blue."""
AT_ONCE, ROUNDS = 32, 6
"""How finely chroma is lowered: one part in 32 of what is left each time, in the end one in 2³⁰."""
REMEMBERED = 10_000
"""Colors whose screen colors are remembered."""


def screen_color(lab: FloatArray) -> str:
    """Find the sRGB color to show for a color (3,) in CIELAB D50, as ``#rrggbb``.

    White on paper becomes white on the screen (Bradford, D50 to D65). A color outside keeps its L*
    and h and loses as much chroma as it must; clipping red, green and blue one by one would move
    hue and value. A screen that is not set up for sRGB shows something else.

    Source: IEC 61966-2-1:1999.

    >>> screen_color(np.array([100.0, 0.0, 0.0]))
    '#ffffff'
    """
    return _seen(*np.asarray(lab, dtype=np.float64).tolist())[0]


def is_on_screen(lab: FloatArray) -> bool:
    """Whether a screen can show a color (3,) itself, not only one of less chroma.

    >>> is_on_screen(np.array([50.0, -120.0, 0.0]))
    False
    """
    return _seen(*np.asarray(lab, dtype=np.float64).tolist())[1]


@lru_cache(REMEMBERED)
def _seen(lightness: float, a: float, b: float) -> tuple[str, bool]:
    """Find the color to show; those seen last are remembered, since a page draws each again."""
    lab = np.array([lightness, a, b])
    if not np.all(np.isfinite(lab)):
        raise BadColorError(f"L*, a*, b* of {lab.tolist()} are not all numbers.")
    rgb = signal_of_light(_linear(lab))
    inside = bool(_shown(rgb))
    if not inside:
        rgb = signal_of_light(_linear(_lowered(lab)))
    red, green, blue = (int(v) for v in np.rint(255.0 * np.clip(rgb, 0.0, 1.0)))
    return f"#{red:02x}{green:02x}{blue:02x}", inside


def screen_pixels(lab: FloatArray) -> NDArray[np.uint8]:
    """Find the sRGB pixels to show for a whole picture.

    `lab`: shape (…, 3), CIELAB D50. Returns shape (…, 3), 8 bits a channel.

    Quicker and coarser than `screen_color`: what a screen can't show is clipped in red, green and
    blue one by one, which may move hue and value there.

    >>> screen_pixels(np.array([[[100.0, 0.0, 0.0], [0.0, 0.0, 0.0]]])).tolist()
    [[[255, 255, 255], [0, 0, 0]]]
    """
    rgb = signal_of_light(_linear(np.asarray(lab, dtype=np.float64)))
    return np.asarray(np.rint(255.0 * np.clip(rgb, 0.0, 1.0)), dtype=np.uint8)


def lab_from_hex(text: str) -> FloatArray:
    """Read a screen color as CIELAB.

    `text`: as ``#rrggbb``, upper or lower case. Returns shape (3,), CIELAB D50. Raises
    BadColorError for anything else.

    What a picture from the screen calls a color is an estimate: nobody knows the screen, the light
    or the camera it went through.

    Source: IEC 61966-2-1:1999.

    >>> (lab_from_hex("#FFFFFF") + 0.0).round(6).tolist()
    [100.0, 0.0, 0.0]
    """
    if not re.fullmatch(r"#[0-9a-fA-F]{6}", text.strip()):
        raise BadColorError(
            f"{text!r} is not a screen color.",
            hint="Write a hash sign and six digits from 0 to f, two each for red, green and blue: "
            "#c04a2e.",
        )
    digits = text.strip()[1:]
    encoded = np.array([int(digits[i : i + 2], 16) / 255.0 for i in (0, 2, 4)])
    xyz = RGB_TO_XYZ @ light_of_signal(encoded)
    return lab_from_xyz(adapt(xyz, white_from=WHITE_D65, white_to=WHITE_D50))


def _linear(lab: FloatArray) -> FloatArray:
    """Return linear red, green, blue, below 0 or above 1 where the screen ends."""
    return np.asarray(xyz_from_lab(lab) @ RGB_FROM_PAPER.T, dtype=np.float64)


def signal_of_light(linear: FloatArray) -> FloatArray:
    """Return the signals [0 to 1] of linear red, green, blue (IEC 61966-2-1)."""
    curve = 1.055 * np.maximum(linear, 0.0031308) ** (1.0 / 2.4) - 0.055
    return np.asarray(np.where(linear > 0.0031308, curve, 12.92 * linear))


def light_of_signal(encoded: FloatArray) -> FloatArray:
    """Return linear red, green, blue of signals [0 to 1] (IEC 61966-2-1)."""
    return np.where(encoded > 0.04045, ((encoded + 0.055) / 1.055) ** 2.4, encoded / 12.92)


def _shown(rgb: FloatArray) -> NDArray[np.bool_]:
    return np.asarray(np.all((rgb >= -HALF_A_STEP) & (rgb <= 1.0 + HALF_A_STEP), axis=-1))


def _lowered(lab: FloatArray) -> FloatArray:
    """Return the color of the same L* and h with the most chroma that the screen shows."""
    lightness, chroma, hue = lch_from_lab(lab)
    tried, width = np.tile([lightness, 0.0, hue], (AT_ONCE, 1)), float(chroma)
    for _ in range(ROUNDS):
        width /= AT_ONCE
        tried[:, 1] = tried[0, 1] + width * np.arange(AT_ONCE)
        shown = int(np.cumprod(_shown(signal_of_light(_linear(lab_from_lch(tried))))).sum())
        tried[0, 1] = tried[max(0, shown - 1), 1]
    return np.asarray(lab_from_lch(tried[0]))
