"""Remove a range from the library."""

from dataclasses import dataclass

from laydown.store.library import Library


@dataclass(frozen=True, slots=True)
class RemoveRange:
    """The range, and whether the swatches that use it may go with it."""

    name: str
    with_swatches: bool = False


@dataclass(frozen=True, slots=True)
class RangeRemoved:
    """What is gone."""

    name: str
    swatches: int


def remove_range(library: Library, request: RemoveRange) -> RangeRemoved:
    """Remove a range, out of kits too; with swatches only when told that they may go."""
    with library.work(f"remove the range {request.name}") as work:
        name = work.find_range(request.name).name
        gone = work.remove_range(name, with_swatches=request.with_swatches)
    return RangeRemoved(name, gone)
