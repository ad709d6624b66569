"""Kits: what a person owns, out of any ranges, and the names they type for it."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass

from laydown.app.supplies.names import find_or_add_all
from laydown.errors import AmbiguousNameError, UnknownNameError
from laydown.media.colorant import Colorant
from laydown.media.laydown import Medium
from laydown.media.recipe import name_key
from laydown.store.library import Library, Work
from laydown.store.supplies import near_colorants, pick_colorant


def create_kit(library: Library, name: str) -> str:
    """Create a kit with nothing in it, and return its name."""
    with library.work(f"create the kit {name}") as work:
        work.add_kit(name)
    return name


def remove_kit(library: Library, name: str) -> str:
    """Remove a kit and return its name; its colorants and their swatches stay in the library."""
    with library.work(f"remove the kit {name}") as work:
        work.remove_kit(name)
    return name


@dataclass(frozen=True, slots=True)
class KitListed:
    """A kit, how many colorants are in it, and out of which ranges."""

    name: str
    colorants: int
    ranges: tuple[str, ...]


def list_kits(library: Library) -> tuple[KitListed, ...]:
    """List all kits, sorted by name."""
    with library.look() as work:
        kits = work.kits()
    return tuple(
        KitListed(k.name, len(k.colorants), tuple(sorted({c.range for c in k.colorants})))
        for k in kits
    )


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


@dataclass(frozen=True, slots=True)
class OwnColorants:
    """Which colorants, and the kit.

    Parameters
    ----------
    kit
        Its name.
    names
        Names, ``Range/Name`` or owner's codes.
    ranges
        Ranges meant as a whole.
    new_range, medium
        A range that unknown names are added to, empty for none, and what it is made of; None for
        its own where it is there, else for markers.
    """

    kit: str
    names: tuple[str, ...] = ()
    ranges: tuple[str, ...] = ()
    new_range: str = ""
    medium: Medium | None = None


@dataclass(frozen=True, slots=True)
class KitChanged:
    """What changed, and how many colorants the kit now has."""

    kit: str
    changed: tuple[Colorant, ...]
    unchanged: tuple[Colorant, ...]
    colorants: int


def own_colorants(library: Library, request: OwnColorants) -> KitChanged:
    """Put colorants into a kit, all of them or, if one name is unknown, none."""
    with library.work(f"own {said(request)} in {request.kit}") as work:
        asked = named_colorants(work, request)
        return kit_changed(work, request.kit, asked, work.own(request.kit, asked))


def named_colorants(
    work: Work, request: OwnColorants, among: Sequence[Colorant] | None = None
) -> tuple[Colorant, ...]:
    """Return the colorants that a request names, each once, in its order."""
    whole = [c for name in request.ranges for c in work.colorants(work.find_range(name).name)]
    if among is not None:
        named = tuple(work.find_colorant(name, among=among) for name in request.names)
    else:
        named = find_or_add_all(work, request.names, request.new_range, medium=request.medium)
    return tuple(dict.fromkeys([*whole, *named]))


def kit_changed(
    work: Work, kit: str, asked: tuple[Colorant, ...], changed: tuple[Colorant, ...]
) -> KitChanged:
    """Say what a change of a kit came to."""
    same = tuple(c for c in asked if c not in changed)
    return KitChanged(kit, changed, same, len(work.kit(kit)))


def said(request: OwnColorants) -> str:
    """Name what a request is about, for the history."""
    named = [*request.ranges, *request.names]
    return named[0] if len(named) == 1 else f"{len(named)} names"


def disown_colorants(library: Library, request: OwnColorants) -> KitChanged:
    """Take colorants out of a kit, all of them or, if one name is unknown, none.

    Names are looked for in the kit alone, so that a name which stands in two ranges is clear when
    only one of them is owned.
    """
    with library.work(f"disown {said(request)} in {request.kit}") as work:
        asked = named_colorants(work, request, among=work.kit(request.kit))
        return kit_changed(work, request.kit, asked, work.disown(request.kit, asked))


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


@dataclass(frozen=True, slots=True)
class Unclear:
    """A name that stands for nothing here, or for several things.

    Parameters
    ----------
    name
        As typed.
    meant
        Labels of what it may mean, the likeliest first; empty where nothing is near.
    """

    name: str
    meant: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class NamesChecked:
    """The colorants that are clear, each once, and the names that aren't."""

    found: tuple[Colorant, ...]
    unclear: tuple[Unclear, ...]


def check_names(library: Library, names: Sequence[str]) -> NamesChecked:
    """Look up every name, ``Range/Name`` or owner's code that somebody typed; pass over none."""
    with library.look() as work:
        known = work.colorants()
    looked = [_look_up(name, known) for name in dict.fromkeys(names)]
    found = [one for one in looked if isinstance(one, Colorant)]
    return NamesChecked(
        tuple(dict.fromkeys(found)), tuple(one for one in looked if isinstance(one, Unclear))
    )


def _look_up(name: str, known: Sequence[Colorant]) -> Colorant | Unclear:
    try:
        return pick_colorant(name, known)
    except (AmbiguousNameError, UnknownNameError):
        return Unclear(name, near_colorants(name, known))
