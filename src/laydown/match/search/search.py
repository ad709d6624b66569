"""The search: the nearest of all recipes that a kit allows, of whatever media, proven.

Recipes are colored part by part; of each part only what may lie within reach of the best so far is
scored in full. See docs/decisions/search.md for the proof.
"""

from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import replace
from typing import TypeVar

import numpy as np
from numba import get_num_threads

from laydown.color.arrays import FloatArray
from laydown.match.ranking import (
    NOTHING,
    USUAL_LIMITS,
    VALUE_FIRST,
    Found,
    Limits,
    Ranking,
    Wanted,
    Watch,
)
from laydown.match.search.blocks import RecipeBlock
from laydown.match.search.coloring import (
    ColoredPart,
    Coloring,
    PileTree,
    coloring_of,
    colors,
    pile_tree,
)
from laydown.match.search.nearness import AT_ONCE
from laydown.match.search.recipes import RecipeSpace, recipe_space
from laydown.match.search.shelves import Ints, Tops
from laydown.match.search.shortlist import Candidates, Shortlist
from laydown.media.kit.fit import AnyFit
from laydown.media.recipe import Medium, Recipe

AT_FIRST, AT_MOST = 4096, 4_000_000
"""Recipes between two looks at what is the best so far: few first, so that the reach falls soon,
then eight times more each time (measured with 120 colorants)."""
SHARES = 4
"""Each thread has so many shares of a batch, one after the other, as they differ in work."""
KEPT_TOGETHER = 2048
"""Recipes of all steps but the last that are kept side by side."""
FEW = 800
"""So many recipes are scored in full sooner than any is left out (measured)."""
MOST_KEPT = 250_000
"""So many recipes of all steps but the last are kept at most: some fifty megabytes."""
Seen = TypeVar("Seen")
Work = tuple[RecipeBlock, Tops, PileTree | None]
"""Recipes, what one more step on them may be, and bounds of them, if they are kept."""
Finder = Callable[[RecipeSpace, Wanted, Watch | None], Found]
"""Answers for one color, from all recipes of a kit."""


def search_kit(
    fit: AnyFit,
    lab: FloatArray,
    *,
    limits: Limits = USUAL_LIMITS,
    ranking: Ranking = VALUE_FIRST,
    top: int | None = 10,
    over: Recipe = NOTHING,
    watch: Watch | None = None,
    within: float = 0.0,
    most: float = np.inf,
    finder: Finder | None = None,
) -> Found:
    """Find the best of all recipes within the limits, of whatever media the kit holds.

    What each medium may be laid as is in `laydown.match.search.shelves.slots`; a palette mixture
    counts as two steps; orders that ruin tools or work don't occur. No treatment is added, so the
    answer is always a way without solvent.

    `fit`: the kit's colorants on the paper. `lab`: shape (3,), the wanted color. `limits`,
    `ranking`: which recipes, and what they are ranked by. `top`: how many of the best; None for all
    that cost no more than `most`. `over`: what lies on the paper already. `watch`: told how many
    recipes were passed, of how many; may raise to cancel. `within`: return besides all that cost no
    more than this above the last of the best. `most`: return nothing that costs more than this.
    `finder`: who does the work, where the caller keeps tables; None for `search_once`.

    What is found is ranked by the model itself.

    ``search_kit(fit, wanted).recipes[0]`` is the best of all recipes within the usual limits, and
    ``search_kit(fit, wanted, top=None, most=1.0).recipes`` are all that differ by no more than 1.
    """
    space = recipe_space(fit, limits=limits, ranking=ranking, over=over)
    wanted = Wanted(np.array(lab, dtype=np.float64), top, within, most)
    return (finder or search_once)(space, wanted, watch)


def search_once(
    space: RecipeSpace,
    wanted: Wanted,
    watch: Watch | None = None,
    *,
    threads: int | None = None,
    laid: Sequence[Work] = (),
) -> Found:
    """Find the best recipes for one color with no table, as `search_many` does.

    `laid`: of `lay_all`, for the same recipes whatever they are ranked by, if that was done before.
    """
    return _search(space, [wanted], watch, threads, laid).found()[0]


def can_be_laid(space: RecipeSpace) -> bool:
    """Whether recipes are markers alone, and few enough for `lay_all`."""
    alone = [tops.medium for tops in space.tops] == [Medium.MARKER]
    return alone and space.considered <= MOST_KEPT * len(space.steps)


def lay_all(space: RecipeSpace) -> tuple[Work, ...]:
    """Lay all steps but the last of all recipes, so that further searches needn't."""
    works = []
    for block, tops, _ in _works(coloring_of(space), lambda: np.inf):
        for start in range(0, len(block), KEPT_TOGETHER):
            part = block.rows(slice(start, start + KEPT_TOGETHER))
            works.append((replace(part, pile=None), tops, pile_tree(part)))
    return tuple(works)


def search_many(
    space: RecipeSpace,
    wanted: Sequence[Wanted],
    watch: Watch | None = None,
    *,
    threads: int | None = None,
) -> tuple[Found, ...]:
    """Find the best recipes for several colors, some sixty in each pass over all recipes.

    `space`: all recipes. `wanted`: the colors. `watch`: told how many recipes were passed, of how
    many; may raise to cancel. `threads`: how many threads share the work, None for as many as there
    are cores to run them; what is found does not depend on it.
    """
    return tuple(
        found
        for start in range(0, len(wanted), AT_ONCE)
        for found in _search(space, wanted[start : start + AT_ONCE], watch, threads).found()
    )


def all_within(
    space: RecipeSpace, wanted: Wanted, watch: Watch | None = None
) -> tuple[Ints, FloatArray]:
    """Return the numbers of all recipes within what is wanted, cheapest first, and their costs.

    `space`, `wanted`, `watch`: as in `search_many`; no more than is wanted is left out for being
    many.
    """
    (held,) = _search(space, [wanted], watch, None).scored()
    held = held[held["least"] <= wanted.reach(np.sort(held["least"]))]
    order = np.lexsort((held["number"], held["least"]))
    return held["number"][order], held["least"][order]


def _search(
    space: RecipeSpace,
    wanted: Sequence[Wanted],
    watch: Watch | None,
    threads: int | None,
    laid: Sequence[Work] = (),
) -> Shortlist:
    if space.considered <= FEW:
        best = Shortlist(space, wanted, 0.0)
        best.keep(np.concatenate([best.held, *(best.score(block) for block in space.levels())]))
        return best
    ready = coloring_of(space)
    best = Shortlist(space, wanted, ready.error)

    def look(parts: Iterator[ColoredPart]) -> list[Candidates]:
        return [best.look(part) for part in parts]

    passed = pass_over(
        ready, look, best.draw, watch=watch, threads=threads, most=best.most, laid=laid
    )
    for batch in passed:
        best.offer([seen for share in batch for seen in share])
    return best


def pass_over(
    ready: Coloring,
    look: Callable[[Iterator[ColoredPart]], Seen],
    box: Callable[[float], FloatArray],
    *,
    watch: Watch | None,
    threads: int | None = None,
    most: Callable[[], float] = lambda: np.inf,
    laid: Sequence[Work] = (),
) -> Iterator[list[Seen]]:
    """Color all recipes of one step or more in threads, and go through what is seen, by batches.

    `ready`: what they are colored with. `look`: takes colored parts; called from any thread. `box`:
    says between batches what is still of interest, of recipes that add so much effort at least;
    what is sure to lie outside may be left out. `watch`, `threads`: as in `search_once`. `most`:
    says what cost is still of interest; what adds more by its effort is left out. `laid`: of
    `lay_all`.
    """
    space, threads, done = ready.space, threads or get_num_threads(), 1
    total = space.considered
    batches = _batches(space, threads, laid or _works(ready, most))
    batch = next(batches, None)
    with ThreadPoolExecutor(threads) as pool:
        while batch is not None:
            done += sum(len(block) * len(tops) for block, tops, _ in batch)
            # of as many steps and coats each; but for prices, the effort of one is that of all
            some = slice(None if space.ranking.prices else 1)
            below = [float(space.effort(block.numbers[some]).min()) for block, _, _ in batch]
            added = [float(space.efforts_of(tops).min()) for _, tops, _ in batch]
            least, at_work = min(map(sum, zip(below, added, strict=True))), list[Future[Seen]]()
            if least <= most():
                light = ready.within(box(least), most() - min(below))

                def share(work: Work, light: Coloring = light) -> Seen:
                    return look(colors(light, *work))

                at_work = [pool.submit(share, work) for work in batch]
            batch = next(batches, None)  # laid while the others color
            yield [one.result() for one in at_work]
            if watch:
                watch(min(done, total), total)
    if watch:
        watch(total, total)


def _batches(space: RecipeSpace, threads: int, works: Iterable[Work]) -> Iterator[list[Work]]:
    """Go through all recipes, those of few steps first, in batches that grow."""
    size, batch, filled = AT_FIRST, list[Work](), 0
    for block, tops, tree in works:
        start = 0
        while start < len(block):
            rows = max(1, min(size // (SHARES * threads), size - filled) // len(tops))
            rows = len(block) if tree else rows
            part = block if tree else block.rows(slice(start, start + rows))
            batch.append((part, tops, tree))
            start, filled = start + rows, filled + len(part) * len(tops)
            if filled >= size - len(tops):
                yield batch
                size, batch, filled = min(8 * size, max(AT_MOST, space.considered // 1000)), [], 0
    if batch:
        yield batch


def _works(ready: Coloring, most: Callable[[], float]) -> Iterator[Work]:
    space = ready.space
    for block in space.in_single_precision().levels(1, most):
        below, fitting = space.fitting(block)
        # those of as many coats together: what they add by effort says how near they must come
        alike = [below.rows(rows) for rows in ready.by_coats(below)]
        yield from ((part, tops, None) for part in alike for tops in fitting)
