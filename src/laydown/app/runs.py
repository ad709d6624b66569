"""Shading runs of a kit, and the highlight and shadow that go with a colorant."""

from collections.abc import Sequence
from dataclasses import dataclass, field

from laydown.app.fits.at_hand import Supplies, SuppliesAtHand, look_up, ranges_named, set_up
from laydown.app.fits.kept import kit_fit_for
from laydown.errors import UnknownNameError
from laydown.match.search.repertoire import repertoire
from laydown.match.space import Limits
from laydown.media.colorant import Colorant
from laydown.media.kit.fit import AnyFit
from laydown.media.laydown import Laydown
from laydown.media.recipe import Recipe, Step, format_recipe
from laydown.plan.run.partners import Partner, partners
from laydown.plan.run.runs import (
    Mending,
    Run,
    Shade,
    find_runs,
    lonely,
    mend_gaps,
    mend_lonely,
    one_coats,
    shades_of,
)
from laydown.store.library import Library


@dataclass(frozen=True, slots=True)
class ListRuns:
    """What the runs are looked for in.

    Parameters
    ----------
    supplies
        A kit or ranges, and the paper.
    coats
        More than 1 to take two and more coats of a colorant as steps of their own.
    shop
        Ranges from which a purchase may be named.
    """

    supplies: Supplies = field(default_factory=Supplies)
    coats: int = 1
    shop: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, eq=False)
class RunsFound:
    """The runs.

    Parameters
    ----------
    kit, paper
        What was asked of.
    runs
        The best rated and longest first.
    gaps
        What would fill the gaps of runs.
    alone
        Colorants that belong to no run.
    mendings
        What would give them a highlight and a shadow.
    notes
        On supplies.
    """

    kit: str
    paper: str
    runs: tuple[Run, ...]
    gaps: tuple[Mending, ...]
    alone: tuple[Shade, ...]
    mendings: tuple[Mending, ...]
    notes: tuple[str, ...]


def list_runs(library: Library, request: ListRuns) -> RunsFound:
    """Find runs, lonely colorants, and the recipe or purchase that completes either."""
    for_sale = ranges_named(library, request.shop)
    bench = set_up(library, request.supplies)
    single = one_coats(bench.whole, without=bench.without)
    shades = single + _further_coats(bench.whole, single, request.coats)
    shop = shop_of(library, for_sale, bench)
    recipes = repertoire(bench.whole, limits=Limits(steps=2, coats=2, without=bench.without))
    runs = find_runs(shades)
    alone = lonely(single, runs)
    gaps = {g.place: g for run in runs for g in mend_gaps(run, recipes, shop)}
    return RunsFound(
        kit=bench.label,
        paper=bench.whole.paper.name,
        runs=runs,
        gaps=tuple(gaps.values()),
        alone=alone,
        mendings=tuple(m for shade in alone for m in mend_lonely(shade, recipes, shop)),
        notes=bench.notes,
    )


def shop_of(library: Library, ranges: tuple[str, ...], bench: SuppliesAtHand) -> tuple[Shade, ...]:
    """Return one coat of each colorant of these ranges that is not at hand."""
    if not ranges:
        return ()
    fit = kit_fit_for(library, ranges, bench.whole.paper.name)
    owned = frozenset(c.label for c in bench.whole.colorants) - bench.without
    return one_coats(fit, without=owned)


def _further_coats(fit: AnyFit, single: tuple[Shade, ...], coats: int) -> tuple[Shade, ...]:
    recipes = [
        Recipe((Step(shade.recipe.colorants[0], Laydown(coats=count)),))
        for shade in single
        if shade.recipe
        for count in range(2, coats + 1)
    ]
    return shades_of(fit, [(format_recipe(recipe), recipe) for recipe in recipes])


@dataclass(frozen=True, slots=True, eq=False)
class PartnersFound:
    """A colorant with its partners on a paper."""

    kit: str
    paper: str
    colorant: Shade
    partners: tuple[Partner, ...]
    notes: tuple[str, ...]


def list_partners(
    library: Library, colorant: str, supplies: Supplies, *, count: int = 3
) -> PartnersFound:
    """Propose so many highlights and shadows for a colorant, itself out of the supplies."""
    wanted = _named(library, colorant, supplies)
    bench = set_up(library, supplies)
    shades = one_coats(bench.whole, without=bench.without)
    own = _shade_of(wanted, shades)
    found = partners(own, shades, bench.whole, count=count)
    return PartnersFound(bench.label, bench.whole.paper.name, own, found, bench.notes)


def _named(library: Library, name: str, supplies: Supplies) -> Colorant:
    """Look the colorant up in the ranges of what is at hand, before these are fitted."""
    named = look_up(library, supplies)
    ranges = sorted({c.range for c in (*named.owned, *named.over.colorants)})
    with library.look() as work:
        known = [colorant for of in ranges for colorant in work.colorants(of)]
        return work.find_colorant(name, among=known)


def _shade_of(wanted: Colorant, shades: Sequence[Shade]) -> Shade:
    for shade in shades:
        if shade.recipe and shade.recipe.colorants[0].label == wanted.label:
            return shade
    raise UnknownNameError(
        f"{wanted.label} has no color to find partners for here.",
        hint="Name a colorant of the kit or range that is no blender.",
    )
