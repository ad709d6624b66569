"""Say how many coats a paper bears."""

from dataclasses import dataclass

from laydown.store.library import Library


@dataclass(frozen=True, slots=True)
class EditPaper:
    """The paper, and how many coats in all it bears."""

    name: str
    coats_limit: int


@dataclass(frozen=True, slots=True)
class PaperEdited:
    """The paper as it now is."""

    name: str
    coats_limit: int


def edit_paper(library: Library, request: EditPaper) -> PaperEdited:
    """Change the number of coats that a paper bears."""
    with library.work(f"edit the paper {request.name}") as work:
        paper = work.set_coats_limit(request.name, request.coats_limit)
    return PaperEdited(paper.name, paper.coats_limit)
