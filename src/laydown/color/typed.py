"""A color as people type it, in numbers: the one reader of every form, for every door.

The forms are ``lab:L,a,b``; ``xyz:X,Y,Z``; ``#rrggbb``, which is only a screen's idea of it; and
the notation of ASTM D1535 (``5YR 6/8``, ``N 5/``). Names and recipes are none of its business.
"""

import re
from enum import StrEnum
from functools import cache
from itertools import product
from types import MappingProxyType

import numpy as np

from laydown.color import lab
from laydown.color.arrays import FloatArray
from laydown.color.reconstruction import inside_object_solid
from laydown.color.screen import SCREEN_DEVIATION, lab_from_hex
from laydown.color.value import luminance_from_value
from laydown.errors import BadColorError
from laydown.reference.tables import load_table, numbers_of

FORMS = (
    "lab:L,a,b, xyz:X,Y,Z (the perfect white has Y = 100), a notation such as 5YR 6/8, or #rrggbb"
)
"""Every form, as an error names them."""


class Form(StrEnum):
    """How a color was typed."""

    LAB = "lab"
    XYZ = "xyz"
    SCREEN = "screen"
    NOTATION = "notation"


DEVIATION = MappingProxyType(
    {Form.LAB: 0.0, Form.XYZ: 0.0, Form.SCREEN: SCREEN_DEVIATION, Form.NOTATION: 2.0}
)
"""Standard deviation of a color that was measured in a form, per CIELAB axis: none of an
instrument's own, that of a screen, and of an eye that holds a color against chips (common practice,
no source)."""
NUMBERS = re.compile(r"([a-z]+)\s*:(.*)", re.IGNORECASE | re.DOTALL)
LIKE_NUMBERS = re.compile(r"[a-z]+\s*:\s*[-+.\d].*", re.IGNORECASE | re.DOTALL)
NOTATION = re.compile(r"(\d+(\.\d+)?\s*(R|YR|Y|GY|G|BG|B|PB|P|RP)|N)\s*\d+(\.\d+)?\s*/.*", re.I)


TypedColor = tuple[FloatArray, Form]
"""A color that was typed in numbers: CIELAB D50, shape (3,); and how."""


def typed_color(text: str) -> TypedColor | None:
    """Read a color that is told by numbers alone; None for names and recipes.

    Raises BadColorError for numbers that are no color, and for a form that is none.

    >>> typed_color("Kelp*2; Dune") is None
    True
    >>> lab, form = typed_color("lab:71,8,46")
    >>> lab.tolist(), str(form)
    ([71.0, 8.0, 46.0], 'lab')
    """
    text = text.strip()
    if text.startswith("#"):
        return lab_from_hex(text), Form.SCREEN
    if NOTATION.fullmatch(text):
        return lab_from_notation(text), Form.NOTATION
    written = NUMBERS.fullmatch(text)
    if written and written[1].casefold() in {Form.LAB, Form.XYZ}:
        return _of_three(text, Form(written[1].casefold()), written[2])
    if LIKE_NUMBERS.fullmatch(text):
        raise BadColorError(f"“{text}” is no form of a color.", hint=f"Write {FORMS}.")
    return None


def measured_color(text: str) -> TypedColor:
    """Read a color that can only be told by numbers.

    Raises BadColorError as `typed_color` does, and for anything else.

    >>> measured_color("xyz:20,18,10")[0].round(1).tolist()
    [49.5, 13.7, 13.9]
    """
    found = typed_color(text)
    if found is None:
        raise BadColorError(f"“{text}” is no measured color.", hint=f"Write {FORMS}.")
    return found


def _of_three(text: str, form: Form, numbers: str) -> TypedColor:
    try:
        three = np.array([float(part) for part in numbers.split(",")])
    except ValueError:
        three = np.empty(0)
    if three.shape != (3,) or not np.isfinite(three).all():
        raise BadColorError(
            f"“{text}” is not {form}: and three numbers.",
            hint=f"Put points in the numbers and commas between them. Write {FORMS}.",
        )
    xyz = lab.xyz_from_lab(three) if form is Form.LAB else three
    if not inside_object_solid(xyz) or (form is Form.LAB and not 0.0 <= three[0] <= 100.0):
        raise BadColorError(
            f"“{text}” is a color that no surface can have.",
            hint="L* is 0 to 100, of XYZ a perfect white has Y = 100, and strong colors exist only "
            "in the middle.",
        )
    return three if form is Form.LAB else lab.lab_from_xyz(xyz), form


# Colors written as hue, value and chroma, such as 5YR 6/8 (ASTM D1535).

FAMILIES = ("R", "YR", "Y", "GY", "G", "BG", "B", "PB", "P", "RP")
"""Round the hue circle, ten hues each."""
WHITE_C: FloatArray = np.array([0.31006 / 0.31616, 1.0, (1.0 - 0.31006 - 0.31616) / 0.31616]) * 100
"""XYZ of white under light C, from x = 0.31006, y = 0.31616 (CIE 015)."""
GRAY = re.compile(r"N\s*(?P<value>\d+(?:\.\d+)?)\s*/?", re.IGNORECASE)
CHROMATIC = re.compile(
    r"(?P<hue>\d+(?:\.\d+)?)\s*(?P<family>YR|GY|BG|PB|RP|R|Y|G|B|P)\s*"
    r"(?P<value>\d+(?:\.\d+)?)\s*/\s*(?P<chroma>\d+(?:\.\d+)?)",
    re.IGNORECASE,
)
HINT = "Write hue, value and chroma as in 5YR 6/8, or a gray as in N 5/."


def lab_from_notation(text: str) -> FloatArray:
    """Read a notation of hue, value and chroma as CIELAB.

    `text`: as ``5YR 6/8`` (hue 0 to 10 in one of ten families, value 0 to 10, chroma), or ``N 5/``.
    Returns shape (3,), CIELAB D50. Raises BadColorError for text that is no notation, a value over
    10, and a chroma beyond the data or beyond what a surface can have.

    Luminance comes from value by the polynomial of D1535. Chromaticity comes from the renotation
    data, interpolated straight in hue, value and chroma, on hue angle and chroma of CIELAB under
    light C; between chips another interpolation (colour-science's) differs by CIEDE2000 0.2 on
    average, 0.6 for 95 in 100, and by 2 near value 1, where chips lie far apart. From light C to
    D50 by Bradford, which adds about 0.7. The data were smoothed by eye and reach past what
    surfaces can have.

    Source: ASTM D1535; S. M. Newhall, D. Nickerson, D. B. Judd, Final report of the O.S.A.
    subcommittee on the spacing of the Munsell colors, J. Opt. Soc. Am. 33 (1943) 385–418.

    A gray of value 10 is white.

    >>> (lab_from_notation("N 10/") + 0.0).round(3).tolist()
    [100.0, 0.0, 0.0]
    """
    if gray := GRAY.fullmatch(text.strip()):
        value, ab = _checked_value(text, gray["value"]), np.zeros(2)
    elif color := CHROMATIC.fullmatch(text.strip()):
        value = _checked_value(text, color["value"])
        ab = _interpolated(text, _hue_step(text, color), value, float(color["chroma"]))
    else:
        raise BadColorError(f"{text!r} is not a notation of hue, value and chroma.", hint=HINT)
    gray_xyz = WHITE_C * float(luminance_from_value(value)) / 100.0
    lightness = lab.lab_from_xyz(gray_xyz, white=WHITE_C)[0]
    under_c = lab.xyz_from_lab(np.array([lightness, *ab]), white=WHITE_C)
    xyz = lab.adapt(under_c, white_from=WHITE_C, white_to=lab.WHITE_D50)
    if not inside_object_solid(xyz, tolerance=0.05):
        raise BadColorError(
            f"No surface can have so strong a color as {text!r}.",
            hint="Write a lower chroma, the number behind the stroke.",
        )
    return lab.lab_from_xyz(xyz)


def _checked_value(text: str, written: str) -> float:
    value = float(written)
    if value > 10.0:
        message = f"The value of {text!r} is {value:g}; it runs from 0 (black) to 10 (white)."
        raise BadColorError(message, hint=HINT)
    return value


def _hue_step(text: str, color: re.Match[str]) -> float:
    """Return the hue round the circle in steps of 2.5, 0 at 2.5R, below 40."""
    hue = float(color["hue"])
    if hue > 10.0:
        message = f"The hue of {text!r} is {hue:g} {color['family']}; it runs from 0 to 10."
        raise BadColorError(message, hint=HINT)
    return (4.0 * FAMILIES.index(color["family"].upper()) + hue / 2.5 - 1.0) % 40.0


def _interpolated(text: str, hue: float, value: float, chroma: float) -> FloatArray:
    """Return a*, b* under light C between the (up to eight) chips around a notation."""
    if chroma == 0.0:
        return np.zeros(2)
    values, chips = _chips()
    if value < values[0] or chroma > 2 * (chips.shape[2] - 1):
        raise _beyond(text)
    place = float(np.interp(value, values, np.arange(values.size)))
    corners = [_between(x) for x in (place, hue, 0.5 * chroma)]
    mean = np.zeros(2)
    for (v, v_share), (h, h_share), (c, c_share) in product(*corners):
        mean += v_share * h_share * c_share * chips[v, h % 40, c]
    if not np.all(np.isfinite(mean)):
        raise _beyond(text)
    return lab.lab_from_lch(np.array([0.0, mean[0], mean[1] + _even_hue(hue)]))[1:]


def _beyond(text: str) -> BadColorError:
    return BadColorError(
        f"The published data don't reach as far as {text!r}.",
        hint="Write a lower chroma, the number behind the stroke, or a value of 0.2 or more.",
    )


def _between(x: float) -> list[tuple[int, float]]:
    """Return the whole numbers around x and their shares; one alone where x is whole."""
    low = int(np.floor(x))
    share = x - low
    return [(low, 1.0)] if share == 0.0 else [(low, 1.0 - share), (low + 1, share)]


def _even_hue(step: FloatArray | float) -> FloatArray:
    """Return about which CIELAB hue angle each hue has; the chips are kept as offsets from it."""
    return np.asarray(15.0 + 9.0 * np.asarray(step, dtype=np.float64))


@cache
def _chips() -> tuple[FloatArray, FloatArray]:
    """Return the values, shape (14,), and the chips, shape (14, 40, 26, 2).

    A chip is its C* and the offset of its hue angle from `_even_hue`, both under light C, in the
    order value, hue step, half chroma; NaN where nothing was published. A gray has the hue of the
    palest chip.
    """
    table = load_table("renotation")
    written = [re.fullmatch(r"([\d.]+)([A-Z]+)", hue) for hue in table["hue"]]
    steps = np.array(
        [4 * FAMILIES.index(w[2]) + round(float(w[1]) / 2.5) - 1 for w in written if w]
    )
    value, chroma, x, y = numbers_of(table, "value", "chroma", "x", "y").T
    xyz = np.stack([x / y, np.ones_like(y), (1.0 - x - y) / y], axis=-1)
    xyz *= luminance_from_value(value)[:, None]
    lch = lab.lch_from_lab(lab.lab_from_xyz(xyz, white=WHITE_C))
    values = np.unique(value)
    half = np.rint(0.5 * chroma).astype(int)
    chips = np.full((values.size, 40, half.max() + 1, 2), np.nan)
    offset = np.mod(lch[:, 2] - _even_hue(steps) + 180.0, 360.0) - 180.0
    chips[np.searchsorted(values, value), steps, half] = np.stack([lch[:, 1], offset], axis=-1)
    chips[:, :, 0, 0] = 0.0
    chips[:, :, 0, 1] = chips[:, :, 1, 1]
    return values, chips
