"""Which recipes a sheet of each kind asks for."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from laydown.app.choose_anchors import USUAL_COUNT, anchors_of
from laydown.app.kit_fits import kit_fit_for
from laydown.app.make_chart import MakeChart, make_chart
from laydown.app.match_color import Asking
from laydown.app.supplies import set_up
from laydown.color.lab import lab_from_reflectance
from laydown.errors import BadRecipeError, NotMeasuredError
from laydown.media.colorant import Colorant
from laydown.media.design import one_coat
from laydown.media.kit_design import minimum_design, missing, next_swatch, swatched
from laydown.media.labels import name_key
from laydown.media.recipe import Recipe
from laydown.sheet.sheet import SheetKind
from laydown.store.library import Library
from laydown.store.work import Work

MOST_FIRST = 8
"""Recipes on a first sheet: twelve cells with the bare ones."""
MOST_NEXT = 12


@dataclass(frozen=True, slots=True, eq=False)
class SheetSupplies:
    """What a sheet can be made from.

    Parameters
    ----------
    library
        Where it is.
    colorants
        Those asked about, from pale to dark as far as that is known.
    asking
        How matches are looked for, for the kinds that look for them.
    recipes
        Those that were named.
    colors
        Wanted colors as a chart takes them.
    """

    library: Library
    colorants: tuple[Colorant, ...]
    asking: Asking
    recipes: tuple[Recipe, ...] = ()
    colors: MakeChart | None = None


def known_lightness(work: Work) -> dict[Colorant, float]:
    """Return L* of one coat of each colorant that was swatched, on whatever paper."""
    found: dict[Colorant, list[float]] = {}
    for stored in work.swatches():
        recipe = stored.swatch.recipe
        if recipe.steps and recipe == one_coat(recipe.colorants[0]):
            L = float(lab_from_reflectance(stored.swatch.reflectance)[0])
            found.setdefault(recipe.colorants[0], []).append(L)
    return {colorant: float(np.mean(values)) for colorant, values in found.items()}


def pale_to_dark(
    colorants: Sequence[Colorant], lightness: Mapping[Colorant, float]
) -> tuple[Colorant, ...]:
    """Return colorants from pale to dark; those of unknown lightness keep their order, behind."""
    known = sorted((c for c in colorants if c in lightness), key=lambda c: -lightness[c])
    return (*known, *(c for c in colorants if c not in lightness))


def recipes_for(kind: SheetKind, supplies: SheetSupplies) -> tuple[Recipe, ...]:
    """Return the recipes of a sheet of this kind, each once.

    Raises
    ------
    BadRecipeError
        Where nothing is left to ask for.
    """
    wanted = tuple(dict.fromkeys(KINDS[kind](supplies)))
    if not wanted:
        raise BadRecipeError(
            f"There is nothing to put on a sheet of kind “{kind}”.",
            hint="Name recipes, a kit or a range; what has been swatched needs no new cell.",
        )
    return wanted


def _first(supplies: SheetSupplies) -> Sequence[Recipe]:
    """Likely candidates for the wanted colors; without any swatch, one coat of what was named."""
    if supplies.recipes:
        return supplies.recipes[:MOST_FIRST]
    if supplies.colors is not None:
        try:
            return _candidates(supplies)[:MOST_FIRST]
        except NotMeasuredError:
            pass
    colored = [c for c in supplies.colorants if not c.blender]
    return [one_coat(c) for c in _spread(colored, MOST_FIRST)]


def _candidates(supplies: SheetSupplies) -> list[Recipe]:
    """Return the best recipe for each wanted color, then one coat of what they are made of."""
    chart = make_chart(supplies.library, supplies.colors or MakeChart(asking=supplies.asking))
    best = [match.best.prediction.recipe for match in chart.matches]
    single = [match.single.prediction.recipe for match in chart.matches]
    parts = [one_coat(c) for recipe in best for c in recipe.colorants]
    return [recipe for recipe in dict.fromkeys([*best, *single, *parts]) if recipe.steps]


def _kit(supplies: SheetSupplies) -> Sequence[Recipe]:
    return minimum_design(supplies.colorants, list(range(len(supplies.colorants))))


def _next(supplies: SheetSupplies) -> Sequence[Recipe]:
    """Take the swatch that helps most, then recipes never laid, then what is missing."""
    wanted = None if supplies.colors is None else _candidates(supplies)
    fit = set_up(supplies.library, supplies.asking.supplies).whole
    asked = list(missing(fit)) if wanted is None else wanted
    if not asked:
        return []
    helpful, _ = next_swatch(fit, asked)
    done = swatched(fit)
    rest = [recipe for recipe in (*asked, *missing(fit)) if recipe not in done]
    return list(dict.fromkeys([helpful, *rest]))[:MOST_NEXT]


def _pairs(supplies: SheetSupplies) -> Sequence[Recipe]:
    return [recipe for recipe in _kit(supplies) if len(recipe.colorants) == 2]


def _named(supplies: SheetSupplies) -> Sequence[Recipe]:
    return supplies.recipes or [one_coat(c) for c in supplies.colorants]


def _anchors(supplies: SheetSupplies) -> Sequence[Recipe]:
    """One coat of those that tell most of the others; never swatched, a few from pale to dark."""
    colored = [c for c in supplies.colorants if not c.blender]
    source, ranges = _known_on(supplies, colored)
    if not ranges:
        return [one_coat(c) for c in _spread(colored, USUAL_COUNT)]
    fit = kit_fit_for(supplies.library, ranges, source)
    return [one_coat(c) for c in anchors_of(fit, among=colored)]


def _known_on(supplies: SheetSupplies, colorants: Sequence[Colorant]) -> tuple[str, list[str]]:
    """Return the paper to carry over from, and which ranges were swatched on it.

    It is the one that was named, else the one with most swatches of these colorants, a paper other
    than the sheet's first.
    """
    asked, owned = supplies.asking.supplies, set(colorants)
    if asked.swatched_on:
        return asked.swatched_on, sorted({c.range for c in owned})
    found: dict[str, list[str]] = {}
    with supplies.library.look() as work:
        for stored in work.swatches():
            used = owned & set(stored.swatch.recipe.colorants)
            found.setdefault(stored.swatch.paper, []).extend(c.range for c in used)
    here = name_key(asked.paper)
    known = [paper for paper, ranges in found.items() if ranges]
    source = min(known, key=lambda p: (name_key(p) == here, -len(found[p]), p), default="")
    return source, sorted(set(found.get(source, ())))


def _spread(colorants: Sequence[Colorant], count: int) -> list[Colorant]:
    if not colorants:
        return []
    places = np.round(np.linspace(0, len(colorants) - 1, min(count, len(colorants))))
    return [colorants[int(place)] for place in places]


KINDS: Mapping[SheetKind, Callable[[SheetSupplies], Sequence[Recipe]]] = {
    SheetKind.FIRST: _first,
    SheetKind.KIT: _kit,
    SheetKind.NEXT: _next,
    SheetKind.PAIRS: _pairs,
    SheetKind.LIST: _named,
    SheetKind.ANCHORS: _anchors,
}
"""How each kind chooses, by its name."""
