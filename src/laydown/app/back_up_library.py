"""Write the whole library to a new file."""

from dataclasses import dataclass
from pathlib import Path

from laydown.store.library import Library


@dataclass(frozen=True, slots=True)
class BackedUp:
    """Where the copy is."""

    path: Path


def back_up_library(library: Library, path: Path) -> BackedUp:
    """Copy the library as it is now to a file that isn't there yet."""
    return BackedUp(library.backup(path))
