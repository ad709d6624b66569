"""Prepared tables kept on disk, by the hash of all they depend on, within a size.

A table costs about a second to make for a large kit and is worth keeping. Its name is a hash of the
kit's numbers, the paper, the limits, what lies there and the model's version: another fit has
another name, so an old table is never used for it, and goes when room is needed. The oldest used
goes first. A file that is damaged or half-written is made anew.
"""

import hashlib
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
import platformdirs

from laydown.color.arrays import FloatArray
from laydown.match.exact import search_many
from laydown.match.prepared import Prepared
from laydown.match.search import Found, Watch
from laydown.match.tables import (
    WORTH_A_TABLE,
    Table,
    can_be_tabled,
    index_of,
    make_table,
    search_table,
)
from laydown.match.walk import BITS, NUMBER_BITS, SIZE, SIZE_L
from laydown.media.marker import MODEL_VERSION

MOST_BYTES = 1_000_000_000
"""What all tables together may take, unless said otherwise."""


FEWEST_RECIPES = 50_000
"""Fewer than that are searched as soon as a table is looked up."""
MOST_HELD = 500_000_000
"""What the tables of one task together may take in memory."""


def usual_folder() -> Path:
    """Return the folder for tables in the user's cache."""
    return Path(platformdirs.user_cache_dir("laydown", appauthor=False)) / "tables"


def key_of(prepared: Prepared) -> str:
    """Return the hash of all that a table depends on; what it is ranked by is no part of it."""
    kit, numbers = prepared.kit, prepared.kit.numbers
    content = hashlib.sha256(f"{MODEL_VERSION} {BITS} {NUMBER_BITS} {SIZE} {SIZE_L}".encode())
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
    return content.hexdigest()[:32]


def table_for(
    prepared: Prepared,
    *,
    folder: Path | None = None,
    most_bytes: int = MOST_BYTES,
    watch: Watch | None = None,
) -> Table:
    """Return the table of a kit, from the cache where it is there, else made and kept.

    Parameters
    ----------
    prepared
        A kit that can be tabled.
    folder
        Where tables are kept; None for the user's cache.
    most_bytes
        What all tables together may take; a table larger than that is made and not kept.
    watch
        Told how far the making has come; may raise to cancel, and then nothing is kept.
    """
    place = (folder or usual_folder()) / f"{key_of(prepared)}.npy"
    kept = _read(place, prepared.kit.considered)
    if kept is not None:
        return kept
    table = make_table(prepared, watch=watch)
    if table.keys.nbytes <= most_bytes:
        _write(place, table)
        make_room(place.parent, most_bytes=most_bytes)
    return table


def make_room(folder: Path, *, most_bytes: int) -> None:
    """Delete the tables used longest ago until the rest fit into the size."""
    tables = sorted(folder.glob("*.npy"), key=lambda path: path.stat().st_mtime_ns, reverse=True)
    total = 0
    for path in tables:
        total += path.stat().st_size
        if total > most_bytes:
            path.unlink(missing_ok=True)


def _read(place: Path, recipes: int) -> Table | None:
    try:
        keys = np.load(place, allow_pickle=False)
        place.touch()
    except (OSError, ValueError, EOFError):
        return None
    if keys.dtype != np.int64 or keys.shape != (recipes,):
        return None
    return Table(keys, index_of(keys))


def _write(place: Path, table: Table) -> None:
    """Write beside the place and move there, so that no reader meets half a file."""
    try:
        place.parent.mkdir(parents=True, exist_ok=True)
        half = place.with_suffix(f".{id(table)}.part")
        with half.open("wb") as file:
            np.save(file, table.keys, allow_pickle=False)
        half.replace(place)
    except OSError:  # a cache that can't be written is no reason to withhold the answer
        return


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
    held: dict[str, Table] = field(default_factory=dict)

    def find(
        self, prepared: Prepared, lab: FloatArray, top: int, within: float, watch: Watch | None
    ) -> Found:
        """Find the best recipes for one color, see `laydown.match.exact.Finder`."""
        labs, table = np.reshape(lab, (1, 3)), self._table(prepared, watch)
        if table is None:
            return search_many(prepared, labs, top=top, within=within, watch=watch)[0]
        return search_table(table, prepared, labs, top=top, within=within, watch=watch)[0]

    def _table(self, prepared: Prepared, watch: Watch | None) -> Table | None:
        few = self.colors < WORTH_A_TABLE or prepared.kit.considered < FEWEST_RECIPES
        if few or not can_be_tabled(prepared):
            return None
        key = key_of(prepared)
        if key in self.held or key not in self.asked:
            self.asked.add(key)
            return self.held.get(key)
        if sum(table.size for table in self.held.values()) < MOST_HELD:
            self.held[key] = table_for(prepared, watch=watch)
        return self.held.get(key)
