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
        return LibraryShown(
            library.location,
            len(work.ranges()),
            len(work.colorants()),
            len(work.papers()),
            len(work.swatches()),
            len(work.kits()),
        )
