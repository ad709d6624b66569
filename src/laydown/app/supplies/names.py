"""Offer the library's own names to a shell that completes them."""

from dataclasses import dataclass

from laydown.app.library import Library, library_is_there, open_named
from laydown.store.library import Work


@dataclass(frozen=True, slots=True)
class NamesAsked:
    """What kind of name (colorant, range, paper or kit), its beginning, and the library."""

    kind: str
    beginning: str
    library: str = ""


@dataclass(frozen=True, slots=True)
class Names:
    """The names that begin so, sorted."""

    names: tuple[str, ...]


def complete_names(request: NamesAsked) -> Names:
    """Return the names of one kind that begin with what was typed, whatever their capitals.

    Where there is no library there are no names, and none is made.
    """
    if not library_is_there(request.library):
        return Names(())
    library = open_named(request.library)
    found = names_in(library, request.kind, request.beginning)
    library.close()
    return found


def names_in(library: Library, kind: str, beginning: str = "") -> Names:
    """Return the names of one kind in an open library, as `complete_names` does."""
    with library.look() as work:
        names = _names(work, kind)
    begun = beginning.casefold()
    return Names(tuple(sorted({n for n in names if n.casefold().startswith(begun)})))


def _names(work: Work, kind: str) -> list[str]:
    if kind == "colorant":
        return [name for c in work.colorants() for name in (c.name, c.label)]
    if kind == "range":
        return [r.name for r in work.ranges()]
    if kind == "paper":
        return list(work.paper_names())
    return list(work.kit_names())
