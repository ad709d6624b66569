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
    """Which swatches.

    Parameters
    ----------
    range, paper, colorant
        Empty for all.
    skip, most
        How many of them to pass over first, and how many to list at most; None is all.
    """

    range: str = ""
    paper: str = ""
    colorant: str = ""
    skip: int = 0
    most: int | None = None


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
    """Swatches in the order they were taken in, and how many there are in all."""

    swatches: tuple[SwatchListed, ...]
    total: int


def list_swatches(library: Library, request: ListSwatches) -> Swatches:
    """List swatches of a range, on a paper, or with a colorant."""
    with library.look() as work:
        wanted = (
            work.find_range(request.range).name if request.range else None,
            work.paper_name(request.paper) if request.paper else None,
            work.find_colorant(request.colorant) if request.colorant else None,
        )
        stored = work.swatches(*wanted, skip=request.skip, most=request.most)
        total = work.count_swatches(*wanted)
    return Swatches(tuple(_listed(s) for s in stored), total)


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
