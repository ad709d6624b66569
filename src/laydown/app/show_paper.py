"""Show one paper: its color, and which ranges have been swatched on it."""

from dataclasses import dataclass

from laydown.app.color_in_words import ColorInWords, reflectance_in_words
from laydown.store.library import Library


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
        covered = work.coverage()
    ranges = tuple(
        RangeOnPaper(c.range, c.swatches, c.colorants) for c in covered if c.paper == paper.name
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
