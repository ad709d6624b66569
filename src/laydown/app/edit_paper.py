"""Say how many coats a paper bears, or what color it is bare."""

from dataclasses import dataclass

from laydown.app.color_in_words import ColorInWords, reflectance_in_words
from laydown.app.paper_color import give_color
from laydown.store.library import Library


@dataclass(frozen=True, slots=True)
class EditPaper:
    """What is to be changed of a paper.

    Parameters
    ----------
    name
        The paper's.
    coats_limit
        How many coats in all it bears; None to leave that.
    color
        Its measured bare color as ``lab:`` or ``xyz:``; empty to leave that.
    """

    name: str
    coats_limit: int | None = None
    color: str = ""


@dataclass(frozen=True, slots=True, eq=False)
class PaperEdited:
    """The paper as it now is."""

    name: str
    coats_limit: int
    measured: bool
    color: ColorInWords


def edit_paper(library: Library, request: EditPaper) -> PaperEdited:
    """Change what is known of a paper by itself.

    Raises
    ------
    UnknownNameError
        Where there is no such paper.
    BadColorError, LibraryError
        For a color that is none, or where a spectrum tells more.
    """
    with library.work(f"edit the paper {request.name}") as work:
        paper = work.paper(request.name)
        if request.coats_limit is not None:
            work.set_coats_limit(paper.name, request.coats_limit)
        if request.color:
            give_color(work, paper.name, request.color)
        paper = work.paper(paper.name)
    color = reflectance_in_words(paper.reflectance)
    return PaperEdited(paper.name, paper.coats_limit, paper.measured, color)
