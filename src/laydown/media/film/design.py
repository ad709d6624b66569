"""Which swatches of pencils or washes to make: the minimum design, and what of it is missing."""

from collections.abc import Callable, Iterable, Sequence

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.media.inference.fit import Fit
from laydown.media.laydown import Laydown, Pressure
from laydown.media.recipe import Colorant, Medium, Recipe, Step, format_recipe

DEEP = {Medium.PENCIL: Laydown(coats=3, pressure=Pressure.HEAVY), Medium.WASH: Laydown(coats=3)}
"""How a colorant is laid to show how far it covers."""
THIN = {
    Medium.PENCIL: (Laydown(pressure=Pressure.LIGHT), Laydown(coats=3, pressure=Pressure.LIGHT)),
    Medium.WASH: (Laydown(dilution=0.5), Laydown(dilution=0.75)),
}
"""How a few are laid to show what light pressure or water does."""
PAIRS = 3
THIN_ONES = 2


def minimum_design(
    colorants: Sequence[Colorant], strengths: Sequence[float] | FloatArray | None = None
) -> tuple[Recipe, ...]:
    """Return the swatches that pencils or washes on a paper need for an answer.

    `colorants`: of one medium. `strengths`: how strong each is, in the same order; otherwise the
    order is taken to run from pale to dark. Returns bare paper; one coat of each and one deep; two
    of them thin in two ways; three pale and dark pairs, each in both orders; then each wash over
    the darkest. For 24 pencils 59 patches, an evening's work; for 24 pans 81.

    A deep pencil shows how far it covers. A wash lies within the paper: on white a transparent one
    deepens as an opaque one does, and only a dark below it tells them apart.

    >>> pencils = [Colorant(f"Leaf {i}", "Meadow", Medium.PENCIL) for i in range(24)]
    >>> len(minimum_design(pencils))
    59
    """
    ranked = _from_pale_to_dark(colorants, strengths)
    sparing = sparing_film_design(colorants, strengths)
    if not ranked or ranked[0].medium is not Medium.WASH:
        return sparing
    return tuple(dict.fromkeys([*sparing, *over_the_darkest(ranked)]))


def sparing_film_design(
    colorants: Sequence[Colorant], strengths: Sequence[float] | FloatArray | None = None
) -> tuple[Recipe, ...]:
    """Return the minimum design without each wash over the darkest; the same for pencils."""
    ranked = _from_pale_to_dark(colorants, strengths)
    if not ranked:
        return (Recipe(),)
    medium, half = ranked[0].medium, min(PAIRS, len(ranked) // 2)
    spread = np.linspace(0, len(ranked) - 1, THIN_ONES + 2)[1:-1].tolist()
    thin = [_alone(ranked[round(at)], how) for at in spread for how in THIN[medium]]
    # the palest over the darkest, the next over the next darkest …, and turned round
    chosen = zip(ranked[:half], ranked[::-1][:half], strict=True)
    ordered = [pair for pale, dark in chosen for pair in ((pale, dark), (dark, pale))]
    return (
        Recipe(),
        *(_alone(c, Laydown()) for c in colorants),
        *(_alone(c, DEEP[medium]) for c in colorants),
        *dict.fromkeys(thin),
        *(Recipe((Step(below), Step(above))) for below, above in ordered),
    )


def _from_pale_to_dark(
    colorants: Sequence[Colorant], strengths: Sequence[float] | FloatArray | None
) -> list[Colorant]:
    given = range(len(colorants)) if strengths is None else list(strengths)
    return [c for _, c in sorted(zip(given, colorants, strict=True), key=lambda pair: pair[0])]


def _alone(colorant: Colorant, laydown: Laydown) -> Recipe:
    return Recipe((Step(colorant, laydown),))


def over_the_darkest(ranked: Sequence[Colorant]) -> list[Recipe]:
    """Return each colorant, from pale to dark, laid once over the darkest."""
    return [Recipe((Step(ranked[-1]), Step(colorant))) for colorant in ranked[:-1]]


def shown_covering(recipes: Iterable[Recipe]) -> frozenset[Colorant]:
    """Return the washes that some recipe lays over, or mixes with, another."""
    return frozenset(
        part.colorant
        for recipe in recipes
        for number, step in enumerate(recipe.steps)
        if isinstance(step, Step) and (number or step.mixed)
        for part in step.parts
    )


def missing(fit: Fit) -> tuple[Recipe, ...]:
    """Return what of the minimum design hasn't been swatched.

    Any colorants will do for the deep, thin and layered ones; each wash has to cover another.
    """
    ranked, done = _by_depth(fit), set(fit.swatched)
    design, plain = sparing_film_design(ranked), {_alone(c, Laydown()) for c in ranked}
    bare = () if fit.paper.measured else (Recipe(),)
    alone = tuple(recipe for recipe in design if recipe in plain - done)
    deep, pairs = (_short(design, done, kind) for kind in (_is_deep, _is_pair))
    if fit.medium is not Medium.WASH:
        return (*bare, *alone, *deep, *pairs)
    shown = shown_covering(done)
    covering = [r for r in over_the_darkest(ranked) if r.colorants[1] not in shown]
    return (*bare, *alone, *deep, *dict.fromkeys([*pairs, *covering]))


def _by_depth(fit: Fit) -> list[Colorant]:
    return [fit.colorants[i] for i in np.argsort(fit.depth, kind="stable")]


def _is_deep(recipe: Recipe) -> bool:
    return len(recipe.steps) == 1 and recipe.coats > 1


def _is_pair(recipe: Recipe) -> bool:
    return len(recipe.colorants) == 2 and len(recipe.steps) == 2


def _short(
    design: Sequence[Recipe], done: set[Recipe], kind: Callable[[Recipe], bool]
) -> list[Recipe]:
    wanted = list(filter(kind, design))
    short = len(wanted) - len(list(filter(kind, done)))
    return [recipe for recipe in wanted if recipe not in done][: max(short, 0)]


def next_swatch(fit: Fit, recipes: Sequence[Recipe]) -> tuple[Recipe, str]:
    """Return the swatch that would make the given recipes' colors surest, and why.

    The recipe itself where something in it was never swatched (a treatment, a pressure, a carried
    colorant), else the deep swatch of the colorant that the least sure recipe leans on, where it
    has none yet; of washes then that over the darkest.

    `fit`: pencils or washes on their paper. `recipes`: whose predictions are to become surer.
    Returns an empty recipe and no sentence where nothing obvious is missing.
    """
    paper = fit.paper.name
    for recipe in recipes:
        told = fit.outside(recipe)
        if told and recipe not in fit.swatched:
            return recipe, f"Lay {format_recipe(recipe)} on {paper} and measure it: {told[0]}"
    deep = {r.colorants[0] for r in fit.swatched if _is_deep(r)}
    leaned_on = dict.fromkeys(c for r in recipes for c in r.colorants)
    wanted = [_alone(c, DEEP[fit.medium]) for c in leaned_on if c not in deep]
    if not wanted and fit.medium is Medium.WASH:
        shown = shown_covering(fit.swatched)
        dark = over_the_darkest(_by_depth(fit))
        wanted = [r for r in dark if r.colorants[1] in leaned_on and r.colorants[1] not in shown]
    if not wanted:
        return Recipe(), ""
    covering = wanted[0].colorants[-1].name
    return wanted[0], (
        f"Lay {format_recipe(wanted[0])} on {paper}: it says how far {covering} covers."
    )


def uncovered(fit: Fit, recipe: Recipe) -> str:
    """Say which wash of a recipe of several was never laid over or mixed with another.

    ``uncovered(fit, recipe)`` is empty where all were, and where a single one is laid.
    """
    if fit.medium is not Medium.WASH or len(recipe.colorants) == 1:
        return ""
    shown = shown_covering(fit.swatched)
    name = next((c.name for c in recipe.colorants[::-1] if c not in shown), "")
    return name and (
        f"You haven't laid {name} over a dark color yet, and on white paper nothing shows how "
        f"much it covers: that is a guess."
    )
