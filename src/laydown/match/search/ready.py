"""Whether the compiled loops of the search are ready, and making them so."""

import numpy as np

from laydown.match.search.coloring import color_markers
from laydown.match.search.compiling import is_kept
from laydown.match.search.found import Wanted
from laydown.match.search.nearness import near
from laydown.match.search.recipes import recipe_space
from laydown.match.search.tables import make_table, search_table
from laydown.media.colorant import Colorant, Paper
from laydown.media.marker.marker import fit_markers
from laydown.media.recipe import Recipe, Step
from laydown.media.swatch import Swatch


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
