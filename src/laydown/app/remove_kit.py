"""Remove a kit."""

from dataclasses import dataclass

from laydown.store.library import Library


@dataclass(frozen=True, slots=True)
class KitRemoved:
    """The name of the kit that is gone."""

    name: str


def remove_kit(library: Library, name: str) -> KitRemoved:
    """Remove a kit; its colorants and their swatches stay in the library."""
    with library.work(f"remove the kit {name}") as work:
        work.remove_kit(name)
    return KitRemoved(name)
