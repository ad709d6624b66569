"""Which swatches of pencils or washes to make: the minimum design, and what of it is missing."""

from collections.abc import Callable, Sequence

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.media.colorant import Colorant
from laydown.media.inference.fit import Fit
from laydown.media.laydown import Laydown, Medium, Pressure
from laydown.media.recipe import Recipe, Step, format_recipe

DEEP = {
    Medium.PENCIL: Laydown(coats=3, pressure=Pressure.HEAVY),
    Medium.WASH: Laydown(coats=3),
}
"""How a colorant is laid to show how far it covers."""
THIN = {
    Medium.PENCIL: (
        Laydown(pressure=Pressure.LIGHT),
        Laydown(coats=3, pressure=Pressure.LIGHT),
    ),
    Medium.WASH: (Laydown(dilution=0.5), Laydown(dilution=0.75)),
}
"""How a few are laid to show what light pressure or water does."""
PAIRS = 3
THIN_ONES = 2


def minimum_film_design(
    colorants: Sequence[Colorant], strengths: Sequence[float] | FloatArray | None = None
) -> tuple[Recipe, ...]:
    """Return the swatches that pencils or washes on a paper need for an answer.

    Parameters
    ----------
    colorants
        Of one medium.
    strengths
        How strong each is, in the same order; otherwise the order is taken to run from pale to
        dark.

    Returns
    -------
    tuple of Recipe
        Bare paper; one coat of each and one deep; two of them thin in two ways; three
        pale and dark pairs, each in both orders. For 24 colorants 59 patches, an evening's work.

    Examples
    --------
    >>> pencils = [Colorant(f"Leaf {i}", "Meadow", Medium.PENCIL) for i in range(24)]
    >>> len(minimum_film_design(pencils))
    59
    """
    given = range(len(colorants)) if strengths is None else list(strengths)
    ranked = [c for _, c in sorted(zip(given, colorants, strict=True), key=lambda pair: pair[0])]
    if not ranked:
        return (Recipe(),)
    medium = ranked[0].medium
    deep = [_alone(c, DEEP[medium]) for c in colorants]
    thin = [_alone(c, how) for c in _spread(ranked, THIN_ONES + 2)[1:-1] for how in THIN[medium]]
    return (
        Recipe(),
        *(_alone(c, Laydown()) for c in colorants),
        *deep,
        *dict.fromkeys(thin),
        *_pairs(ranked),
    )


def _alone(colorant: Colorant, laydown: Laydown) -> Recipe:
    return Recipe((Step(colorant, laydown),))


def _spread(ranked: Sequence[Colorant], count: int) -> list[Colorant]:
    return [ranked[round(at)] for at in np.linspace(0, len(ranked) - 1, count).tolist()]


def _pairs(ranked: Sequence[Colorant]) -> list[Recipe]:
    """Return the palest over the darkest, the next over the next darkest …, and turned round."""
    half = min(PAIRS, len(ranked) // 2)
    chosen = list(zip(ranked[:half], ranked[::-1][:half], strict=True))
    ordered = [pair for pale, dark in chosen for pair in ((pale, dark), (dark, pale))]
    return [Recipe((Step(below), Step(above))) for below, above in ordered]


def film_missing(fit: Fit) -> tuple[Recipe, ...]:
    """Return what of the minimum design hasn't been swatched.

    Any colorants will do for the deep, thin and layered ones.
    """
    ranked = _by_depth(fit)
    done = set(fit.swatched)
    design = minimum_film_design(ranked, None)
    bare = () if fit.paper.measured else (Recipe(),)
    alone = tuple(r for r in design if _is_first(r) and r not in done)
    return (*bare, *alone, *_short(design, done, _is_deep), *_short(design, done, _is_pair))


def _by_depth(fit: Fit) -> list[Colorant]:
    return [fit.colorants[i] for i in np.argsort(fit.depth, kind="stable")]


def _is_first(recipe: Recipe) -> bool:
    return len(recipe.steps) == 1 and recipe.steps[0] == Step(recipe.colorants[0])


def _is_deep(recipe: Recipe) -> bool:
    return len(recipe.steps) == 1 and recipe.coats > 1


def _is_pair(recipe: Recipe) -> bool:
    return len(recipe.colorants) == 2 and len(recipe.steps) == 2


def _short(
    design: Sequence[Recipe], done: set[Recipe], kind: Callable[[Recipe], bool]
) -> tuple[Recipe, ...]:
    wanted = [r for r in design if kind(r)]
    have = sum(1 for r in done if kind(r))
    return tuple(r for r in wanted if r not in done)[: max(len(wanted) - have, 0)]


def next_film_swatch(fit: Fit, recipes: Sequence[Recipe]) -> tuple[Recipe, str]:
    """Return the swatch that would make the given recipes' colors surest, and why.

    The recipe itself where something in it was never swatched (a treatment, a pressure, a carried
    colorant), else the deep swatch of the colorant that the least sure recipe leans on, where it
    has none yet.

    Parameters
    ----------
    fit
        Pencils or washes on their paper.
    recipes
        Whose predictions are to become surer.

    Returns
    -------
    tuple
        An empty recipe and no sentence where nothing obvious is missing.
    """
    paper = fit.paper.name
    for recipe in recipes:
        told = fit.outside(recipe)
        if told and recipe not in fit.swatched:
            return recipe, f"Lay {format_recipe(recipe)} on {paper} and measure it: {told[0]}"
    deep = {r.colorants[0] for r in fit.swatched if _is_deep(r)}
    for colorant in dict.fromkeys(c for r in recipes for c in r.colorants):
        if colorant not in deep:
            swatch = _alone(colorant, DEEP[fit.medium])
            return swatch, (
                f"Lay {format_recipe(swatch)} on {paper}: it says how far {colorant.name} covers."
            )
    return Recipe(), ""
