"""Propose the highlight and the shadow for a colorant, and predict how they blend."""

from collections.abc import Sequence
from dataclasses import dataclass, field

from laydown.app.supplies import Supplies, look_up, set_up
from laydown.errors import UnknownNameError
from laydown.media.colorant import Colorant
from laydown.plan.partners import Partner, partners
from laydown.plan.shades import Shade, one_coats
from laydown.store.library import Library


@dataclass(frozen=True, slots=True)
class ListPartners:
    """A colorant, what its partners may come from, and how many of each to name."""

    colorant: str
    supplies: Supplies = field(default_factory=Supplies)
    count: int = 3


@dataclass(frozen=True, slots=True, eq=False)
class PartnersFound:
    """A colorant with its partners on a paper."""

    kit: str
    paper: str
    colorant: Shade
    partners: tuple[Partner, ...]
    notes: tuple[str, ...]


def list_partners(library: Library, request: ListPartners) -> PartnersFound:
    """Propose partners for a colorant, itself out of the kit."""
    wanted = _named(library, request)
    bench = set_up(library, request.supplies)
    shades = one_coats(bench.whole, without=bench.without)
    own = _shade_of(wanted, shades)
    found = partners(own, shades, bench.whole, count=request.count)
    return PartnersFound(bench.label, bench.whole.paper.name, own, found, bench.notes)


def _named(library: Library, request: ListPartners) -> Colorant:
    """Look the colorant up in the ranges of what is at hand, before these are fitted."""
    named = look_up(library, request.supplies)
    ranges = sorted({c.range for c in (*named.owned, *named.over.colorants)})
    with library.look() as work:
        known = [colorant for name in ranges for colorant in work.colorants(name)]
        return work.find_colorant(request.colorant, among=known)


def _shade_of(wanted: Colorant, shades: Sequence[Shade]) -> Shade:
    for shade in shades:
        if shade.recipe and shade.recipe.colorants[0].label == wanted.label:
            return shade
    raise UnknownNameError(
        f"{wanted.label} has no color to find partners for here.",
        hint="Name a colorant of the kit or range that is no blender.",
    )
