"""Remove a paper from the library."""

from dataclasses import dataclass

from laydown.store.library import Library


@dataclass(frozen=True, slots=True)
class RemovePaper:
    """The paper, and whether its swatches may go with it."""

    name: str
    with_swatches: bool = False


@dataclass(frozen=True, slots=True)
class PaperRemoved:
    """What is gone."""

    name: str
    swatches: int


def remove_paper(library: Library, request: RemovePaper) -> PaperRemoved:
    """Remove a paper; one that has swatches only when told that they may go too."""
    with library.work(f"remove the paper {request.name}") as work:
        name = work.paper_name(request.name)
        gone = work.remove_paper(name, with_swatches=request.with_swatches)
    return PaperRemoved(name, gone)
