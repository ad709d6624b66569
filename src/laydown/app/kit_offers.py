"""Offer colorants to put into a kit while somebody types."""

from collections.abc import Collection
from dataclasses import dataclass

from laydown.media.colorant import Colorant
from laydown.media.labels import name_key
from laydown.store.library import Library

MOST_OFFERED = 60


@dataclass(frozen=True, slots=True)
class KitOffers:
    """Colorants that are not in the kit, and how many more there would be."""

    colorants: tuple[Colorant, ...]
    more: int


def offers_for(
    library: Library, owned: Collection[Colorant], *, typed: str = "", range_name: str = ""
) -> KitOffers:
    """Return what isn't owned yet of a range, or of all, by a part of its name or its code.

    Names that begin with what was typed come first.
    """
    with library.look() as work:
        known = work.colorants(range_name or None)
    key = name_key(typed)
    found = [
        c for c in known if c not in owned and key in f"{name_key(c.label)} {name_key(c.code)}"
    ]
    found.sort(key=lambda c: not name_key(c.name).startswith(key))
    return KitOffers(tuple(found[:MOST_OFFERED]), max(0, len(found) - MOST_OFFERED))
