"""Say where the library is and what it holds."""

from dataclasses import dataclass

from laydown.store.library import Library


@dataclass(frozen=True, slots=True)
class LibraryShown:
    """Where the library is, and how much is in it."""

    location: str
    ranges: int
    colorants: int
    papers: int
    swatches: int
    kits: int


def show_library(library: Library) -> LibraryShown:
    """Count what the library holds."""
    with library.look() as work:
        held = work.held()
    return LibraryShown(
        library.location, held.ranges, held.colorants, held.papers, held.swatches, held.kits
    )
