"""Fits read back from a library, which may have come from anybody: sound ones, or none.

A fit is worked out from swatches, so one that can't be what it says is passed over and made anew.
"""

import math
from collections.abc import Callable, Collection
from typing import TypeVar

import numpy as np

from laydown.app.film_text import film_shapes, read_film_fit
from laydown.app.fit_text import marker_shapes, read_fit
from laydown.errors import LaydownError
from laydown.media.colorant import Colorant
from laydown.media.film_model import FilmFit
from laydown.media.kit_fit import MediumFit
from laydown.media.marker import MarkerFit
from laydown.media.paper import Paper

UNSOUND = (ValueError, TypeError, LookupError, AttributeError, ArithmeticError, RecursionError)
"""What goes wrong where a text says something else than a fit."""
PARAMETERS, EFFECTS = 5, 40
"""Of each colorant, and of all together, at most: their square is how many numbers a fit has."""
LISTS = 30
"""That a fit has at most for each colorant and each effect."""
WORDS = ("laid", "told", "assumed", "carried", "odd", "notes")
Read = TypeVar("Read")


def sound(text: str, colorants: int, read: Callable[[str], Read]) -> Read | None:
    """Read a text that is kept of a fit; None where it is none.

    Parameters
    ----------
    text
        As the library has it.
    colorants
        How many the fit can be of; far longer texts than such a fit has are not even read.
    read
        Reads it, and raises where it says something else.
    """
    size = EFFECTS + PARAMETERS * colorants
    too_many = text.count(",") > 2 * size**2 or text.count("[") + text.count("{") > LISTS * size
    if too_many:
        return None
    try:
        return read(text)
    except (*UNSOUND, LaydownError):
        return None


def read_marker_fit(text: str, colorants: Collection[Colorant], paper: Paper) -> MarkerFit:
    """Read a fit of some of these colorants on this paper, or raise ValueError."""
    fit = read_fit(text)
    _check(fit, marker_shapes(len(fit.colorants)), colorants, paper)
    return fit


def read_films(text: str, colorants: Collection[Colorant], paper: Paper) -> FilmFit:
    """Read a fit of some of these pencils or washes on this paper, or raise ValueError."""
    fit = read_film_fit(text)
    _check(fit, film_shapes(fit.medium, len(fit.colorants)), colorants, paper)
    return fit


def _check(
    fit: MediumFit,
    shapes: dict[str, tuple[int, ...]],
    colorants: Collection[Colorant],
    paper: Paper,
) -> None:
    for name, shape in shapes.items():
        numbers = getattr(fit, name)
        if numbers.shape != shape or not np.isfinite(numbers).all():
            raise ValueError(name)
    numbers = [fit.hand, fit.misfit, fit.measuring, getattr(fit, "cover", 0.0)]
    if not all(type(number) in {int, float} and math.isfinite(number) for number in numbers):
        raise ValueError("a number is none")
    words = [word for name in WORDS for word in getattr(fit, name, ())]
    if not all(isinstance(word, str) for word in (fit.model_version, *words)):
        raise ValueError("a word is none")
    there = (fit.paper.name, fit.paper.coats_limit, fit.paper.measured)
    if not set(fit.colorants) <= set(colorants):
        raise ValueError("other colorants")
    if there != (paper.name, paper.coats_limit, paper.measured) or not np.allclose(
        fit.paper.reflectance, paper.reflectance
    ):
        raise ValueError("another paper")
