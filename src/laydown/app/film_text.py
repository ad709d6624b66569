"""A fit of pencils or washes as text and back, so that the library can keep it."""

import json
from collections.abc import Callable
from dataclasses import fields
from typing import Any

import numpy as np

from laydown.color.spectra import WAVELENGTHS
from laydown.media.colorant import Colorant
from laydown.media.film_model import OWN, FilmFit, film_priors
from laydown.media.laydown import Laydown, Medium, Pressure, Stroke, Wait
from laydown.media.paper import Paper
from laydown.media.recipe import format_recipe, parse_recipe

WORD_SETS = frozenset({"told", "assumed", "carried"})
SENTENCES = frozenset({"odd", "notes"})


def film_shapes(medium: Medium, colorants: int) -> dict[str, tuple[int, ...]]:
    """Return the shape of each array of a fit of so many colorants, by its name."""
    effects = len(film_priors(medium).names)
    all_of_them = effects + len(OWN) * colorants
    return {
        "references": (colorants, len(WAVELENGTHS)),
        "effects": (effects,),
        "own": (colorants, len(OWN)),
        "covariance": (all_of_them, all_of_them),
        "xyz_only": (colorants,),
        "most_coats": (colorants,),
    }


ARRAYS = film_shapes(Medium.PENCIL, 0).keys()


def write_film_fit(fit: FilmFit) -> str:
    """Write a fit as JSON; every digit survives."""
    return json.dumps({f.name: _written(f.name, getattr(fit, f.name)) for f in fields(fit)})


def _written(name: str, value: Any) -> Any:
    if name in ARRAYS:
        return value.tolist()
    if name in WORD_SETS | SENTENCES:
        return sorted(value) if name in WORD_SETS else list(value)
    writers: dict[str, Callable[[Any], Any]] = {
        "paper": lambda p: [p.name, p.reflectance.tolist(), p.coats_limit, p.measured],
        "colorants": lambda all_: [[c.name, c.range, c.medium.value, c.code] for c in all_],
        "reference_laydowns": lambda all_: [
            [x.coats, x.stroke, x.pressure, x.dilution, x.wait] for x in all_
        ],
        "swatched": lambda all_: [format_recipe(recipe, with_range=True) for recipe in all_],
    }
    return writers[name](value) if name in writers else value


def read_film_fit(text: str) -> FilmFit:
    """Read what `write_film_fit` wrote."""
    written = json.loads(text)
    colorants = tuple(
        Colorant(name, of, Medium(medium), code) for name, of, medium, code in written["colorants"]
    )
    return FilmFit(**{name: _read(name, value, colorants) for name, value in written.items()})


def _read(name: str, value: Any, colorants: tuple[Colorant, ...]) -> Any:
    if name in ARRAYS:
        return np.array(value, dtype=np.float64)
    if name in WORD_SETS | SENTENCES:
        return frozenset(value) if name in WORD_SETS else tuple(value)
    readers: dict[str, Callable[[Any], Any]] = {
        "paper": _paper,
        "medium": Medium,
        "reference_laydowns": lambda rows: tuple(_laydown(*row) for row in rows),
        "colorants": lambda _: colorants,
        "swatched": lambda texts: _recipes(texts, colorants),
    }
    return readers[name](value) if name in readers else value


def _paper(written: list[Any]) -> Paper:
    name, reflectance, limit, measured = written
    return Paper(name, np.array(reflectance, dtype=np.float64), limit, measured)


def _laydown(coats: int, stroke: str, pressure: str, dilution: float, wait: str) -> Laydown:
    return Laydown(coats, Stroke(stroke), Pressure(pressure), dilution, Wait(wait))


def _recipes(texts: list[str], colorants: tuple[Colorant, ...]) -> tuple[Any, ...]:
    known = {c.label: c for c in colorants}
    return tuple(parse_recipe(text, known.__getitem__) for text in texts)
