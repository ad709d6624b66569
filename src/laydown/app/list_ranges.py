"""List the ranges of the library."""

from dataclasses import dataclass

from laydown.media.laydown import Medium
from laydown.store.library import Library


@dataclass(frozen=True, slots=True)
class RangeListed:
    """A range, its medium, how many colorants it has, and the papers it was swatched on."""

    name: str
    medium: Medium
    colorants: int
    swatches: int
    papers: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Ranges:
    """All ranges, sorted by name."""

    ranges: tuple[RangeListed, ...]


def list_ranges(library: Library) -> Ranges:
    """List all ranges."""
    with library.look() as work:
        swatches = {r.name: work.swatches(range=r.name) for r in work.ranges()}
        return Ranges(
            tuple(
                RangeListed(
                    r.name,
                    r.medium,
                    r.colorants,
                    len(swatches[r.name]),
                    tuple(sorted({s.swatch.paper for s in swatches[r.name]})),
                )
                for r in work.ranges()
            )
        )
