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
    papers: dict[Colorant, set[str]] = {}
    with library.look() as work:
        owned = work.kit(name)
        for range_name in sorted({c.range for c in owned}):
            for stored in work.swatches(range=range_name):
                for colorant in stored.swatch.recipe.colorants:
                    papers.setdefault(colorant, set()).add(stored.swatch.paper)
    return KitShown(name, tuple(KitColorant(c, tuple(sorted(papers.get(c, ())))) for c in owned))
