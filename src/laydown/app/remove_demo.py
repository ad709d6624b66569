"""Take the demo out of a library again, whatever was done since."""

from collections.abc import Iterable
from dataclasses import dataclass

from laydown.app.add_demo import KITS, PAPERS, RANGES
from laydown.media.labels import name_key
from laydown.store.library import Library
from laydown.store.work import Work


@dataclass(frozen=True, slots=True)
class DemoRemoved:
    """What went: names, and how many swatches."""

    names: tuple[str, ...]
    swatches: int


def remove_demo(library: Library) -> DemoRemoved:
    """Remove what has the demo's names, and the swatches that use it.

    A paper of the demo that carries swatches of one's own stays.
    """
    with library.work("take out the demo") as work:
        gone = _there(KITS, work.kit_names())
        for kit in gone:
            work.remove_kit(kit)
        ranges = _there(RANGES, [r.name for r in work.ranges()])
        swatches = sum(work.remove_range(name, with_swatches=True) for name in ranges)
        papers = _free(work, _there(PAPERS, work.paper_names()))
        swatches += sum(work.remove_paper(name, with_swatches=True) for name in papers)
    return DemoRemoved((*gone, *ranges, *papers), swatches)


def _there(wanted: Iterable[str], here: Iterable[str]) -> list[str]:
    ours = {name_key(name) for name in wanted}
    return [name for name in here if name_key(name) in ours]


def _free(work: Work, papers: list[str]) -> list[str]:
    """Return the papers that no range lies on any longer."""
    used = {covered.paper for covered in work.coverage()}
    return [name for name in papers if name not in used]
