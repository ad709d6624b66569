"""Triads and runs, partners, gradients; colors over each other, and what lies near a color."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from functools import lru_cache

import numpy as np

from laydown.app.fits import Supplies, SuppliesAtHand, kit_fit_for, look_up, ranges_named, set_up
from laydown.app.words import ColorInWords, in_words
from laydown.color.arrays import FloatArray
from laydown.color.lab import ciede2000, lab_from_reflectance
from laydown.color.light import NamedLight, named_lights
from laydown.errors import BadRecipeError, UnknownNameError
from laydown.match.judge import TOLERANCES
from laydown.match.mud import chroma_lost, is_muddy
from laydown.match.ranking import Limits, usual_ranking
from laydown.match.search.repertoire import Repertoire, repertoire
from laydown.match.words import difference
from laydown.media.kit.fit import AnyFit, color_of, predict
from laydown.media.laydown import Laydown
from laydown.media.recipe import Colorant, Recipe, Step, format_recipe, order_troubles
from laydown.media.recipe_words import recipe_words
from laydown.plan.run import runs as shading
from laydown.plan.run.partners import DARK, Gradient, Partner, gradient, partners
from laydown.plan.run.ranges import Comparison, compare, svg
from laydown.plan.run.runs import Mending, Run, Shade
from laydown.plan.run.triads import Triad, runs_alone, runs_of, triads
from laydown.reference.thresholds import thresholds
from laydown.store.library import Library, remembered

AT_HAND = 4
"""Boxes of which all short recipes stay at hand, colored: each color of a box asks for them."""


@dataclass(frozen=True, slots=True)
class ListRuns:
    """What the runs are looked for in."""

    supplies: Supplies = field(default_factory=Supplies)
    coats: int = 1
    """More than 1 to take two and more coats of a colorant as steps of their own."""
    shop: tuple[str, ...] = ()
    """Ranges from which a purchase may be named."""
    sense: bool = True
    """Whether the sense of the trade counts, of recipes that fill a gap."""


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
    single = shading.one_coats(bench.whole, without=bench.without)
    shades = single + _further_coats(bench.whole, single, request.coats)
    shop = shop_of(library, for_sale, bench)
    ways, recipes = _repertoires(bench, sense=request.sense)
    found = triads(single, single=ways, recipes=recipes, shop=shop)
    runs = shading.find_runs(shades, besides=runs_of(found) + runs_alone(ways))
    gaps = {g.place: g for run in runs for g in shading.mend_gaps(run, recipes, shop)}
    return RunsFound(
        kit=bench.label,
        paper=bench.whole.paper.name,
        runs=runs,
        gaps=tuple(gaps.values()),
        triads=found,
        alone=shading.lonely(single, runs),
        notes=bench.notes,
    )


@lru_cache(AT_HAND)
def _repertoires(bench: SuppliesAtHand, *, sense: bool = True) -> tuple[Repertoire, Repertoire]:
    """Return all ways to lay one color, and the short recipes."""
    one = Limits(steps=1, coats=2, without=bench.without)
    two = _short(bench, sense=sense, without=bench.without)
    return repertoire(bench.whole, limits=one), two


def _short(bench: SuppliesAtHand, *, sense: bool, without: frozenset[str]) -> Repertoire:
    limits, ranking = Limits(steps=2, coats=2, without=without), usual_ranking("class", sense=sense)
    return repertoire(bench.whole, limits=limits, ranking=ranking)


def shop_of(library: Library, ranges: tuple[str, ...], bench: SuppliesAtHand) -> tuple[Shade, ...]:
    """Return one coat of each colorant of these ranges that is not at hand."""
    if not ranges:
        return ()
    fit = kit_fit_for(library, ranges, bench.whole.paper.name)
    owned = frozenset(c.label for c in bench.whole.colorants) - bench.without
    return shading.one_coats(fit, without=owned)


def _further_coats(fit: AnyFit, single: tuple[Shade, ...], coats: int) -> tuple[Shade, ...]:
    recipes = [
        Recipe((Step(one.recipe.colorants[0], Laydown(coats=count)),))
        for one in single
        if one.recipe
        for count in range(2, coats + 1)
    ]
    return shading.shades_of(fit, [(format_recipe(recipe), recipe) for recipe in recipes])


@dataclass(frozen=True, slots=True, eq=False)
class PartnersFound:
    """A colorant with its triad and its partners on a paper."""

    kit: str
    paper: str
    colorant: Shade
    triad: Triad
    partners: tuple[Partner, ...]
    notes: tuple[str, ...]

    def lacks(self, role: str) -> str:
        """Say why there is no highlight or no shadow; empty where there is one."""
        if any(partner.role == role for partner in self.partners):
            return ""
        if role == "shadow" and self.colorant.value < DARK:
            return "none: so dark a color has no shadow, it is the shadow of others"
        way = "lighter" if role == "highlight" else "darker"
        return f"none: nothing here of about its hue is {way} by half a step to three and a half"


def list_partners(
    library: Library, colorant: str, supplies: Supplies, *, count: int = 3
) -> PartnersFound:
    """Propose so many highlights and shadows for a colorant, itself out of the supplies."""
    wanted = named_colorant(library, colorant, supplies)
    bench = set_up(library, supplies)
    shades = shading.one_coats(bench.whole, without=bench.without)
    own = shade_of(wanted, shades)
    ways, recipes = _repertoires(bench)
    (triad,) = triads(shades, single=ways, recipes=recipes, of=[own])
    return PartnersFound(
        kit=bench.label,
        paper=bench.whole.paper.name,
        colorant=own,
        triad=triad,
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
    for one in shades:
        if label_of(one) == wanted.label:
            return one
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
    library: Library,
    first: str,
    second: str,
    supplies: Supplies,
    *,
    count: int = 3,
    sense: bool = True,
) -> GradientFound:
    """Lay two colors over each other step by step, and say whether they go muddy.

    Steps between are recipes as a match gives them, with the sense of the trade or without it.
    Raises `BadRecipeError` for the same color twice.
    """
    wanted = [named_colorant(library, name, supplies) for name in (first, second)]
    if wanted[0] == wanted[1]:
        raise BadRecipeError(
            f"{wanted[0].name} twice is no gradient.", hint="Name two different colors."
        )
    bench = set_up(library, supplies)
    shades = shading.one_coats(bench.whole, without=bench.without)
    ends = [shade_of(colorant, shades) for colorant in wanted]
    both = {colorant.label for colorant in wanted}
    rest = frozenset(c.label for c in bench.whole.colorants if c.label not in both)
    together = _short(bench, sense=sense, without=rest)
    made = gradient(*ends, fit=bench.whole, together=together, others=shades, count=count)
    return GradientFound(bench.label, bench.whole.paper.name, made, made.words, bench.notes)


MOST_IN_GRID = 20
"""Colors along each side of a grid: what can be told apart on a screen (chosen)."""


@dataclass(frozen=True, slots=True, eq=False)
class Overlay:
    """Another color, what comes of one coat of both, and whether that is muddy."""

    other: Shade
    made: Shade
    lost: float
    """How much less chroma it has than the two alone on average; below 0 it grew."""
    muddy: bool


@dataclass(frozen=True, slots=True, eq=False)
class OverlaysShown:
    """A color of the supplies with each other one laid over it, and with it laid over each."""

    kit: str
    paper: str
    colorant: Shade
    over: tuple[Overlay, ...]
    under: tuple[Overlay, ...]
    notes: tuple[str, ...]


def show_overlays(library: Library, colorant: str, supplies: Supplies) -> OverlaysShown:
    """Lay each other color of the supplies over one, and under it, in one coat each."""
    wanted = named_colorant(library, colorant, supplies)
    bench = set_up(library, supplies)
    shades = shading.one_coats(bench.whole, without=bench.without)
    own = shade_of(wanted, shades)
    others = by_hue(one for one in shades if one is not own)
    return OverlaysShown(
        kit=bench.label,
        paper=bench.whole.paper.name,
        colorant=own,
        over=_overlays(bench.whole, [(own, one) for one in others], others),
        under=_overlays(bench.whole, [(one, own) for one in others], others),
        notes=bench.notes,
    )


def _overlays(
    fit: AnyFit, pairs: Sequence[tuple[Shade, Shade]], others: Sequence[Shade]
) -> tuple[Overlay, ...]:
    """Lay pairs, the lower one first; those that ruin tools or work are left out."""
    laid = [Recipe(below.recipe.steps + above.recipe.steps) for below, above in pairs]  # type: ignore[union-attr]
    sound = [place for place, recipe in enumerate(laid) if not order_troubles(recipe)]
    made = shading.shades_of(fit, [(recipe_words(laid[place]), laid[place]) for place in sound])
    return tuple(
        _overlay(others[place], pairs[place], one) for place, one in zip(sound, made, strict=True)
    )


def _overlay(other: Shade, pair: tuple[Shade, Shade], made: Shade) -> Overlay:
    alone, together = (np.hypot(*one.lab[1:]) for one in pair), np.hypot(*made.lab[1:])
    lost = float(sum(alone) / 2.0 - together)
    return Overlay(other, made, lost, is_muddy(lost, float(together)))


@dataclass(frozen=True, slots=True, eq=False)
class GridShown:
    """Colors of the supplies, each laid over each."""

    kit: str
    paper: str
    shades: tuple[Shade, ...]
    """Of both sides, by hue and from light to dark."""
    rows: tuple[tuple[Overlay, ...], ...]
    """Over each of them in turn: every other one, as far as the order ruins nothing."""
    left_out: int
    notes: tuple[str, ...]

    @property
    def by_loss(self) -> tuple[Overlay, ...]:
        """All of them, what lost most chroma first."""
        laid = (one for row in self.rows for one in row)
        return tuple(sorted(laid, key=lambda one: (-one.lost, one.made.name)))


@remembered(8)
def show_grid(library: Library, supplies: Supplies, *, skip: int = 0) -> GridShown:
    """Lay each color of the supplies over each other one, in one coat each.

    `skip`: where there are too many for one grid, they are spread over all hues; others come with
    each number from 0.
    """
    bench = set_up(library, supplies)
    every = by_hue(shading.one_coats(bench.whole, without=bench.without))
    stride = max(1, -(-len(every) // MOST_IN_GRID))
    shades = every[skip % stride :: stride]
    return GridShown(
        kit=bench.label,
        paper=bench.whole.paper.name,
        shades=shades,
        rows=tuple(
            _overlays(bench.whole, [(below, one) for one in others], others)
            for below in shades
            for others in [tuple(one for one in shades if one is not below)]
        ),
        left_out=len(every) - len(shades),
        notes=bench.notes,
    )


@dataclass(frozen=True, slots=True, eq=False)
class Laid:
    """A pile as it comes out, and what it is made of."""

    kit: str
    paper: str
    recipe: Recipe
    color: ColorInWords
    alone: tuple[Shade, ...]
    """Each of its steps by itself on the paper, bottom first."""
    lost: float
    """Chroma that layering takes; below 0 it grows."""
    muddy: bool
    turned: Recipe | None
    turned_lab: FloatArray | None
    turned_words: str
    """The same the other way round, its color, and how that differs; None and empty where it
    can't be done."""
    lights: tuple[tuple[NamedLight, FloatArray], ...]
    """What an eye used to each of the usual lights sees, in CIELAB."""
    warnings: tuple[str, ...]
    """Where the pile goes beyond what was swatched."""
    notes: tuple[str, ...]


def lay(library: Library, recipe: str, supplies: Supplies) -> Laid:
    """Lay a pile, and see what comes of it.

    `recipe`: the pile in its text form, bottom first. Raises `BadRecipeError` for what is no
    recipe, or an order that ruins tools or work.
    """
    bench = set_up(library, replace(supplies, over=recipe))
    fit, pile = bench.whole, bench.over
    if not pile.steps:
        raise BadRecipeError("Nothing was laid.", hint="Name a color, or touch one.")
    made, lost = predict(fit, pile), chroma_lost(fit, pile)
    alone = shading.shades_of(
        fit, [(recipe_words(one), one) for s in pile.steps for one in [Recipe((s,))]]
    )
    turned = Recipe(pile.steps[::-1])
    sound = len(pile.steps) > 1 and not order_troubles(turned)
    other = color_of(fit, turned) if sound else None
    return Laid(
        kit=bench.label,
        paper=fit.paper.name,
        recipe=pile,
        color=in_words(made.lab),
        alone=alone,
        lost=lost,
        muddy=is_muddy(lost, float(np.hypot(*made.lab[1:]))),
        turned=turned if sound else None,
        turned_lab=other,
        turned_words=difference(made.lab, other).words if other is not None else "",
        lights=tuple(
            (one, lab_from_reflectance(made.reflectance, weights=one.weights))
            for one in named_lights()
            if one.usual
        ),
        warnings=made.warnings,
        notes=bench.notes,
    )


FEW = 6
SECTORS = 9
"""Into how many hues a box is laid out (chosen)."""
SAME_HUE = 30.0
"""How far shadow and light may turn from a color's hue [degrees of IPT] (chosen)."""
A_STEP = 0.6
"""How much lighter or darker they are at least [value] (chosen)."""
GRAY = 0.03
"""Chroma of IPT below which a hue says nothing (chosen)."""


@remembered(8)
def measured_shades(library: Library, paper: str) -> tuple[Shade, ...]:
    """Return one coat of each colorant as it was measured on a paper; replicates on the mean."""
    with library.look() as work:
        stored = work.swatches(paper=paper)
    coats: dict[Colorant, list[FloatArray]] = {}
    for swatch in (one.swatch for one in stored if one.swatch.hours is None):
        colorant = next(iter(swatch.recipe.colorants), None)
        if colorant and not colorant.blender and swatch.recipe == Recipe((Step(colorant),)):
            coats.setdefault(colorant, []).append(swatch.reflectance)
    labs = [lab_from_reflectance(np.mean(spectra, axis=0)) for spectra in coats.values()]
    named = [(one.name, Recipe((Step(one),))) for one in coats]
    return shading.shades(named, np.array(labs).reshape(-1, 3))


def by_hue(shades: Iterable[Shade]) -> tuple[Shade, ...]:
    """Return shades by hue and from light to dark; grays come last."""

    def sector(one: Shade) -> int:
        return SECTORS if one.chroma < GRAY else int(one.hue % 360.0 // (360.0 / SECTORS))

    return tuple(sorted(shades, key=lambda one: (sector(one), -one.value, one.name)))


def in_box(library: Library, shades: Sequence[Shade], supplies: Supplies) -> tuple[Shade, ...]:
    """Return those that are at hand, by hue and from light to dark; grays come last."""
    owned = _owned(library, supplies)
    return by_hue(one for one in shades if label_of(one) in owned)


def neighbors_of(
    library: Library, lab: FloatArray, supplies: Supplies, shades: Sequence[Shade]
) -> tuple[tuple[Shade, ...], ...]:
    """Return what lies near a color, shape (3,), in what is at hand and beyond it.

    In what is at hand the nearest, then what is lighter and what is darker of about the same hue,
    the nearest in value first; and the nearest beyond it. `shades`: all that was measured on that
    paper.
    """
    owned = _owned(library, supplies)
    own = [one for one in shades if label_of(one) in owned]
    rest = [one for one in shades if label_of(one) not in owned]
    wanted = shading.shade("", lab)
    alike = [one for one in own if _same_hue(wanted, one)]
    steps = [(one.value - wanted.value, one) for one in alike]
    return (
        _nearest(own, lab),
        _by_step((step, one) for step, one in steps if step > A_STEP),
        _by_step((-step, one) for step, one in steps if -step > A_STEP),
        _nearest(rest, lab),
    )


Twin = tuple[Shade, Shade, float]
"""Two colors that are nearly the same, what isn't owned second, and CIEDE2000 between them."""


TwinsOf = tuple[str, tuple[Twin, ...], tuple[Shade, ...]]
"""The name of a box, or of a set that it lacks in part; what the box has alike, the nearest first;
and what is new to it, the farthest from all that is owned first."""


@remembered(8)
def find_twins(library: Library, supplies: Supplies) -> tuple[TwinsOf, ...]:
    """Look for what is nearly the same on a paper: in a box, then in each set beyond it."""
    shades, owned = measured_shades(library, supplies.paper), _owned(library, supplies)
    own = [one for one in shades if label_of(one) in owned]
    sets: dict[str, list[Shade]] = {}
    for one in shades:
        if one.recipe and label_of(one) not in owned:
            sets.setdefault(one.recipe.colorants[0].range, []).append(one)
    off, near = _off(own, own), thresholds()["tolerance class"]
    first, second = np.nonzero(np.triu(off <= near, k=1))
    pairs = zip(first, second, strict=True)
    twins = _by_off((own[i], own[j], float(off[i, j])) for i, j in pairs)
    beyond = sorted(sets) if own else ()
    return (
        (supplies.kit or ", ".join(supplies.ranges), twins, ()),
        *(_beside(name, own, sets[name], near) for name in beyond),
    )


def _beside(name: str, own: Sequence[Shade], theirs: Sequence[Shade], near: float) -> TwinsOf:
    off = _off(own, theirs)
    nearest = zip(off.argmin(axis=0), theirs, off.min(axis=0), strict=True)
    twins = _by_off((own[place], one, float(least)) for place, one, least in nearest)
    new = tuple(second for _, second, least in reversed(twins) if least > near)
    return name, tuple(twin for twin in twins if twin[-1] <= near), new


def _off(first: Sequence[Shade], second: Sequence[Shade]) -> FloatArray:
    """Return CIEDE2000 of each of the first to each of the second."""
    labs = [np.array([one.lab for one in shades]).reshape(-1, 3) for shades in (first, second)]
    return ciede2000(labs[0][:, None], labs[1][None])


def _by_off(pairs: Iterable[Twin]) -> tuple[Twin, ...]:
    return tuple(sorted(pairs, key=lambda twin: (twin[-1], twin[0].name)))


@remembered(16)
def _owned(library: Library, supplies: Supplies) -> frozenset[str]:
    """Return the labels of what is at hand; a box may be empty."""
    with library.look() as work:
        named = [work.find_range(name).name for name in supplies.ranges]
        owned = [c for name in named for c in work.colorants(name)]
        return frozenset(c.label for c in (work.kit(supplies.kit) if supplies.kit else owned))


def label_of(one: Shade) -> str:
    """Return the label of what a shade is one coat of; empty where nobody said how to make it."""
    return one.recipe.colorants[0].label if one.recipe else ""


def _same_hue(wanted: Shade, other: Shade) -> bool:
    if wanted.chroma < GRAY or other.chroma < GRAY:
        return max(wanted.chroma, other.chroma) < GRAY
    return bool(abs(shading.turn(wanted.hue, other.hue)) <= SAME_HUE)


def _nearest(shades: Sequence[Shade], lab: FloatArray) -> tuple[Shade, ...]:
    if not shades:
        return ()
    off = ciede2000(np.array([one.lab for one in shades]), lab)
    return tuple(shades[place] for place in np.argsort(off, kind="stable")[:FEW])


def _by_step(steps: Iterable[tuple[float, Shade]]) -> tuple[Shade, ...]:
    return tuple(one for _, one in sorted(steps, key=lambda step: (step[0], step[1].name))[:3])


@dataclass(frozen=True, slots=True)
class CompareRanges:
    """Two ranges, the paper, and how near counts as reached."""

    first: str
    second: str
    paper: str = ""
    tolerance: str = "class"


@dataclass(frozen=True, slots=True)
class RangesCompared:
    """The comparison, with its plots as SVG text."""

    paper: str
    tolerance: str
    comparison: Comparison
    svg: tuple[str, ...]


def compare_ranges(library: Library, request: CompareRanges) -> RangesCompared:
    """Compare what two ranges reach, recipes of two steps of two coats counted."""
    both = ranges_named(library, (request.first, request.second))
    benches = [set_up(library, Supplies(ranges=(name,), paper=request.paper)) for name in both]
    made = compare(
        [bench.label for bench in benches],
        [shading.one_coats(bench.whole, without=bench.without) for bench in benches],
        [
            repertoire(bench.whole, limits=Limits(steps=2, coats=2, without=bench.without))
            for bench in benches
        ],
        tolerance=TOLERANCES[request.tolerance],
    )
    plots = tuple(svg(plot) for plot in made.plots)
    return RangesCompared(benches[0].whole.paper.name, request.tolerance, made, plots)
