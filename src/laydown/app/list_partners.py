"""Propose the highlight and the shadow for a colorant, and predict how they blend."""

from dataclasses import dataclass, field

from laydown.app.supplies import Supplies, set_up
from laydown.errors import UnknownNameError
from laydown.media.kit_fit import AnyFit
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
    bench = set_up(library, request.supplies)
    shades = one_coats(bench.whole, without=bench.without)
    own = _named(library, request.colorant, shades, bench.whole)
    found = partners(own, shades, bench.whole, count=request.count)
    return PartnersFound(bench.label, bench.whole.paper.name, own, found, bench.notes)


def _named(library: Library, name: str, shades: tuple[Shade, ...], fit: AnyFit) -> Shade:
    with library.look() as work:
        wanted = work.find_colorant(name, among=fit.colorants)
    for shade in shades:
        if shade.recipe and shade.recipe.colorants[0].label == wanted.label:
            return shade
    raise UnknownNameError(
        f"{wanted.label} has no color to find partners for here.",
        hint="Name a colorant of the kit or range that is no blender.",
    )
