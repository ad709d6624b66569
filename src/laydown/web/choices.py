"""What a page offers to choose from: the library's own names."""

from dataclasses import dataclass

from laydown.app.complete_names import names_in
from laydown.web.desk import AtLibrary


@dataclass(frozen=True, slots=True)
class Choices:
    """Names to choose from, each sorted."""

    kits: tuple[str, ...]
    ranges: tuple[str, ...]
    papers: tuple[str, ...]


def choices_of(library: AtLibrary) -> Choices:
    """Return the names of the kits, ranges and papers there are."""
    kinds = ("kit", "range", "paper")
    return Choices(*(names_in(library, kind).names for kind in kinds))
