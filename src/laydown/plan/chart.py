"""A chart: targets to matches, and what they use up."""

from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cache
from itertools import dropwhile

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.match.outcome import Match
from laydown.media.laydown import Wait
from laydown.media.recipe import AnyStep, Colorant, Paper, Recipe, Step

ROLE_ORDER = ("highlight", "light", "midtone", "shadow", "accent")
"""From the lightest to the darkest part of a passage (common practice, no source)."""


@dataclass(frozen=True, slots=True, eq=False)
class Chart:
    """The matches for a list of targets from one kit on one paper."""

    title: str
    """What the targets are: a lesson, or a range."""
    kit: str
    """The name of the kit or range the recipes are made from."""
    paper: Paper
    """What it is colored on."""
    matches: tuple[Match, ...]
    """In the order to show them."""
    tolerance: str
    """Name of the tolerance the acceptance was judged at."""
    notes: tuple[str, ...] = ()
    """What holds for the whole chart: assumed parameters, simulated or real data, cautions
    aside."""
    layers: tuple[tuple[FloatArray, ...], ...] = ()
    """For each match, what its best recipe's strokes look like where they overlap: for each step,
    shape (further steps + 1, 3), CIELAB of that step alone on the paper, then with each later step
    over it. Empty where nobody asked for it."""


LIGHT = 60.0
"""A color at least so light is among the light areas of a page [L*] (chosen)."""


def in_coloring_order(matches: Iterable[Match]) -> tuple[Match, ...]:
    """Sort matches in the order in which people color in.

    By passage, and from light to dark within it: passages with the largest light areas come first,
    those alike as first named. Where nobody stated how much of the picture any color has, all have
    as much.
    """
    listed = list(matches)
    first = {m.target.passage: i for i, m in reversed(list(enumerate(listed)))}
    light = dict.fromkeys(first, 0.0)
    unstated = 0.0 if any(m.target.share is not None for m in listed) else 1.0
    for match in listed:
        if match.target.lab[0] >= LIGHT:
            light[match.target.passage] += match.target.share or unstated
    order = {p: (-light[p], first[p]) for p in first}
    return tuple(
        sorted(listed, key=lambda m: (order[m.target.passage], -m.target.lab[0], m.target.name))
    )


def with_layers(chart: Chart, color_of: Callable[[Recipe], FloatArray]) -> Chart:
    """Return the chart with the colors of each recipe's strokes, alone and where they overlap.

    `color_of` predicts the CIELAB, shape (3,), of a recipe on the chart's paper.
    """
    known = cache(color_of)
    layers = tuple(_strokes(m.best.prediction.recipe, known) for m in chart.matches)
    return replace(chart, layers=layers)


def _strokes(recipe: Recipe, color_of: Callable[[Recipe], FloatArray]) -> tuple[FloatArray, ...]:
    steps, count = recipe.steps, len(recipe.steps)
    return tuple(
        np.array([color_of(_on_paper(steps[first:last])) for last in range(first + 1, count + 1)])
        for first in range(count)
    )


def _on_paper(steps: Sequence[AnyStep]) -> Recipe:
    """Return steps as a recipe of their own: bare paper is dry, and no treatment alters it."""
    laid = list(dropwhile(lambda step: not isinstance(step, Step), steps))
    if laid and isinstance(laid[0], Step):
        laid[0] = replace(laid[0], laydown=replace(laid[0].laydown, wait=Wait.DRY))
    return Recipe(tuple(laid))


def notes_for_all(chart: Chart) -> tuple[str, ...]:
    """Return the chart's notes, then those that every one of its matches carries.

    A chart says once at its head what holds for every row. With a single match there is no other
    row to share with, so its notes stay with it.
    """
    if len(chart.matches) < 2:
        return chart.notes
    rest = [set(match.notes) for match in chart.matches[1:]]
    shared = [n for n in chart.matches[0].notes if all(n in notes for notes in rest)]
    return tuple(dict.fromkeys((*chart.notes, *shared)))


def supplies(matches: Iterable[Match]) -> tuple[tuple[Colorant, int, int], ...]:
    """List the colorants of the best recipes, the most often used first, then by name.

    With each: in how many of these recipes it is, and how many coats they lay in all that have it
    in them, a color once each.

    >>> supplies([])
    ()
    """
    laid = [match.best.prediction.recipe for match in matches]
    recipes = Counter(colorant for recipe in laid for colorant in recipe.colorants)
    coats = Counter[Colorant]()
    for step in (step for recipe in laid for step in recipe.steps if isinstance(step, Step)):
        for part in step.parts:
            coats[part.colorant] += step.laydown.coats
    found = [(colorant, count, coats[colorant]) for colorant, count in recipes.items()]
    return tuple(sorted(found, key=lambda s: (-s[1], -s[2], s[0])))
