"""A color as every result states it, and the mark of what rests on the demo's invented supplies."""

from collections.abc import Iterable
from dataclasses import dataclass

from laydown.color.arrays import FloatArray
from laydown.color.lab import lab_from_reflectance
from laydown.color.naming import color_name
from laydown.color.screen import screen_color
from laydown.color.value import value_from_lab
from laydown.demo import files
from laydown.media.recipe import Recipe


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
    seen = screen_color(lab)
    return ColorInWords(color_name(lab), float(value_from_lab(lab)), lab, seen.hex, seen.inside)


def reflectance_in_words(reflectance: FloatArray) -> ColorInWords:
    """Describe a color given as reflectance, shape (36,)."""
    return in_words(lab_from_reflectance(reflectance))


def fill(lab: FloatArray) -> str:
    """Return a color as the screen shows it."""
    return screen_color(lab).hex


RANGES = (files.TEACHERS_RANGE, files.STUDENTS_RANGE, files.PENCIL_RANGE, files.WASH_RANGE)


PAPERS = (files.CLASS_PAPER, files.SECOND_PAPER)


KITS = {"demo student": (files.STUDENTS_RANGE,), "demo student with pencils": (files.PENCIL_RANGE,)}
"""The demo's kits, and the ranges that each owns as a whole."""


INVENTED = frozenset((*RANGES, *PAPERS, *KITS))
"""Names that stand for nothing real: doors say so wherever they show them."""


MARK = "Invented data: these supplies belong to the demo."


def marked_invented(notes: tuple[str, ...], recipes: Iterable[Recipe]) -> tuple[str, ...]:
    """Return notes that say it where a recipe takes of the demo's ranges, so that prints do, too.

    Examples
    --------
    >>> from laydown.media.colorant import Colorant
    >>> from laydown.media.recipe import Step
    >>> quince = Colorant("Quince", "Orchard")
    >>> marked_invented((), [Recipe((Step(quince),))])
    ('Invented data: these supplies belong to the demo.',)
    """
    said = any("invented" in note.casefold() for note in notes)
    ranges = {colorant.range for recipe in recipes for colorant in recipe.colorants}
    return notes if said or ranges.isdisjoint(RANGES) else (*notes, MARK)
