"""Which swatches to make: the minimum design, what of it is missing, and the next best one."""

from collections.abc import Sequence
from functools import lru_cache
from itertools import combinations, islice

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.media.inference.design import most_telling
from laydown.media.inference.fit import Fit
from laydown.media.inference.priors import HELD, Priors
from laydown.media.laydown import Laydown, Wait
from laydown.media.marker.pile import laid_steps, stroke_effect
from laydown.media.marker.priors import (
    BLENDER,
    EFFECTS,
    LATER_COAT,
    LIFT,
    QUICK,
    SCALE,
    SOAKED,
    WET,
)
from laydown.media.recipe import Colorant, Recipe, Step

# Which effects a recipe of markers depends on, and which some swatches tell.

PAIRS_NEEDED = 3
"""Fewer layered swatches than this don't part a later coat, lift and scale from each other."""


def layered_recipes(recipes: Sequence[Recipe]) -> frozenset[Recipe]:
    """Return those in which at least two different colorants, none a blender, lie over each other.

    >>> len(layered_recipes([Recipe()]))
    0
    """
    return frozenset(r for r in recipes if len({c for c in r.colorants if not c.blender}) > 1)


def both_orders(recipes: Sequence[Recipe]) -> frozenset[frozenset[str]]:
    """Return the pairs of colorants that were laid over each other in both orders, by label."""
    ordered: set[tuple[str, str]] = set()
    for recipe in layered_recipes(recipes):
        labels = [c.label for c in recipe.colorants]
        if len(labels) == 2:
            ordered.add((labels[0], labels[1]))
    return frozenset(frozenset(pair) for pair in ordered if pair[::-1] in ordered)


def blends(recipe: Recipe) -> bool:
    """Tell whether a colorless blender lies over a color somewhere in a recipe.

    >>> kelp, rinse = Colorant("Kelp", "Estuary"), Colorant("Rinse", "Estuary", blender=True)
    >>> [blends(Recipe((Step(a), Step(b)))) for a, b in ((kelp, rinse), (rinse, kelp))]
    [True, False]
    """
    kinds = [step.colorant.blender for step in recipe.steps if isinstance(step, Step)]
    return False in kinds and True in kinds[kinds.index(False) :]


def bears_on(recipe: Recipe) -> frozenset[str]:
    """Return the effects that the color of a recipe of markers depends on.

    One even coat is known from its own swatch, whatever the effects are.

    >>> kelp, dune = Step(Colorant("Kelp", "Estuary")), Step(Colorant("Dune", "Estuary"))
    >>> sorted(bears_on(Recipe((kelp,)))), sorted(bears_on(Recipe((kelp, dune))))
    ([], ['later coat', 'lift', 'scale'])
    """
    steps = [step for step in recipe.steps if isinstance(step, Step)]
    colored = [step for step in steps if not step.colorant.blender]
    found = set(words_laid(recipe))
    if sum(step.laydown.coats for step in colored) > 1:
        found |= {EFFECTS[SCALE], EFFECTS[LATER_COAT]}
    if layered_recipes([recipe]):
        found.add(EFFECTS[LIFT])
    if blends(recipe):
        found |= {EFFECTS[SCALE], EFFECTS[BLENDER]}
    return frozenset(found)


def free_effects(recipes: Sequence[Recipe], priors: Priors) -> FloatArray:
    """Return shape (7,): 1 for effects that these swatches tell, 0 for those that keep their prior.

    `recipes`: of the swatches. `priors`: an effect held there stays held.
    """
    free = np.zeros(len(EFFECTS))
    layered = layered_recipes(recipes)
    free[SCALE] = float(any(recipe.coats > 1 for recipe in recipes))
    free[LATER_COAT] = float(len(layered) >= PAIRS_NEEDED)
    free[LIFT] = float(len(both_orders(recipes)) >= PAIRS_NEEDED)
    free[BLENDER] = float(any(blends(recipe) for recipe in recipes))
    laid = frozenset().union(*(words_laid(recipe) for recipe in recipes))
    for effect in (QUICK, SOAKED, WET):
        free[effect] = float(EFFECTS[effect] in laid)
    return free * (priors.sd > 2.0 * HELD)


def words_laid(recipe: Recipe) -> frozenset[str]:
    """Return the unusual strokes and waits of a recipe; a wait counts only over coats.

    >>> from laydown.media.laydown import Laydown, Stroke, Wait
    >>> kelp = Colorant("Kelp", "Estuary")
    >>> sorted(words_laid(Recipe((Step(kelp, Laydown(stroke=Stroke.QUICK, wait=Wait.WET)),))))
    ['quick']
    """
    words: set[str] = set()
    for number, step in enumerate(laid_steps(recipe)):
        stroke, is_over_color = stroke_effect(step.laydown), number > 0 or step.laydown.coats > 1
        if stroke is not None:
            words.add(EFFECTS[stroke])
        if step.laydown.wait is Wait.WET and is_over_color:
            words.add(EFFECTS[WET])
    return frozenset(words)


TWO_COATS = 10
"""So many colorants, spread in strength, are swatched in two coats."""
REMEMBERED = 8
"""Fits of which it is remembered what is missing: each color asked of a kit asks for it anew."""


MOST_PAIRED = 60
"""Colorants that are tried over each other to find the next swatch: 3,540 pairs take 4 seconds."""


def minimum_design(
    colorants: Sequence[Colorant], strengths: Sequence[float] | FloatArray | None = None
) -> tuple[Recipe, ...]:
    """Return the swatches that a range on a paper needs for an answer without assumptions.

    `colorants`: of the range, blenders included. `strengths`: how strong each is, in the same
    order, where that is known; otherwise the order given is taken to run from pale to dark. Returns
    bare paper; one coat of each; two coats of `TWO_COATS` spread in strength; three pale and dark
    pairs, each in both orders; a coat of each blender over a middling and a dark one.

    >>> len(minimum_design([Colorant(f"Shell {word}", "Estuary") for word in "abcd"]))
    15
    """
    ranked = _by_strength(colorants, strengths)
    pairs = [pair for chosen in _pairs(ranked) for pair in (chosen, chosen[::-1])]
    return (
        Recipe(),
        *(one_coat(c) for c in colorants if not c.blender),
        *(coats_of(c, 2) for c in _spread(ranked, TWO_COATS)),
        *(_over(a, b) for a, b in pairs),
        *(_over(c, b) for b in colorants if b.blender for c in _to_blend(ranked)),
    )


def one_coat(colorant: Colorant) -> Recipe:
    """Return the recipe of one even coat."""
    return coats_of(colorant, 1)


def coats_of(colorant: Colorant, coats: int) -> Recipe:
    """Return the recipe of several even coats of one colorant."""
    return Recipe((Step(colorant, Laydown(coats=coats)),))


def _over(below: Colorant, above: Colorant) -> Recipe:
    return Recipe((Step(below), Step(above)))


def _by_strength(
    colorants: Sequence[Colorant], strengths: Sequence[float] | FloatArray | None
) -> list[Colorant]:
    given = list(range(len(colorants))) if strengths is None else list(strengths)
    ranked = sorted(range(len(colorants)), key=lambda i: (given[i], colorants[i].label))
    return [colorants[i] for i in ranked if not colorants[i].blender]


def _to_blend(ranked: Sequence[Colorant]) -> list[Colorant]:
    """Return a middling and a dark colorant: over a pale one, little can be carried off."""
    places = sorted({len(ranked) // 2, len(ranked) - 1})
    return [ranked[place] for place in places if ranked]


def _spread(ranked: Sequence[Colorant], count: int) -> list[Colorant]:
    if not ranked:
        return []
    places = np.linspace(0, len(ranked) - 1, min(count, len(ranked)))
    return [ranked[int(place)] for place in np.round(places)]


def _pairs(ranked: Sequence[Colorant]) -> list[tuple[Colorant, Colorant]]:
    """Return three pairs of a pale and a dark colorant, none used twice where there are enough."""
    third = max(len(ranked) // 3, min(len(ranked) // 2, PAIRS_NEEDED))
    pale, dark = ranked[:third], ranked[len(ranked) - third :]
    pairs = list(zip(_spread(pale, PAIRS_NEEDED), _spread(dark, PAIRS_NEEDED), strict=True))
    others = (pair for pair in combinations(ranked, 2) if pair not in pairs)
    return [*pairs, *islice(others, PAIRS_NEEDED - len(pairs))]


@lru_cache(REMEMBERED)
def missing(fit: Fit) -> tuple[Recipe, ...]:
    """Return what of the minimum design hasn't been swatched.

    Any ten colorants in two coats and any three pairs in both orders will do; a pair swatched in
    one order is first completed by the other.

    `fit`: from `fit_markers`.
    """
    done = set(fit.swatched)
    ranked = _by_strength(fit.colorants, fit.depth)
    ones = [one_coat(c) for c in ranked if one_coat(c) not in done]
    bare = [] if fit.paper.measured else [Recipe()]
    deeper = {r.colorants[0] for r in done if len(r.colorants) == 1 and r.coats > 1}
    wanted = max(min(TWO_COATS, len(ranked)) - len(deeper), 0)
    twos = [coats_of(c, 2) for c in _spread([c for c in ranked if c not in deeper], wanted)]
    # two blends for each blender that hasn't been laid over any color
    tried = {c for recipe in done if blends(recipe) for c in recipe.colorants if c.blender}
    untried = [c for c in fit.colorants if c.blender and c not in tried]
    blended = [_over(c, blender) for blender in untried for c in _to_blend(ranked)]
    return (*bare, *ones, *twos, *_missing_pairs(ranked, done), *blended)


def _missing_pairs(ranked: list[Colorant], done: set[Recipe]) -> list[Recipe]:
    possible = len(ranked) * (len(ranked) - 1) // 2
    wanted = min(PAIRS_NEEDED, possible) - len(both_orders(tuple(done)))
    coats = [r for r in done if len(r.steps) == 2 and r.coats == 2 and len(r.colorants) == 2]
    halves = sorted(
        (r for r in coats if not any(c.blender for c in r.colorants)), key=lambda r: r.key
    )
    upside_down = [Recipe(r.steps[::-1]) for r in halves if Recipe(r.steps[::-1]) not in done]
    begun = {frozenset(r.colorants) for r in halves}
    fresh = [pair for pair in _pairs(ranked) if frozenset(pair) not in begun]
    pairs = [[recipe] for recipe in upside_down]
    pairs += [[_over(a, b), _over(b, a)] for a, b in fresh]
    return [recipe for pair in pairs[: max(wanted, 0)] for recipe in pair]


def next_swatch(fit: Fit, recipes: Sequence[Recipe]) -> tuple[Recipe, str]:
    """Return the one swatch that would make the given recipes' colors surest, and why.

    `fit`: from `fit_markers`. `recipes`: whose predictions are to become surer. Returns the swatch,
    and a sentence that says what it would tell and how much it would help. An empty recipe and no
    sentence where no single swatch is worth making.
    """
    unknown = [c for recipe in recipes for c in fit.unknown(recipe)]
    if unknown:
        name = unknown[0].name
        return one_coat(unknown[0]), (
            f"Lay one coat of {name} on {fit.paper.name}: nothing is known of it there yet."
        )
    laid = [recipe for recipe in recipes if recipe.steps]
    found = most_telling(fit, laid, _candidates(fit, recipes))
    return (found[0], _reason(fit, *found)) if found else (Recipe(), "")


def _candidates(fit: Fit, recipes: Sequence[Recipe]) -> list[Recipe]:
    """Return one coat, two coats, pairs and blends of the colorants used, and what is missing."""
    used = list(dict.fromkeys(c for r in recipes for c in r.colorants))
    colorants, blenders = [c for c in used if not c.blender], [c for c in used if c.blender]
    # What a pair tells is common to all, so that a few hundred of them, evenly out of all, are
    # choice enough; all pairs of six hundred would take half an hour.
    some = _spread(colorants, MOST_PAIRED)
    listed = (
        *(one_coat(c) for c in colorants),
        *(coats_of(c, 2) for c in colorants),
        *(r for i, a in enumerate(some) for b in some[:i] for r in (_over(a, b), _over(b, a))),
        *(_over(c, blender) for c in colorants for blender in blenders),
        *missing(fit),
    )
    return [r for r in dict.fromkeys(listed) if r.steps]


def _reason(fit: Fit, swatch: Recipe, now: float, after: float) -> str:
    first, *others = [c.name for c in swatch.colorants]
    paper = fit.paper.name
    what = f"Lay {others[0]} over {first} on {paper}: it says " if others else ""
    if swatch.coats == 1:
        what = f"Lay one coat of {first} on {paper} again: it says how much one coat is"
    elif not others:
        what = f"Lay {swatch.coats} coats of {first} on {paper}: they say how deep the dye goes"
        what += " into the paper"
    elif blends(swatch):
        what += "what the blender carries off"
    else:
        what += "what a later coat takes and what is lifted"
    return f"{what}. Expected: what is unsure shrinks from {now:.1f} to {after:.1f} color units."
