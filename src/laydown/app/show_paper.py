"""Show one paper: its color, and which ranges have been swatched on it."""

from dataclasses import dataclass

from laydown.app.color_in_words import ColorInWords, reflectance_in_words
from laydown.store.library import Library
from laydown.store.records import StoredSwatch


@dataclass(frozen=True, slots=True)
class RangeOnPaper:
    """How many swatches of a range lie on the paper, and of how many colorants."""

    range: str
    swatches: int
    colorants: int


@dataclass(frozen=True, slots=True, eq=False)
class PaperShown:
    """A paper with all that is known of it.

    Parameters
    ----------
    name, coats_limit, measured, color
        As `list_papers` gives them.
    bare_swatches
        How many patches of bare paper were measured.
    fluorescent
        Whether it sends out more light than falls on it somewhere in the spectrum.
    ranges
        What has been swatched on it.
    """

    name: str
    coats_limit: int
    measured: bool
    color: ColorInWords
    bare_swatches: int
    fluorescent: bool
    ranges: tuple[RangeOnPaper, ...]


def show_paper(library: Library, name: str) -> PaperShown:
    """Show the paper of this name."""
    with library.look() as work:
        paper = work.paper(name)
        bare = len(work.bare_paper(paper.name))
        stored = {r.name: work.swatches(range=r.name, paper=paper.name) for r in work.ranges()}
    ranges = tuple(
        RangeOnPaper(range_name, len(swatches), _colorants(range_name, swatches))
        for range_name, swatches in stored.items()
        if swatches
    )
    return PaperShown(
        paper.name,
        paper.coats_limit,
        paper.measured,
        reflectance_in_words(paper.reflectance),
        bare,
        bool(paper.reflectance.max() > 1),
        ranges,
    )


def _colorants(range_name: str, stored: tuple[StoredSwatch, ...]) -> int:
    used = {c for s in stored for c in s.swatch.recipe.colorants if c.range == range_name}
    return len(used)
