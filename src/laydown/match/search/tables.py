"""A table of all recipes: their colors once, sorted by lightness, for kits that are asked often.

A table is a plain value that its owner keeps: 14 to 20 bytes a recipe. A search starts at the
wanted lightness and goes outward on both sides; it ends where the box that the best so far leave
open ends. What lies in it is scored in full, so the answer is that of a pass over all recipes.
"""

from collections.abc import Iterator
from functools import partial
from typing import Any

import numpy as np

from laydown.color.lab import WHITE_D50, xyz_from_lab
from laydown.match.ranking import Found, Wanted, Watch
from laydown.match.search.coloring import ColoredPart, Integers, color_markers, coloring_of
from laydown.match.search.compiling import is_kept
from laydown.match.search.nearness import EVERYTHING, Single, near
from laydown.match.search.recipes import RecipeSpace, recipe_space
from laydown.match.search.search import pass_over
from laydown.match.search.shortlist import Shortlist
from laydown.media.marker.fitting import fit_markers
from laydown.media.recipe import Colorant, Paper, Recipe, Step
from laydown.media.swatch import Swatch

AT_FIRST, AT_MOST = 1024, 262_144
"""Recipes on either side of the wanted lightness that are looked at first; then four times more, as
long as copies of them stay small."""


def can_be_tabled(space: RecipeSpace, *, most_bytes: int = 256_000_000) -> bool:
    """Whether a kit's recipes are few enough for a table."""
    return (12 + _numbers_of(space).itemsize) * space.considered <= most_bytes


def _numbers_of(space: RecipeSpace) -> np.dtype[Any]:
    """Return the least kind of integer that holds every recipe's number."""
    return np.min_scalar_type(space.base**space.limits.steps)


def make_table(space: RecipeSpace, *, watch: Watch | None = None) -> ColoredPart:
    """Compute the colors of all recipes and sort them.

    `space`: the recipes; what they are ranked by matters not for the table. `watch`: told how far
    it has come; may raise to cancel. Raises ValueError if there are too many for a table, see
    `can_be_tabled`. Returns all of them in rising order of Y/Yn.
    """
    if not can_be_tabled(space):
        raise ValueError("too many recipes for a table: search without one")
    ready, recipes = coloring_of(space), space.considered
    xyz, numbers = np.empty((3, recipes), dtype=np.float32), np.empty(recipes, _numbers_of(space))
    copied = partial(_copied, kind=numbers.dtype)
    xyz[:, 0] = xyz_from_lab(space.lab(np.zeros(1, dtype=np.int64)))[0] / WHITE_D50
    numbers[0], filled = 0, 1
    for batch in pass_over(ready, copied, lambda _: EVERYTHING[None], watch=watch):
        for part, of in batch:
            xyz[:, filled : filled + len(of)], numbers[filled : filled + len(of)] = part, of
            filled += len(of)
    order = np.argsort(xyz[1])
    for row in xyz:
        row[:] = row[order]
    return ColoredPart(xyz, numbers[order], ready.error)


def _copied(parts: Iterator[ColoredPart], kind: np.dtype[Any]) -> tuple[Single, Integers]:
    copies = [(p.xyz[:, : len(p.numbers)].copy(), p.numbers.astype(kind)) for p in parts]
    return np.concatenate([c for c, _ in copies], axis=1), np.concatenate([n for _, n in copies])


def search_table(
    table: ColoredPart, space: RecipeSpace, wanted: Wanted, watch: Watch | None = None
) -> Found:
    """Find the best recipes for one color with a table.

    `table`: made for the same kit, paper, start and limits. `space`: all recipes, with what to rank
    by. `wanted`: the color. `watch`: told (done, total) of the recipes between looks; may raise to
    cancel.
    """
    best = Shortlist(space, [wanted], table.error)
    middle = float(xyz_from_lab(wanted.lab)[1] / WHITE_D50[1])
    low = high = int(np.searchsorted(table.xyz[1], np.float32(middle)))
    size, count = AT_FIRST, len(table.numbers)
    while True:
        box = best.draw()[0]
        first = max(low - size, int(np.searchsorted(table.xyz[1], np.float32(box[2]))))
        last = min(high + size, int(np.searchsorted(table.xyz[1], np.float32(box[3]), "right")))
        if first >= low and last <= high:
            return best.found()[0]
        sides = slice(first, low), slice(high, last)
        xyz = np.concatenate([table.xyz[:, side] for side in sides], axis=1)
        numbers = np.concatenate([table.numbers[side] for side in sides])
        best.offer([best.look(ColoredPart(xyz, numbers, table.error))])
        low, high, size = min(first, low), max(last, high), min(4 * size, AT_MOST)
        if watch:
            watch(high - low, count)


def is_compiled() -> bool:
    """Whether the search is ready to run; if not, its first use takes some seconds to compile."""
    return is_kept(color_markers) and is_kept(near)


def warm_up() -> None:
    """Compile what the search for markers needs, so that the next search starts at once.

    Runs it on a table of two invented colorants, since so few recipes are searched without any
    loop: a compilation depends on the kinds of its inputs, not on their values. The loop for films
    is short, and compiled when it is first asked.
    """
    paper, one = Paper("", np.full(36, 0.9)), (Colorant("one", ""), Colorant("two", ""))
    swatches = [Swatch("", Recipe((Step(c),)), np.full(36, 0.5)) for c in one]
    space = recipe_space(fit_markers(swatches, paper))
    search_table(make_table(space), space, Wanted(np.zeros(3)))
