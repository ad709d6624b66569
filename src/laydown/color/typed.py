"""A color as people type it, in numbers: the one reader of every form, for every door.

The forms are ``lab:L,a,b``; ``xyz:X,Y,Z``; ``#rrggbb``, which is only a screen's idea of it; and
the notation of ASTM D1535 (``5YR 6/8``, ``N 5/``). Names and recipes are none of its business.
"""

import re
from dataclasses import dataclass
from enum import StrEnum
from types import MappingProxyType

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.color.lab import lab_from_xyz, xyz_from_lab
from laydown.color.notation import lab_from_notation
from laydown.color.reconstruction import inside_object_solid, reflectance_from_xyz
from laydown.color.screen import SCREEN_DEVIATION, lab_from_hex
from laydown.errors import BadColorError

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


DEVIATION = MappingProxyType({Form.SCREEN: SCREEN_DEVIATION, Form.NOTATION: 2.0})
"""Standard deviation of a color that was measured in a form, per CIELAB axis: that of a screen, and
of an eye that holds a color against chips (common practice, no source)."""
NUMBERS = re.compile(r"([a-z]+)\s*:(.*)", re.IGNORECASE | re.DOTALL)
LIKE_NUMBERS = re.compile(r"[a-z]+\s*:\s*[-+.\d].*", re.IGNORECASE | re.DOTALL)
NOTATION = re.compile(r"(\d+(\.\d+)?\s*(R|YR|Y|GY|G|BG|B|PB|P|RP)|N)\s*\d+(\.\d+)?\s*/.*", re.I)


@dataclass(frozen=True, slots=True, eq=False)
class TypedColor:
    """A color that was typed in numbers."""

    lab: FloatArray
    """Shape (3,), CIELAB D50."""
    form: Form
    """How."""

    @property
    def deviation(self) -> float:
        """How unsure it is as a measurement [CIELAB units per axis]; 0 for an instrument's."""
        return DEVIATION.get(self.form, 0.0)

    @property
    def reflectance(self) -> FloatArray:
        """Shape (36,), the smoothest of that color."""
        return reflectance_from_xyz(xyz_from_lab(self.lab))


def typed_color(text: str) -> TypedColor | None:
    """Read a color that is told by numbers alone; None for names and recipes.

    Raises BadColorError for numbers that are no color, and for a form that is none.

    >>> typed_color("Kelp*2; Dune") is None
    True
    >>> typed_color("lab:71,8,46").lab.tolist()
    [71.0, 8.0, 46.0]
    >>> typed_color("N 5/").form
    <Form.NOTATION: 'notation'>
    """
    text = text.strip()
    if text.startswith("#"):
        return TypedColor(lab_from_hex(text), Form.SCREEN)
    if NOTATION.fullmatch(text):
        return TypedColor(lab_from_notation(text), Form.NOTATION)
    written = NUMBERS.fullmatch(text)
    if written and written[1].casefold() in {Form.LAB, Form.XYZ}:
        return _of_three(text, Form(written[1].casefold()), written[2])
    if LIKE_NUMBERS.fullmatch(text):
        raise BadColorError(f"“{text}” is no form of a color.", hint=f"Write {FORMS}.")
    return None


def measured_color(text: str) -> TypedColor:
    """Read a color that can only be told by numbers.

    Raises BadColorError as `typed_color` does, and for anything else.

    >>> measured_color("xyz:20,18,10").lab.round(1).tolist()
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
    xyz = xyz_from_lab(three) if form is Form.LAB else three
    if not inside_object_solid(xyz) or (form is Form.LAB and not 0.0 <= three[0] <= 100.0):
        raise BadColorError(
            f"“{text}” is a color that no surface can have.",
            hint="L* is 0 to 100, of XYZ a perfect white has Y = 100, and strong colors exist only "
            "in the middle.",
        )
    return TypedColor(three if form is Form.LAB else lab_from_xyz(xyz), form)
