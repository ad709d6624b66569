"""Whether the compiled loops of the search are ready, and making them so."""

from collections.abc import Callable
from typing import Any

import numpy as np

from laydown.match.ranking import VALUE_FIRST
from laydown.match.search.compiling import is_kept
from laydown.match.search.curve import tabled_inverse
from laydown.match.search.exact import search_many
from laydown.match.search.loops import BANDS, WIDTH, KitNumbers, lay_numbers
from laydown.match.search.on_paper import KitOnPaper
from laydown.match.search.prepared import prepare_kit
from laydown.match.search.rows import run_ground, run_prefixes, run_rows
from laydown.match.search.tables import fill_rows, make_table, scan, search_table
from laydown.match.search.window import window
from laydown.match.space import Limits
from laydown.media.colorant import Colorant
from laydown.media.marker.absorption import inverse


def is_compiled(*, tables: bool = False) -> bool:
    """Whether the search is ready to run; if not, its first use takes some seconds to compile.

    Parameters
    ----------
    tables
        Whether prepared tables will be used, too.
    """
    loops: list[Callable[..., Any]] = [lay_numbers, run_ground, run_rows, run_prefixes, window]
    return all(is_kept(loop) for loop in loops + [fill_rows, scan] * tables)


def warm_up(*, tables: bool = False) -> None:
    """Compile what the search needs, so that the next search starts at once.

    Runs it on two invented colorants: a compilation depends on the kinds of its inputs, not on
    their values.

    Parameters
    ----------
    tables
        Whether prepared tables will be used, too.
    """
    two, bands = np.ones(2), np.ones((2, BANDS))
    curve = tabled_inverse(lambda a: inverse(a, scale=1.0), scale=1.0, most=9.0)
    weights = np.full((3, BANDS), 1.0 / BANDS)
    numbers = KitNumbers(bands, two, two, bands[0], curve, weights, two, 1.0, two, 0.0)
    pair = (Colorant("one", ""), Colorant("two", ""))
    kit = KitOnPaper(pair, numbers, np.zeros(WIDTH), Limits(steps=3, coats=1), 3, 1.0)
    prepared, black = prepare_kit(kit, VALUE_FIRST), np.zeros((1, 3))
    search_many(prepared, black, threads=1)
    if tables:
        search_table(make_table(prepared), prepared, black)
