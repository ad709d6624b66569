"""Show what is in a kit."""

from dataclasses import dataclass

from laydown.media.colorant import Colorant
from laydown.store.library import Library


@dataclass(frozen=True, slots=True)
class KitColorant:
    """A colorant of a kit, and the papers that it has been swatched on."""

    colorant: Colorant
    papers: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class KitShown:
    """A kit, its colorants sorted by range and name."""

    name: str
    colorants: tuple[KitColorant, ...]


def show_kit(library: Library, name: str) -> KitShown:
    """Show the kit of this name."""
    with library.look() as work:
        owned = work.kit(name)
        papers = work.swatches_by_label(sorted({c.range for c in owned}))
    return KitShown(name, tuple(KitColorant(c, tuple(papers.get(c.label, ()))) for c in owned))
