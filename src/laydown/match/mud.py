"""Mud, chroma that layering loses, and a way round; what solvent or burnishing would make."""

from itertools import combinations
from math import hypot

import numpy as np

from laydown.color.lab import ciede2000, lab_from_reflectance
from laydown.match.outcome import Mud
from laydown.match.question import Question
from laydown.media.film.priors import TURNS
from laydown.media.kit.fit import AnyFit, KitFit, color_of, reflectance, soaking
from laydown.media.recipe import Medium, Recipe, Step, Tool, Treatment, TreatmentStep, format_recipe
from laydown.reference.thresholds import thresholds


def chroma_lost(fit: AnyFit, recipe: Recipe) -> float:
    """Return how much less chroma a pile has than its steps alone have on average.

    `fit`: the kit on its paper. `recipe`: the whole pile. Returns CIELAB chroma; below 0 where
    layering has made it more vivid, 0 for fewer than two colors.
    """
    parts = [_chroma(fit, Recipe((step,))) for step in _colored(recipe)]
    if len(parts) < 2:
        return 0.0
    return sum(parts) / len(parts) - _chroma(fit, recipe)


def is_muddy(lost: float, have: float) -> bool:
    """Whether a mixture is mud: much chroma is lost, and little of it is left.

    `lost`, `have`: what it falls short of the mean of its parts, and what it has itself [CIELAB
    chroma].

    A green of yellow and blue is duller than these and yet no mud; a brown of red and green is.

    >>> is_muddy(17.0, 35.0), is_muddy(28.0, 10.0)
    (False, True)
    """
    limits = thresholds()
    return lost >= limits["mud"] and have <= limits["mud left"] * (have + lost)


def mud_in(fit: AnyFit, recipe: Recipe) -> float:
    """Return the chroma that a pile loses where that makes it mud; 0 where it stays clean."""
    lost = chroma_lost(fit, recipe)
    return lost if is_muddy(lost, _chroma(fit, recipe)) else 0.0


def find_mud(question: Question, recipe: Recipe, cost: float) -> Mud | None:
    """Return the warning if a recipe has turned muddy.

    It has where it is mud beside what its steps alone have on average, and falls short of what the
    target has, too: a dull color that is wanted is no mud. The pair at fault is the
    two colorants or mixtures that, laid without the rest, lose the most.

    `question`: what is asked. `recipe`, `cost`: what is laid over what lies there, and what it was
    ranked by.
    """
    pile = question.over.then(recipe)
    have = _chroma(question.fit, pile)
    wanted = hypot(question.target.lab[1], question.target.lab[2])
    lost = min(wanted - have, mud_in(question.fit, pile))
    laid = {step.parts: step for step in reversed(_colored(pile))}
    if lost < thresholds()["mud"] or len(laid) < 2:
        return None
    pairs = combinations(reversed(laid.values()), 2)
    pair = max(pairs, key=lambda two: chroma_lost(question.fit, _only(pile, two)))
    cleaner = _cleaner(question, pair, cost, lost)
    names = (pair[0].words, pair[1].words)
    way = f"cleaner: {format_recipe(cleaner)}." if cleaner else "no cleaner way is as close."
    words = f"{names[0]} and {names[1]} turn muddy (chroma {lost:.0f} lost); {way}"
    return Mud(lost, names, words, cleaner)


def _cleaner(question: Question, pair: tuple[Step, ...], cost: float, lost: float) -> Recipe | None:
    """Return the best recipe without the pair that is about as close and loses half at most."""
    named = [frozenset(part.colorant.label for part in step.parts) for step in pair]
    ways = [question.with_limits(without=labels).find() for labels in named]
    best = min(ways, key=lambda found: float(found.costs[0]))
    recipe = best.recipes[0]
    close = best.costs[0] <= cost + thresholds()["noticeable"]
    clean = chroma_lost(question.fit, question.over.then(recipe)) <= lost / 2.0
    return recipe if close and clean else None


def _colored(recipe: Recipe) -> list[Step]:
    steps = [step for step in recipe.steps if isinstance(step, Step)]
    return [step for step in steps if not step.colorant.blender]


def _only(recipe: Recipe, two: tuple[Step, ...]) -> Recipe:
    laid = [step.parts for step in two]
    return Recipe(tuple(step for step in _colored(recipe) if step.parts in laid))


def _chroma(fit: AnyFit, recipe: Recipe) -> float:
    lab = color_of(fit, recipe)
    return hypot(lab[1], lab[2])


# Solvent and burnishing: before, after, and when to beware.

SPOKEN = {Treatment.SOLVENT: "solvent", Treatment.BURNISH: "burnishing"}
"""Treatments as they are named in a sentence."""
USUAL = (TreatmentStep(Treatment.SOLVENT, Tool.SWAB), TreatmentStep(Treatment.BURNISH, Tool.STUMP))
"""What is tried where no swatch shows any treatment: one of each (common practice, no source)."""


def treatments_of(fit: KitFit) -> tuple[TreatmentStep, ...]:
    """Return the treatments that swatches of the kit's pencils show, or else the usual ones."""
    if fit.pencils is None:
        return ()
    every = [TreatmentStep(t, tool) for t in Treatment for tool in Tool]
    told = tuple(step for step in every if f"{step.words} {TURNS[0]}" in fit.pencils.told)
    return told or USUAL


def blended(
    question: Question, recipe: Recipe
) -> tuple[tuple[TreatmentStep, bool, float, float], ...]:
    """Return what each treatment would make of a recipe that ends in pencil, of a kit with pencils.

    Which; whether swatches tell what it does on this paper, to all that it reaches; and how far
    from the wanted color that is before and after it [CIEDE2000, all factors 1]. `recipe`: what is
    laid over what lies there; one that ends in a treatment already gives nothing.
    """
    fit, pile = question.fit, question.over.then(recipe)
    last = pile.steps[-1] if pile.steps else None
    if not isinstance(fit, KitFit) or not isinstance(last, Step):
        return ()
    if last.colorant.medium is not Medium.PENCIL or fit.pencils is None:
        return ()
    treatments = treatments_of(fit)
    piles = [pile, *(Recipe((*pile.steps, step)) for step in treatments)]
    looks = lab_from_reflectance(np.array([reflectance(fit, one) for one in piles]))
    before, *after = ciede2000(question.target.lab, looks).tolist()
    found = []
    for step, treated, off in zip(treatments, piles[1:], after, strict=True):
        soaks = step.treatment is Treatment.SOLVENT and bool(soaking(treated))
        is_told = not soaks and f"{step.words} cover" in fit.pencils.told
        found.append((step, is_told, before, off))
    return tuple(found)


def notes_on_blending(question: Question, recipe: Recipe) -> list[str]:
    """Say where a match holds dry but not after blending, and the other way round."""
    said = []
    for step, is_told, off_before, off_after in blended(question, recipe):
        named = f"{SPOKEN[step.treatment]} by {step.tool}"
        trust = "" if is_told else " (assumed: no swatch shows it)"
        holds, held = off_before <= question.tolerance, off_after <= question.tolerance
        if holds and not held:
            said.append(
                f"It holds as laid but not after {named}{trust}: {off_before:.1f} becomes "
                f"{off_after:.1f}. Leave it unblended."
            )
        elif held and not holds:
            said.append(
                f"As laid it is off by {off_before:.1f}; after {named}{trust} it would be "
                f"off by {off_after:.1f}."
            )
    return said
