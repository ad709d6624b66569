"""List the swatches of the library."""

from dataclasses import dataclass
from datetime import datetime

from laydown.app.color_in_words import ColorInWords, reflectance_in_words
from laydown.media.recipe import Recipe
from laydown.media.swatch import Basis
from laydown.store.library import Library
from laydown.store.records import StoredSwatch


@dataclass(frozen=True, slots=True)
class ListSwatches:
    """Which swatches; empty for all."""

    range: str = ""
    paper: str = ""
    colorant: str = ""


@dataclass(frozen=True, slots=True, eq=False)
class SwatchListed:
    """A swatch with its number, its color in words, and what was noticed on reading it."""

    id: int
    paper: str
    recipe: Recipe
    color: ColorInWords
    basis: Basis
    spread: float
    flags: frozenset[str]
    when: datetime


@dataclass(frozen=True, slots=True, eq=False)
class Swatches:
    """Swatches in the order they were taken in."""

    swatches: tuple[SwatchListed, ...]


def list_swatches(library: Library, request: ListSwatches) -> Swatches:
    """List swatches of a range, on a paper, or with a colorant."""
    with library.look() as work:
        stored = work.swatches(
            range=work.find_range(request.range).name if request.range else None,
            paper=work.paper(request.paper).name if request.paper else None,
            colorant=work.find_colorant(request.colorant) if request.colorant else None,
        )
    return Swatches(tuple(_listed(s) for s in stored))


def _listed(stored: StoredSwatch) -> SwatchListed:
    swatch = stored.swatch
    return SwatchListed(
        stored.id,
        swatch.paper,
        swatch.recipe,
        reflectance_in_words(swatch.reflectance),
        swatch.basis,
        swatch.spread,
        swatch.flags,
        stored.when,
    )
