"""Triads and runs of a kit, partners of a colorant, and what lies between two."""

from collections.abc import Sequence
from dataclasses import dataclass, field

from laydown.app.fits.at_hand import Supplies, SuppliesAtHand, look_up, ranges_named, set_up
from laydown.app.fits.kept import kit_fit_for
from laydown.errors import BadRecipeError, UnknownNameError
from laydown.match.ranking import Limits
from laydown.match.search.repertoire import Repertoire, repertoire
from laydown.media.kit.fit import AnyFit
from laydown.media.laydown import Laydown
from laydown.media.recipe import Colorant, Recipe, Step, format_recipe
from laydown.plan.run.partners import Gradient, Partner, gradient, partners
from laydown.plan.run.runs import (
    Mending,
    Run,
    Shade,
    find_runs,
    lonely,
    mend_gaps,
    one_coats,
    shades_of,
)
from laydown.plan.run.triads import Triad, runs_alone, runs_of, triads
from laydown.store.library import Library


@dataclass(frozen=True, slots=True)
class ListRuns:
    """What the runs are looked for in."""

    supplies: Supplies = field(default_factory=Supplies)
    coats: int = 1
    """More than 1 to take two and more coats of a colorant as steps of their own."""
    shop: tuple[str, ...] = ()
    """Ranges from which a purchase may be named."""


@dataclass(frozen=True, slots=True, eq=False)
class RunsFound:
    """The runs."""

    kit: str
    paper: str
    runs: tuple[Run, ...]
    """The best rated and longest first, among them triads of one coat each, and a pan or pencil
    alone, thinned or pressed."""
    gaps: tuple[Mending, ...]
    """What would fill the gaps of runs."""
    triads: tuple[Triad, ...]
    """The light, middle and dark of each color, with what would make a missing one."""
    alone: tuple[Shade, ...]
    """Colors that belong to no run."""
    notes: tuple[str, ...]


def list_runs(library: Library, request: ListRuns) -> RunsFound:
    """Find triads and runs, and the recipe or purchase that completes either."""
    for_sale = ranges_named(library, request.shop)
    bench = set_up(library, request.supplies)
    single = one_coats(bench.whole, without=bench.without)
    shades = single + _further_coats(bench.whole, single, request.coats)
    shop = shop_of(library, for_sale, bench)
    ways, recipes = _repertoires(bench)
    found = triads(single, single=ways, recipes=recipes, shop=shop)
    runs = find_runs(shades, besides=runs_of(found) + runs_alone(ways))
    gaps = {g.place: g for run in runs for g in mend_gaps(run, recipes, shop)}
    return RunsFound(
        kit=bench.label,
        paper=bench.whole.paper.name,
        runs=runs,
        gaps=tuple(gaps.values()),
        triads=found,
        alone=lonely(single, runs),
        notes=bench.notes,
    )


def _repertoires(bench: SuppliesAtHand) -> tuple[Repertoire, Repertoire]:
    """Return all ways to lay one color, and the short recipes."""
    one = Limits(steps=1, coats=2, without=bench.without)
    two = Limits(steps=2, coats=2, without=bench.without)
    return repertoire(bench.whole, limits=one), repertoire(bench.whole, limits=two)


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
    """A colorant with its triad and its partners on a paper."""

    kit: str
    paper: str
    colorant: Shade
    triad: Triad
    partners: tuple[Partner, ...]
    notes: tuple[str, ...]


def list_partners(
    library: Library, colorant: str, supplies: Supplies, *, count: int = 3
) -> PartnersFound:
    """Propose so many highlights and shadows for a colorant, itself out of the supplies."""
    wanted = named_colorant(library, colorant, supplies)
    bench = set_up(library, supplies)
    shades = one_coats(bench.whole, without=bench.without)
    own = shade_of(wanted, shades)
    ways, recipes = _repertoires(bench)
    all_triads = triads(shades, single=ways, recipes=recipes)
    return PartnersFound(
        kit=bench.label,
        paper=bench.whole.paper.name,
        colorant=own,
        triad=next(t for s, t in zip(shades, all_triads, strict=True) if s is own),
        partners=partners(own, shades, bench.whole, count=count),
        notes=bench.notes,
    )


def named_colorant(library: Library, name: str, supplies: Supplies) -> Colorant:
    """Look a colorant up in the ranges of what is at hand, before these are fitted."""
    named = look_up(library, supplies)
    ranges = sorted({c.range for c in (*named.owned, *named.over.colorants)})
    with library.look() as work:
        known = [colorant for of in ranges for colorant in work.colorants(of)]
        return work.find_colorant(name, among=known)


def shade_of(wanted: Colorant, shades: Sequence[Shade]) -> Shade:
    """Return one coat of a colorant among those of what is at hand."""
    for shade in shades:
        if shade.recipe and shade.recipe.colorants[0].label == wanted.label:
            return shade
    raise UnknownNameError(
        f"{wanted.label} has no color to find partners for here.",
        hint="Name a colorant of the kit or range that is no blender.",
    )


@dataclass(frozen=True, slots=True, eq=False)
class GradientFound:
    """What lies between two colors on a paper."""

    kit: str
    paper: str
    gradient: Gradient
    words: str
    notes: tuple[str, ...]


def show_gradient(
    library: Library, first: str, second: str, supplies: Supplies, *, count: int = 3
) -> GradientFound:
    """Lay two colors over each other step by step, and say whether they go muddy.

    Raises
    ------
    BadRecipeError
        For the same color twice.
    """
    wanted = [named_colorant(library, name, supplies) for name in (first, second)]
    if wanted[0] == wanted[1]:
        raise BadRecipeError(
            f"{wanted[0].name} twice is no gradient.", hint="Name two different colors."
        )
    bench = set_up(library, supplies)
    shades = one_coats(bench.whole, without=bench.without)
    ends = [shade_of(colorant, shades) for colorant in wanted]
    both = {colorant.label for colorant in wanted}
    rest = frozenset(c.label for c in bench.whole.colorants if c.label not in both)
    together = repertoire(bench.whole, limits=Limits(steps=2, coats=2, without=rest))
    made = gradient(*ends, fit=bench.whole, together=together, others=shades, count=count)
    return GradientFound(bench.label, bench.whole.paper.name, made, made.words, bench.notes)
