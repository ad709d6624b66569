"""The search that people use: the same answer as brute force, for one or many colors in one pass.

All recipes of one more step on a pile are colored at once, in single precision with a proven
error; only what falls into the window that the best so far leave open is scored in full. See
docs/decisions/search.md for the proof.
"""

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from functools import partial

import numpy as np
from numba import get_num_threads

from laydown.color.arrays import FloatArray
from laydown.match.ranking import VALUE_FIRST, Ranking
from laydown.match.search.found import NOTHING, Found, Watch, ranked
from laydown.match.search.loops import BANDS, LEFT, WIDTH, KitNumbers
from laydown.match.search.prepared import Prepared, prepare, without_what_is_too_dark
from laydown.match.search.rows import PassTargets, Room, reach, run_ground, run_prefixes, run_rows
from laydown.match.search.wide import WideKit
from laydown.match.space import USUAL_LIMITS, Limits
from laydown.media.marker.marker import MarkerFit
from laydown.media.recipe import Recipe

ROOM = 1024
SEEDS = 3
"""How many of the best so far have their neighbors looked at before the pass."""
ROWS_AT_ONCE = 6000
"""Rows in a chunk of a thread: some hundredths of a second for a kit of 120."""


Finder = Callable[[Prepared, FloatArray, int, float, Watch | None], Found]
"""Answers for one color: the kit, Lab (3,), how many, how far above the last of them, a watch."""


def threads_at_hand() -> int:
    """Return how many threads may run side by side on this machine."""
    return get_num_threads()


class Worker:
    """One thread's share of a pass: its shortlists and its working room.

    Parameters
    ----------
    prepared
        The kit.
    labs
        Shape (m, 3), the wanted colors.
    top, within
        How many are wanted for each, and how far above the last of them others are kept.
    lanes
        At least so many colors are looked at side by side.
    """

    def __init__(
        self, prepared: Prepared, labs: FloatArray, top: int, within: float, *, lanes: int = 0
    ) -> None:
        m, steps = len(labs), prepared.kit.limits.steps
        lanes = max(lanes, prepared.wide.absorption.shape[1])
        ranking = prepared.ranking
        self.prepared = prepared
        self.wanted = PassTargets(
            labs=labs,
            ks=np.array([ranking.k_L, ranking.k_C, ranking.k_H]),
            boxes=np.zeros((m, 6)),
            cap=np.full(m, np.inf),
            bound=np.full((m, top), np.inf),
            kept=np.empty((m, ROOM, 2)),
            filled=np.zeros(m, dtype=np.int64),
            error=np.array([prepared.error]),
            within=np.array([within]),
        )
        piles = np.zeros((steps + 1, WIDTH))
        piles[0] = prepared.kit.ground
        piles[0, LEFT] = prepared.kit.budget
        self.room = Room(
            state=np.zeros((2, lanes), dtype=np.float32),
            wide=np.zeros((2, lanes), dtype=np.float32),
            xyz=np.zeros((3, lanes), dtype=np.float32),
            least=np.zeros(lanes, dtype=np.float32),
            shown=np.zeros(BANDS, dtype=np.float32),
            below=np.zeros(BANDS, dtype=np.float32),
            piles=piles,
            above=np.zeros(WIDTH),
            lab=np.zeros(3),
            serves=np.zeros(m, dtype=np.int64),
        )

    def do(self, work: Callable[[], bool]) -> None:
        """Do a piece of work; where the shortlist runs over, do it again with more room."""
        bound, kept = self.wanted.bound.copy(), self.wanted.kept.copy()
        filled = self.wanted.filled.copy()
        while not work():
            kept = np.concatenate([kept, np.empty_like(kept)], axis=1)
            self.wanted.bound[:] = bound
            self.wanted.filled[:] = filled
            self.wanted = self.wanted._replace(kept=kept.copy())

    def _parts(self) -> tuple[Room, WideKit, KitNumbers, PassTargets]:
        return self.room, self.prepared.wide, self.prepared.kit.numbers, self.wanted

    def bare(self) -> bool:
        """Offer the recipe that adds nothing, and all of one step."""
        return bool(run_ground(self.prepared.kit.limits.steps, *self._parts()))

    def rows(self, first: int, last: int, deepest: int) -> bool:
        """Offer all that lie on piles whose bottom step is one of these choices."""
        return bool(run_rows(first, last, deepest, self.prepared.kit.limits.coats, *self._parts()))

    def prefixes(self, numbers: FloatArray) -> bool:
        """Offer all that lay one more step on these recipes."""
        return bool(run_prefixes(numbers, self.prepared.kit.limits.coats, *self._parts()))

    def reach(self, target: int) -> float:
        """Return the cost up to which a recipe for a color is still of interest."""
        return float(reach(target, self.wanted))

    def numbers(self, target: int) -> FloatArray:
        """Return the numbers of the recipes that may be among the best for a color."""
        rows = self.wanted.kept[target, : self.wanted.filled[target]]
        return np.array(rows[rows[:, 0] <= self.reach(target), 1])

    def near_prefixes(self, seeds: int) -> set[int]:
        """Return the piles of two steps that differ in one step from the best so far."""
        kit = self.prepared.kit
        n, coats = len(kit.colorants), kit.limits.coats
        base = n * coats + 1
        found: set[int] = set()
        for target in range(len(self.wanted.labs)):
            rows = self.wanted.kept[target, : self.wanted.filled[target]]
            for number in rows[np.argsort(rows[:, 0])[:seeds], 1].astype(np.int64).tolist():
                first, second = number % base, number // base % base
                found |= {first + base * other for other in range(1, base)}
                found |= {other + base * (second or first) for other in range(1, base)}
        return {number for number in found if self._may_be(number, base, coats)}

    def _may_be(self, number: int, base: int, coats: int) -> bool:
        first, second = number % base - 1, number // base - 1
        laid = first % coats + second % coats + 2
        return (
            min(first, second) >= 0
            and first // coats != second // coats
            and (laid <= self.prepared.kit.budget)
        )


def search_exactly(
    fit: MarkerFit,
    lab: FloatArray,
    *,
    limits: Limits = USUAL_LIMITS,
    ranking: Ranking = VALUE_FIRST,
    top: int = 10,
    over: Recipe = NOTHING,
    watch: Watch | None = None,
    within: float = 0.0,
    finder: Finder | None = None,
) -> Found:
    """Find the best of all recipes within the limits: the answer of `search`, much sooner.

    Parameters
    ----------
    fit, lab, limits, ranking, top, over, watch
        As in `laydown.match.search.mixed.search_kit`; a recipe may have four steps.
    within
        Return besides all that cost no more than this above the last of them.
    finder
        Who does the work, where the caller keeps prepared tables; None for one pass of its own.

    Examples
    --------
    ``search_exactly(fit, wanted).recipes[0]`` is the best of all recipes within the usual limits.
    """
    prepared = prepare(fit, limits=limits, ranking=ranking, over=over)
    if finder is not None:
        return finder(prepared, np.asarray(lab, dtype=np.float64), top, within, watch)
    return search_many(prepared, np.reshape(lab, (1, 3)), top=top, within=within, watch=watch)[0]


def search_many(
    prepared: Prepared,
    labs: FloatArray,
    *,
    top: int = 10,
    within: float = 0.0,
    threads: int | None = None,
    watch: Watch | None = None,
) -> tuple[Found, ...]:
    """Find the best recipes for several colors in one pass over all recipes.

    Parameters
    ----------
    prepared
        From `prepare`.
    labs
        Shape (m, 3), the wanted colors.
    top
        How many recipes to return for each.
    within
        Return besides all that cost no more than this above the last of them.
    threads
        How many threads share the work, None for as many as there are cores to run them; what is
        found does not depend on it.
    watch
        Called between chunks of some hundredths of a second; may raise to cancel.
    """
    wanted = np.ascontiguousarray(labs, dtype=np.float64).reshape(-1, 3)
    cap = _seeded_cap(prepared, wanted, top, within)
    prepared = without_what_is_too_dark(prepared, wanted, cap + within)
    crew = [Worker(prepared, wanted, top, within) for _ in range(threads or threads_at_hand())]
    _run_all(crew, cap, watch)
    return tuple(
        ranked(
            prepared.kit,
            wanted[target],
            _numbers(crew, target),
            ranking=prepared.ranking,
            top=top,
            within=within,
        )
        for target in range(len(wanted))
    )


def _seeded_cap(prepared: Prepared, labs: FloatArray, top: int, within: float) -> FloatArray:
    """Return for each color a cost that its last of the best is sure not to exceed.

    Looks at all recipes of up to two steps, then at the neighbors of the best so far: those that
    differ from them in one step below the last and in the last.
    """
    scout = Worker(prepared, labs, top, within)
    scout.do(scout.bare)
    limits, steps = prepared.kit.limits, prepared.kit.limits.steps
    choices = len(prepared.kit.colorants) * limits.coats
    if steps >= 2:
        scout.do(partial(scout.rows, 0, choices, 1))
    done: set[int] = set()
    for _ in range(steps - 2):
        near = sorted(scout.near_prefixes(SEEDS if len(labs) == 1 else 1) - done)
        done |= set(near)
        scout.do(partial(scout.prefixes, np.array(near, dtype=np.float64)))
    return scout.wanted.bound[:, -1].copy()


def _run_all(crew: list[Worker], cap: FloatArray, watch: Watch | None) -> None:
    """Share the rows among the workers, a chunk at a time, and pass on what each has found."""
    limits = crew[0].prepared.kit.limits
    choices = len(crew[0].prepared.kit.colorants) * limits.coats
    deepest = limits.steps - 1
    crew[0].wanted.cap[:] = cap
    crew[0].do(crew[0].bare)
    at_once = max(1, ROWS_AT_ONCE // max(1, choices) ** max(0, deepest - 1))
    starts = list(range(0, choices, at_once)) if deepest >= 1 else []
    with ThreadPoolExecutor(len(crew)) as pool:
        for turn in range(0, len(starts), len(crew)):
            best = np.sort(np.concatenate([w.wanted.bound for w in crew], axis=1), axis=1)
            cap = np.minimum(cap, best[:, crew[0].wanted.bound.shape[1] - 1])
            jobs = []
            for worker, start in zip(crew, starts[turn : turn + len(crew)], strict=False):
                worker.wanted.cap[:] = cap
                last = min(start + at_once, choices)
                work = partial(worker.rows, start, last, deepest)
                jobs.append(pool.submit(worker.do, work))
            for job in jobs:
                job.result()
            if watch:
                watch(min(turn + len(crew), len(starts)), len(starts))


def _numbers(crew: list[Worker], target: int) -> FloatArray:
    """Return the numbers of all recipes that the workers have kept for a color."""
    least = min(worker.reach(target) for worker in crew)
    rows = np.concatenate([w.wanted.kept[target, : w.wanted.filled[target]] for w in crew])
    return np.asarray(rows[rows[:, 0] <= least, 1])
