"""List the changes that can be taken back."""

from dataclasses import dataclass

from laydown.store.library import Library
from laydown.store.records import Change


@dataclass(frozen=True, slots=True)
class History:
    """The changes, latest first."""

    changes: tuple[Change, ...]


def list_history(library: Library) -> History:
    """List the changes that undo takes back, latest first."""
    return History(library.history())
