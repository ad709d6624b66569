"""List the kits of the library."""

from dataclasses import dataclass

from laydown.store.library import Library


@dataclass(frozen=True, slots=True)
class KitListed:
    """A kit, how many colorants are in it, and out of which ranges."""

    name: str
    colorants: int
    ranges: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Kits:
    """All kits, sorted by name."""

    kits: tuple[KitListed, ...]


def list_kits(library: Library) -> Kits:
    """List all kits."""
    with library.look() as work:
        kits = work.kits()
    return Kits(
        tuple(
            KitListed(k.name, len(k.colorants), tuple(sorted({c.range for c in k.colorants})))
            for k in kits
        )
    )
