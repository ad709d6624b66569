"""Prepared tables: the colors of all recipes of a kit, sorted so that the near ones lie together.

A table is a plain value that its owner keeps: eight bytes for every recipe, and an index. Each
recipe is one whole number, the place of its color along a curve that fills the solid (Morton's
order of L*, a*, b*, 13 bits each) and then its own number; sorted, they are an octree without any
pointers. A search walks down the boxes that may hold something close, nearest first, by proven
bounds, and scores what it finds in full: the answer is that of brute force.
"""

from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from functools import partial

import numpy as np
from numpy.typing import NDArray

from laydown.color.arrays import FloatArray
from laydown.match.exact import Worker, search_many
from laydown.match.prepared import Prepared
from laydown.match.search import Found, Watch, ranked
from laydown.match.walk import (
    BITS,
    INDEXED,
    NUMBER_BITS,
    empty_heap,
    fill_keys,
    fill_root,
    walk,
)

MOST_STEPS = 3
WORTH_A_TABLE = 4
"""From so many colors on, making a table is sooner done than one pass for all."""
AT_ONCE = 256
"""Colors in a chunk of a thread."""


@dataclass(frozen=True, slots=True, eq=False)
class Table:
    """The colors of all recipes of a kit on a paper, within limits.

    Parameters
    ----------
    keys
        Shape (recipes,), sorted: place in the solid, then the recipe's number.
    starts
        Shape (2^18 + 1,), where the recipes of each box of the sixth level begin.
    """

    keys: NDArray[np.int64]
    starts: NDArray[np.int64]

    @property
    def size(self) -> int:
        """How many bytes it takes."""
        return int(self.keys.nbytes + self.starts.nbytes)


def can_be_tabled(prepared: Prepared, *, most_bytes: int = 256_000_000) -> bool:
    """Whether a kit's recipes are few enough, short enough and on bare numbers for a table."""
    kit = prepared.kit
    choices = len(kit.colorants) * kit.limits.coats
    return (
        float(kit.numbers.weights.sum(axis=1).max()) <= 1.0 + 1e-6  # nothing fluoresces
        and kit.limits.steps <= MOST_STEPS
        and (choices + 1) ** kit.limits.steps < 2**NUMBER_BITS
        and 8 * kit.considered <= most_bytes
    )


def make_table(prepared: Prepared, *, watch: Watch | None = None) -> Table:
    """Compute the colors of all recipes and sort them.

    Parameters
    ----------
    prepared
        From `laydown.match.prepared.prepare`; what it ranks by does not matter for the table.
    watch
        Told how far it has come; may raise to cancel.

    Raises
    ------
    ValueError
        If the kit is too large for a table, see `can_be_tabled`.
    """
    if not can_be_tabled(prepared):
        raise ValueError("too many recipes for a table: search without one")
    keys = np.empty(prepared.kit.considered, dtype=np.int64)
    _fill(prepared, keys, watch)
    keys.sort()
    return Table(keys, index_of(keys))


def index_of(keys: NDArray[np.int64]) -> NDArray[np.int64]:
    """Return where the recipes of each box of the sixth level begin."""
    shift = NUMBER_BITS + 3 * (BITS - INDEXED)
    bounds = np.arange(8**INDEXED, dtype=np.int64) << shift
    return np.asarray(np.append(np.searchsorted(keys, bounds), len(keys)), dtype=np.int64)


def _fill(prepared: Prepared, keys: NDArray[np.int64], watch: Watch | None) -> None:
    """Fill in the keys from two threads, one from each end."""
    kit, dark = prepared.kit, np.zeros((1, 3))
    choices = len(kit.colorants) * kit.limits.coats
    crew = [Worker(prepared, dark, 1, 0.0) for _ in range(2)]
    parts = [(w.room, prepared.wide, kit.numbers, keys) for w in crew]
    at = [fill_root(kit.limits.steps, *parts[0]), len(keys)]
    if kit.limits.steps < 2:
        return
    turns = -(-choices // 8)
    with ThreadPoolExecutor(2) as pool:
        for turn in range(0, turns, 2):
            jobs = []
            for i, step in enumerate((1, -1)):
                first = min((turn + i) * 8, choices)
                last = min(first + 8, choices)
                work = partial(fill_keys, first, last, kit.limits.steps, kit.limits.coats)
                jobs.append(pool.submit(work, at[i], step, *parts[i]))
            at = [job.result() for job in jobs]
            if watch:
                watch(min(turn + 2, turns), turns)


def search_table(
    table: Table,
    prepared: Prepared,
    labs: FloatArray,
    *,
    top: int = 10,
    within: float = 0.0,
    watch: Watch | None = None,
) -> tuple[Found, ...]:
    """Find the best recipes for each of several colors with a prepared table.

    Parameters
    ----------
    table
        Made for the same kit, paper, start and limits.
    prepared
        That kit, with what to rank by.
    labs
        Shape (m, 3).
    top, within
        As in `laydown.match.exact.search_many`.
    watch
        Told (done, total) of the colors between chunks; may raise to cancel.
    """
    wanted = np.ascontiguousarray(labs, dtype=np.float64).reshape(-1, 3)
    found: list[Found] = []
    for start in range(0, len(wanted), AT_ONCE):
        part = wanted[start : start + AT_ONCE]
        worker = Worker(prepared, part, top, within)
        worker.do(partial(_walk_all, table, prepared, worker))
        found += [
            ranked(
                prepared.kit,
                lab,
                worker.numbers(target),
                ranking=prepared.ranking,
                top=top,
                within=within,
            )
            for target, lab in enumerate(part)
        ]
        if watch:
            watch(min(start + AT_ONCE, len(wanted)), len(wanted))
    return tuple(found)


def _walk_all(table: Table, prepared: Prepared, worker: Worker) -> bool:
    limits = prepared.kit.limits
    return bool(
        walk(
            table.keys,
            table.starts,
            limits.coats,
            worker.room,
            prepared.kit.numbers,
            worker.wanted,
            empty_heap(),
        )
    )


def search_colors(
    prepared: Prepared,
    labs: FloatArray,
    *,
    top: int = 10,
    within: float = 0.0,
    watch: Watch | None = None,
) -> tuple[Found, ...]:
    """Find the best recipes for one or many colors, in the way that is sooner done.

    A few colors share one pass over the recipes; for more of them a table is made, used and let go.

    Parameters
    ----------
    prepared, labs, top, within, watch
        As in `laydown.match.exact.search_many`.
    """
    if len(labs) < WORTH_A_TABLE or not can_be_tabled(prepared):
        return search_many(prepared, labs, top=top, within=within, watch=watch)
    table = make_table(prepared, watch=watch)
    return search_table(table, prepared, labs, top=top, within=within, watch=watch)
