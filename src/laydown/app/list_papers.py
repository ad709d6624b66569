"""List the papers of the library."""

from dataclasses import dataclass

from laydown.app.color_in_words import ColorInWords, reflectance_in_words
from laydown.store.library import Library


@dataclass(frozen=True, slots=True, eq=False)
class PaperListed:
    """A paper with its color, the coats it bears, and whether its color was measured."""

    name: str
    coats_limit: int
    measured: bool
    color: ColorInWords


@dataclass(frozen=True, slots=True, eq=False)
class Papers:
    """All papers, sorted by name."""

    papers: tuple[PaperListed, ...]


def list_papers(library: Library) -> Papers:
    """List all papers."""
    with library.look() as work:
        papers = work.papers()
    return Papers(
        tuple(
            PaperListed(p.name, p.coats_limit, p.measured, reflectance_in_words(p.reflectance))
            for p in papers
        )
    )
