"""A color as every result states it: in words and numbers beside its screen preview."""

from dataclasses import dataclass

from laydown.color import naming
from laydown.color.arrays import FloatArray
from laydown.color.lab import lab_from_reflectance
from laydown.color.screen import is_on_screen, screen_color
from laydown.color.value import value_from_lab


@dataclass(frozen=True, slots=True, eq=False)
class ColorInWords:
    """A color in words and numbers."""

    words: str
    """Its ISCC–NBS name."""
    value: float
    """0 black to 10 white."""
    lab: FloatArray
    """Shape (3,), CIELAB D50."""
    screen: str
    """The nearest color of an sRGB screen, as ``#rrggbb``."""
    on_screen: bool
    """Whether a screen can show it at all."""


def in_words(lab: FloatArray) -> ColorInWords:
    """Describe a color given as CIELAB."""
    value, screen = float(value_from_lab(lab)), screen_color(lab)
    return ColorInWords(naming.color_name(lab), value, lab, screen, is_on_screen(lab))


def reflectance_in_words(reflectance: FloatArray) -> ColorInWords:
    """Describe a color given as reflectance, shape (36,)."""
    return in_words(lab_from_reflectance(reflectance))
