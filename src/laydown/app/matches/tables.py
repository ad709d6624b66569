"""Tables of a task that asks many colors of a kit, made when they are worth it, and let go with it.

A table of a large kit takes a second or two to make and a few milliseconds a color to search. It is
found again by the hash of all that it depends on, so that another fit never meets it.
"""

import hashlib
from dataclasses import dataclass, field

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.match.search.exact import search_many
from laydown.match.search.found import Found, Watch
from laydown.match.search.prepared import Prepared
from laydown.match.search.tables import RecipeTable, can_be_tabled, make_table, search_table

WORTH_A_TABLE = 4
"""From so many colors on, making a table is sooner done than one pass for each (benchmarks)."""
FEWEST_RECIPES = 50_000
"""Fewer than that are searched as soon as a table is looked up."""
MOST_HELD = 500_000_000
"""What the tables of one task together may take in memory [bytes]."""


def key_of(prepared: Prepared) -> str:
    """Return the hash of all that a table depends on; what it is ranked by is no part of it."""
    kit, numbers = prepared.kit, prepared.kit.numbers
    content = hashlib.sha256()
    for values in (
        numbers.absorption,
        numbers.strength,
        numbers.blender,
        numbers.paper,
        numbers.weights,
        np.asarray(numbers.lift),
        kit.ground,
        np.array([numbers.later_coat, kit.scale, kit.limits.steps, kit.limits.coats, kit.budget]),
    ):
        content.update(f"{values.shape}".encode() + np.ascontiguousarray(values).tobytes())
    return content.hexdigest()


@dataclass(slots=True, eq=False)
class Tables:
    """The tables of one task that asks many colors of a kit: made when they are worth it.

    The answers are those without tables. A kit under other limits, or over something else, has a
    table of its own, made when it is asked a second time.

    Parameters
    ----------
    colors
        How many colors the task asks for.
    """

    colors: int
    asked: set[str] = field(default_factory=set)
    held: dict[str, RecipeTable] = field(default_factory=dict)

    def find(
        self, prepared: Prepared, lab: FloatArray, top: int, within: float, watch: Watch | None
    ) -> Found:
        """Find the best recipes for one color, see `laydown.match.search.exact.Finder`."""
        labs, table = np.reshape(lab, (1, 3)), self._table(prepared, watch)
        if table is None:
            return search_many(prepared, labs, top=top, within=within, watch=watch)[0]
        return search_table(table, prepared, labs, top=top, within=within, watch=watch)[0]

    def _table(self, prepared: Prepared, watch: Watch | None) -> RecipeTable | None:
        few = self.colors < WORTH_A_TABLE or prepared.kit.considered < FEWEST_RECIPES
        if few or not can_be_tabled(prepared):
            return None
        key = key_of(prepared)
        if key not in self.held and key in self.asked and self._room():
            self.held[key] = make_table(prepared, watch=watch)
        self.asked.add(key)
        return self.held.get(key)

    def _room(self) -> bool:
        return sum(table.size for table in self.held.values()) < MOST_HELD
