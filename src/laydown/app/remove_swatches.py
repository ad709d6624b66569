"""Remove swatches by their numbers."""

from dataclasses import dataclass

from laydown.store.library import Library


@dataclass(frozen=True, slots=True)
class SwatchesRemoved:
    """How many are gone."""

    swatches: int


def remove_swatches(library: Library, ids: tuple[int, ...]) -> SwatchesRemoved:
    """Remove the swatches with these numbers, all of them or none."""
    with library.work(f"remove {len(ids)} swatches") as work:
        return SwatchesRemoved(work.remove_swatches(ids))
