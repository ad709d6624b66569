"""List the ranges of the library."""

from dataclasses import dataclass

from laydown.media.laydown import Medium
from laydown.store.library import Library


@dataclass(frozen=True, slots=True)
class OnPaper:
    """How many swatches of a range lie on a paper, and how many of its colorants they use."""

    paper: str
    swatches: int
    colorants: int


@dataclass(frozen=True, slots=True)
class RangeListed:
    """A range, its medium, how many colorants it has, and how much of it was swatched where."""

    name: str
    medium: Medium
    colorants: int
    swatches: int
    papers: tuple[str, ...]
    on: tuple[OnPaper, ...]


@dataclass(frozen=True, slots=True)
class Ranges:
    """All ranges, sorted by name."""

    ranges: tuple[RangeListed, ...]


def list_ranges(library: Library) -> Ranges:
    """List all ranges."""
    with library.look() as work:
        known, covered = work.ranges(), work.coverage()
    on = {r.name: tuple(c for c in covered if c.range == r.name) for r in known}
    return Ranges(
        tuple(
            RangeListed(
                r.name,
                r.medium,
                r.colorants,
                sum(c.swatches for c in on[r.name]),
                tuple(c.paper for c in on[r.name]),
                tuple(OnPaper(c.paper, c.swatches, c.colorants) for c in on[r.name]),
            )
            for r in known
        )
    )


def papers_of_range(library: Library, name: str) -> tuple[str, ...]:
    """Return the papers that a range was swatched on, sorted by name."""
    with library.look() as work:
        return tuple(covered.paper for covered in work.coverage(name))
