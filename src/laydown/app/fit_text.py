"""A fit as text and back, so that the library can keep it: every digit survives."""

import json
from dataclasses import fields
from functools import lru_cache
from typing import Any

import numpy as np

from laydown.color.spectra import WAVELENGTHS
from laydown.media.colorant import Colorant
from laydown.media.laydown import Medium
from laydown.media.marker import MarkerFit
from laydown.media.paper import Paper
from laydown.media.priors import EFFECTS
from laydown.media.recipe import Recipe, format_recipe, parse_recipe


def marker_shapes(colorants: int) -> dict[str, tuple[int, ...]]:
    """Return the shape of each array of a fit of so many colorants, by its name."""
    each, bands, all_of_them = (colorants,), len(WAVELENGTHS), len(EFFECTS) + colorants
    return {
        "ceiling": (bands,),
        "paper_absorption": (bands,),
        "absorption": (colorants, bands),
        "strength": each,
        "blender": each,
        "effects": (len(EFFECTS),),
        "covariance": (all_of_them, all_of_them),
        "xyz_only": each,
        "most_coats": each,
    }


ARRAYS = marker_shapes(0).keys()
WORD_SETS = frozenset({"laid", "assumed", "carried"})
SENTENCES = frozenset({"odd", "notes"})
AT_HAND = 32
"""Fits that stay at hand once they are read, so that a color is answered live."""


def write_fit(fit: MarkerFit) -> str:
    """Write a fit as JSON."""
    return json.dumps({f.name: _written(f.name, getattr(fit, f.name)) for f in fields(fit)})


def _written(name: str, value: Any) -> Any:
    if name in ARRAYS:
        return value.tolist()
    if name in WORD_SETS | SENTENCES:
        return sorted(value) if name in WORD_SETS else list(value)
    if name == "paper":
        return [value.name, value.reflectance.tolist(), value.coats_limit, value.measured]
    if name == "colorants":
        return [[c.name, c.range, c.medium.value, c.code, c.blender] for c in value]
    if name == "swatched":
        return [format_recipe(recipe, with_range=True) for recipe in value]
    return value


@lru_cache(AT_HAND)
def read_fit(text: str) -> MarkerFit:
    """Read what `write_fit` wrote; those read last stay at hand, since no fit is ever changed."""
    written = json.loads(text)
    colorants = tuple(
        Colorant(name, of, Medium(medium), code, blender)
        for name, of, medium, code, blender in written["colorants"]
    )
    return MarkerFit(**{name: _read(name, value, colorants) for name, value in written.items()})


def _read(name: str, value: Any, colorants: tuple[Colorant, ...]) -> Any:
    if name in ARRAYS:
        return np.array(value, dtype=np.float64)
    if name in WORD_SETS | SENTENCES:
        return frozenset(value) if name in WORD_SETS else tuple(value)
    if name == "paper":
        paper_name, reflectance, limit, measured = value
        return Paper(paper_name, np.array(reflectance, dtype=np.float64), limit, measured)
    if name == "colorants":
        return colorants
    if name == "swatched":
        return _recipes(value, colorants)
    return value


def _recipes(texts: list[str], colorants: tuple[Colorant, ...]) -> tuple[Recipe, ...]:
    known = {c.label: c for c in colorants}
    return tuple(parse_recipe(text, known.__getitem__) for text in texts)
