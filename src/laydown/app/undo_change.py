"""Take back the latest change."""

from dataclasses import dataclass
from datetime import datetime

from laydown.store.library import Library


@dataclass(frozen=True, slots=True)
class Undone:
    """What was taken back, and how many changes before it can still be."""

    label: str
    when: datetime
    left: int


def undo_change(library: Library) -> Undone:
    """Take back the latest command that changed something, as a whole."""
    change = library.undo()
    return Undone(change.label, change.when, len(library.history()))
