"""Kits: what a person owns, out of any ranges, and the names they type for it."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

from laydown.app.fits import Supplies, set_up
from laydown.app.supplies.names import find_or_add_all
from laydown.errors import AmbiguousNameError, UnknownNameError
from laydown.media.legible import name_key
from laydown.media.recipe import Colorant, Medium, Recipe, Stock
from laydown.plan.run.runs import Shade, one_coats
from laydown.store.library import Library, Work
from laydown.store.records import Kit
from laydown.store.supplies import near_colorants, pick_colorant

__all__ = ["Kit"]


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


def list_kits(library: Library) -> tuple[Kit, ...]:
    """List all kits, sorted by name."""
    with library.look() as work:
        return work.kits()


@dataclass(frozen=True, slots=True)
class KitColorant:
    """A colorant of a kit, the papers that it has been swatched on, and how it stands with it."""

    colorant: Colorant
    papers: tuple[str, ...]
    stock: Stock


def show_kit(library: Library, name: str) -> tuple[KitColorant, ...]:
    """Show what is in the kit of this name, sorted by range and name."""
    with library.look() as work:
        owned = work.kit(name)
        papers, stock = work.swatches_by_label(sorted({c.range for c in owned})), work.stock(name)
    return tuple(KitColorant(c, tuple(papers.get(c.label, ())), stock[c.label]) for c in owned)


def mark_stock(library: Library, kit: str, name: str, stock: Stock) -> KitColorant:
    """Say that something of a kit runs low, is used up, is on loan, or is there again.

    What is used up or on loan is left out of what is searched in the kit, until it is there again.
    Raises `UnknownNameError` and `AmbiguousNameError` for a kit that isn't there, and for what
    isn't in it or isn't clear.
    """
    with library.work(f"{name} in {kit}: {stock}") as work:
        colorant = work.find_colorant(name, among=work.kit(kit))
        work.set_stock(kit, colorant, stock)
        papers = work.swatches_by_label([colorant.range])
    return KitColorant(colorant, tuple(papers.get(colorant.label, ())), stock)


def running_low(library: Library, kit: str, recipe: Recipe) -> tuple[str, ...]:
    """Say what of a recipe runs low in a kit."""
    if not kit:
        return ()
    with library.look() as work:
        stock = work.stock(kit)
    low = [c.name for c in recipe.colorants if stock.get(c.label) is Stock.LOW]
    return (f"Running low: {', '.join(dict.fromkeys(low))}.",) if low else ()


@dataclass(frozen=True, slots=True, eq=False)
class BoxLaidOut:
    """One coat of each colorant of a kit or of ranges, and the names of the blenders beside."""

    label: str
    paper: str
    shades: tuple[Shade, ...]
    """One coat of each."""
    blenders: tuple[str, ...]
    """Colorless ones, which have no color to show."""
    notes: tuple[str, ...]


def lay_out_box(library: Library, supplies: Supplies) -> BoxLaidOut:
    """Lay out all that is in a box by its color, for a page to pin to the wall."""
    bench = set_up(library, supplies, whole_box=True)
    return BoxLaidOut(
        label=bench.label,
        paper=bench.whole.paper.name,
        shades=one_coats(bench.whole, without=bench.without),
        blenders=tuple(c.name for c in bench.whole.colorants if c.blender),
        notes=bench.notes,
    )


KitChanged = tuple[str, tuple[Colorant, ...], tuple[Colorant, ...], int]
"""A kit, what changed and what didn't of what was asked, and how many colorants the kit now has."""


def own_colorants(
    library: Library,
    kit: str,
    names: Sequence[str] = (),
    *,
    ranges: Sequence[str] = (),
    new_range: str = "",
    medium: Medium | None = None,
) -> KitChanged:
    """Put colorants into a kit, all of them or, if one name is unknown, none.

    `new_range` and `medium` are a range that unknown names are added to, empty for none, and what
    it is made of; None for its own where it is there, else for markers.
    """
    with library.work(f"own {said(names, ranges)} in {kit}") as work:
        whole = in_ranges(work, ranges)
        named = find_or_add_all(work, names, new_range, medium=medium)
        asked = tuple(dict.fromkeys((*whole, *named)))
        return _kit_changed(work, kit, asked, work.own(kit, asked))


def disown_colorants(
    library: Library, kit: str, names: Sequence[str] = (), *, ranges: Sequence[str] = ()
) -> KitChanged:
    """Take colorants out of a kit, all of them or, if one name is unknown, none.

    Names are looked for in the kit alone, so that a name which stands in two ranges is clear when
    only one of them is owned.
    """
    with library.work(f"disown {said(names, ranges)} in {kit}") as work:
        whole, owned = in_ranges(work, ranges), work.kit(kit)
        named = [work.find_colorant(name, among=owned) for name in names]
        asked = tuple(dict.fromkeys((*whole, *named)))
        return _kit_changed(work, kit, asked, work.disown(kit, asked))


def in_ranges(work: Work, ranges: Sequence[str]) -> list[Colorant]:
    """Return the colorants of ranges that are meant as a whole."""
    return [c for name in ranges for c in work.colorants(work.find_range(name).name)]


def said(names: Sequence[str], ranges: Sequence[str]) -> str:
    """Name what a change is about, for the history."""
    named = [*ranges, *names]
    return named[0] if len(named) == 1 else f"{len(named)} names"


def _kit_changed(
    work: Work, kit: str, asked: tuple[Colorant, ...], changed: tuple[Colorant, ...]
) -> KitChanged:
    same = tuple(c for c in asked if c not in changed)
    return kit, changed, same, len(work.kit(kit))


MOST_OFFERED = 60


def offers_for(
    library: Library, owned: Collection[Colorant], *, typed: str = "", range_name: str = ""
) -> tuple[tuple[Colorant, ...], int]:
    """Return what isn't owned yet of a range, or of all, and how many more there would be.

    It is looked for by a part of its name or its code; names that begin with what was typed come
    first.
    """
    with library.look() as work:
        known = work.colorants(range_name or None)
    key = name_key(typed)
    found = [
        c for c in known if c not in owned and key in f"{name_key(c.label)} {name_key(c.code)}"
    ]
    found.sort(key=lambda c: not name_key(c.name).startswith(key))
    return tuple(found[:MOST_OFFERED]), max(0, len(found) - MOST_OFFERED)


NamesChecked = tuple[tuple[Colorant, ...], Mapping[str, tuple[str, ...]]]
"""The colorants that are clear, each once; and for the names that stand for none, or for several,
the labels of what they may mean, the likeliest first."""


def check_names(library: Library, names: Sequence[str]) -> NamesChecked:
    """Look up every name, ``Range/Name`` or owner's code that somebody typed; pass over none."""
    with library.look() as work:
        known = work.colorants()
    found: dict[Colorant, None] = {}
    unclear = {}
    for name in dict.fromkeys(names):
        try:
            found[pick_colorant(name, known)] = None
        except (AmbiguousNameError, UnknownNameError):
            unclear[name] = near_colorants(name, known)
    return tuple(found), unclear
