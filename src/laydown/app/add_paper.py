"""Add a paper to the library."""

from dataclasses import dataclass

from laydown.app.paper_color import give_color
from laydown.media.paper import USUAL_COATS_LIMIT
from laydown.store.library import Library


@dataclass(frozen=True, slots=True)
class AddPaper:
    """The name of the paper, how many coats in all it bears, and its bare color if measured."""

    name: str
    coats_limit: int = USUAL_COATS_LIMIT
    color: str = ""


@dataclass(frozen=True, slots=True)
class PaperAdded:
    """What was added, and whether its bare color is known."""

    name: str
    coats_limit: int
    measured: bool


def add_paper(library: Library, request: AddPaper) -> PaperAdded:
    """Add a paper that has no swatches yet.

    Raises
    ------
    DuplicateNameError
        When there is one of this name.
    BadColorError
        For a color that is none.
    """
    with library.work(f"add the paper {request.name}") as work:
        made = work.add_paper(request.name, coats_limit=request.coats_limit)
        if request.color:
            give_color(work, made.name, request.color)
    return PaperAdded(made.name, made.coats_limit, measured=bool(request.color))
