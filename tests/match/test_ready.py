"""Compiling before it is waited for."""

from collections.abc import Callable

import numpy as np

from laydown.match.search import ready, rows, tables
from laydown.match.search.exact import search_exactly
from laydown.match.search.prepared import prepare
from laydown.match.search.tables import make_table, search_table
from laydown.media.marker.marker import MarkerFit


def test_after_warming_up_nothing_is_compiled_anew(invented_kit: Callable[..., MarkerFit]) -> None:
    """Whatever kit comes, the loops that were compiled once serve it."""
    ready.warm_up(tables=True)
    assert ready.is_compiled(tables=True)
    fit = invented_kit(3, blenders=1)
    search_exactly(fit, np.zeros(3))
    search_table(make_table(prepare(fit)), prepare(fit), np.zeros((1, 3)))
    for loop in (rows.run_rows, rows.run_ground, rows.run_prefixes, tables.fill_rows, tables.scan):
        assert len(loop.signatures) == 1
