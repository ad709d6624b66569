"""Offer the library's own names to a shell that completes them."""

from dataclasses import dataclass

from laydown.app.library import Library, library_is_there, open_named
from laydown.store.library import Work


@dataclass(frozen=True, slots=True)
class Removed:
    """The name of a range or a paper that is gone, and how many swatches went with it."""

    name: str
    swatches: int


def complete_names(kind: str, beginning: str, *, location: str = "") -> tuple[str, ...]:
    """Return the names of colorants, ranges, papers or kits that begin with what was typed.

    Capitals don't matter. Where there is no library there are no names, and none is made.
    """
    if not library_is_there(location):
        return ()
    library = open_named(location)
    found = names_in(library, kind, beginning)
    library.close()
    return found


def names_in(library: Library, kind: str, beginning: str = "") -> tuple[str, ...]:
    """Return the names of one kind in an open library, sorted, as `complete_names` does."""
    with library.look() as work:
        names = _names(work, kind)
    begun = beginning.casefold()
    return tuple(sorted({n for n in names if n.casefold().startswith(begun)}))


def _names(work: Work, kind: str) -> list[str]:
    if kind == "colorant":
        return [name for c in work.colorants() for name in (c.name, c.label)]
    if kind == "range":
        return [r.name for r in work.ranges()]
    if kind == "paper":
        return list(work.paper_names())
    return list(work.kit_names())
