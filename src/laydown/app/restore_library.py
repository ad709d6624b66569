"""Put a backup in place of the library."""

from dataclasses import dataclass
from pathlib import Path

from laydown.store.library import Library


@dataclass(frozen=True, slots=True)
class Restored:
    """The backup that was put in place, and where what was there before is kept."""

    path: Path
    before: Path


def restore_library(library: Library, path: Path) -> Restored:
    """Put a backup in place; the present library is kept beside it."""
    return Restored(path, library.restore(path))
