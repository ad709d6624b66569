"""Compiling before it is waited for."""

from collections.abc import Callable

import numpy as np

from laydown.match.ranking import Wanted
from laydown.match.search import coloring, nearness
from laydown.match.search.recipes import recipe_space
from laydown.match.search.search import search_kit
from laydown.match.search.tables import is_compiled, make_table, search_table, warm_up
from laydown.media.marker.model import MarkerFit


def test_after_warming_up_nothing_is_compiled_anew(invented_kit: Callable[..., MarkerFit]) -> None:
    """Whatever kit comes, the loops that were compiled once serve it, with a table too."""
    warm_up()
    assert is_compiled()
    fit = invented_kit(12, blenders=1)
    search_kit(fit, np.zeros(3))
    search_table(make_table(recipe_space(fit)), recipe_space(fit), Wanted(np.zeros(3)))
    for loop in (coloring.color_markers, nearness.near):
        assert len(loop.signatures) == 1
