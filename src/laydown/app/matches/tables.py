"""Tables of a task that asks many colors of a kit, made when they are worth it, and let go with it.

A table of a large kit takes a second or two to make and a few milliseconds a color to search. It is
found again by the hash of all that it depends on, so that another fit never meets it.
"""

import hashlib
from dataclasses import dataclass, field

import numpy as np

from laydown.match.search.coloring import ColoredPart
from laydown.match.search.found import Found, Wanted, Watch
from laydown.match.search.recipes import RecipeSpace
from laydown.match.search.search import search_once
from laydown.match.search.tables import can_be_tabled, make_table, search_table
from laydown.media.marker.marker import MarkerFit

WORTH_A_TABLE = 4
"""For fewer colors one pass for each is sooner done than a table (measured, as the next)."""
RECIPES_A_COLOR = 500_000
"""Of so many more recipes the table is worth its making by another color: 0.8 million are by 5
colors, 3.6 million by 9, 15 million by 24 (`benchmarks/search.py`, first color against table)."""
FEWEST_RECIPES = 50_000
"""Fewer than that are searched as soon as a table is looked up."""
MOST_HELD = 500_000_000
"""What the tables of one task together may take in memory [bytes]."""


def key_of(space: RecipeSpace) -> str:
    """Return the hash of all that a table depends on; what it is ranked by is no part of it."""
    content, ground, limits = hashlib.sha256(), space.ground, space.limits
    values = [np.array([limits.steps, limits.coats, space.budget, ground.load, len(ground.media)])]
    values += [ground.base, ground.reflectance, *(ground.pile or ())]
    values += [part for layer in ground.layers for part in layer]
    for tops in space.tops:
        fit, shelf = tops.shelf.fit, tops.shelf
        values += [shelf.k, shelf.s, fit.effects, tops.colorants, tops.coats]
        if isinstance(fit, MarkerFit):
            strength, lifts, blender = fit.strength, fit.lifts, fit.blender
            values += [part[shelf.places] for part in (strength, lifts, blender)]
            values += [fit.ceiling, fit.paper_absorption]
    for value in values:
        content.update(f"{value.shape}".encode() + np.ascontiguousarray(value).tobytes())
    return content.hexdigest()


@dataclass(slots=True, eq=False)
class Tables:
    """The tables of one task that asks many colors of a kit: made when they are worth it.

    The answers are those without tables. A kit under other limits, or over something else, has a
    table of its own, made when it is asked a second time.
    """

    colors: int
    """How many colors the task asks for."""
    asked: set[str] = field(default_factory=set)
    held: dict[str, ColoredPart] = field(default_factory=dict)

    def find(self, space: RecipeSpace, wanted: Wanted, watch: Watch | None) -> Found:
        """Find the best recipes for one color, see `laydown.match.search.search.Finder`."""
        table = self._table(space, watch)
        if table is None:
            return search_once(space, wanted, watch)
        return search_table(table, space, wanted, watch)

    def _table(self, space: RecipeSpace, watch: Watch | None) -> ColoredPart | None:
        worth = max(WORTH_A_TABLE, space.considered / RECIPES_A_COLOR)
        few = self.colors < worth or space.considered < FEWEST_RECIPES
        if few or not can_be_tabled(space):
            return None
        key = key_of(space)
        if key not in self.held and key in self.asked and self._room():
            self.held[key] = make_table(space, watch=watch)
        self.asked.add(key)
        return self.held.get(key)

    def _room(self) -> bool:
        return sum(table.size for table in self.held.values()) < MOST_HELD
