"""Add a paper to the library."""

from dataclasses import dataclass

from laydown.media.paper import USUAL_COATS_LIMIT
from laydown.store.library import Library


@dataclass(frozen=True, slots=True)
class AddPaper:
    """The name of the paper, and how many coats in all it bears."""

    name: str
    coats_limit: int = USUAL_COATS_LIMIT


@dataclass(frozen=True, slots=True)
class PaperAdded:
    """What was added."""

    name: str
    coats_limit: int


def add_paper(library: Library, request: AddPaper) -> PaperAdded:
    """Add a paper that has no swatches yet.

    Raises
    ------
    DuplicateNameError
        When there is one of this name.
    """
    with library.work(f"add the paper {request.name}") as work:
        made = work.add_paper(request.name, coats_limit=request.coats_limit)
    return PaperAdded(made.name, made.coats_limit)
