"""Papers: what is colored on, and the few colorants to swatch again on a new one."""

from dataclasses import dataclass
from typing import Annotated
from urllib.parse import quote

from fastapi import APIRouter, Form, Query

from laydown.app.add_paper import AddPaper, PaperAdded, add_paper
from laydown.app.choose_anchors import USUAL_COUNT, AnchorsChosen, ChooseAnchors, choose_anchors
from laydown.app.complete_names import names_in
from laydown.app.edit_paper import EditPaper, PaperEdited, edit_paper
from laydown.app.list_papers import Papers, list_papers
from laydown.app.list_ranges import Ranges, list_ranges
from laydown.app.remove_paper import PaperRemoved, RemovePaper, remove_paper
from laydown.app.show_paper import PaperShown, show_paper
from laydown.media.paper import USUAL_COATS_LIMIT
from laydown.web.asking import LONGEST, Name
from laydown.web.desk import AtLibrary
from laydown.web.faces import changes, shows

router = APIRouter()
PaperName = Annotated[str, Form(min_length=1, max_length=LONGEST)]
Coats = Annotated[int, Form(ge=1, le=99)]
BareColor = Annotated[str, Form(max_length=LONGEST)]


@dataclass(frozen=True, slots=True)
class ToCarry:
    """What the page of anchors shows besides: the papers that they may be meant for."""

    papers: tuple[str, ...]


def paper_address(name: str) -> str:
    """Return the page of a paper."""
    return f"/paper?name={quote(name, safe='')}"


@shows(router, "/papers", "papers.html.j2")
def papers(library: AtLibrary) -> Papers:
    """List the papers."""
    return list_papers(library)


def _ranges(library: AtLibrary) -> Ranges:
    return list_ranges(library)


@shows(router, "/paper", "paper.html.j2", beside=_ranges)
def paper(library: AtLibrary, name: Name) -> PaperShown:
    """Show a paper, and what was swatched on it."""
    return show_paper(library, name)


def _other_papers(library: AtLibrary) -> ToCarry:
    return ToCarry(names_in(library, "paper").names)


@shows(router, "/paper/anchors", "anchors.html.j2", beside=_other_papers)
def anchors(
    library: AtLibrary,
    range: Name,  # noqa: A002  the trade's word
    known_on: Name = "",
    count: Annotated[int, Query(ge=1, le=99)] = USUAL_COUNT,
) -> AnchorsChosen:
    """Name the colorants of a range to swatch on a new paper, so that the rest can be carried."""
    return choose_anchors(library, ChooseAnchors(range, known_on, count))


@changes(
    router,
    "/papers",
    leads_to=lambda made: paper_address(made.name),
    says=lambda made: f"The paper {made.name} is there.",
)
def new_paper(
    library: AtLibrary,
    name: PaperName,
    coats_limit: Coats = USUAL_COATS_LIMIT,
    color: BareColor = "",
) -> PaperAdded:
    """Add a paper that nothing was swatched on yet."""
    return add_paper(library, AddPaper(name, coats_limit, color.strip()))


@changes(
    router,
    "/paper/edit",
    leads_to=lambda made: paper_address(made.name),
    says=lambda made: (
        f"{made.name} bears {made.coats_limit} coats in all. Bare it is {made.color.words}."
    ),
)
def edit(
    library: AtLibrary,
    name: PaperName,
    coats_limit: Annotated[int | None, Form(ge=1, le=99)] = None,
    color: BareColor = "",
) -> PaperEdited:
    """Say how many coats a paper bears, or what color it is bare."""
    return edit_paper(library, EditPaper(name, coats_limit, color.strip()))


@changes(
    router,
    "/paper/remove",
    leads_to=lambda _: "/papers",
    says=lambda gone: f"{gone.name} is gone, and {gone.swatches} swatches with it.",
)
def remove(
    library: AtLibrary, name: PaperName, with_swatches: Annotated[bool, Form()] = False
) -> PaperRemoved:
    """Remove a paper; one that has swatches only when they may go with it."""
    return remove_paper(library, RemovePaper(name, with_swatches))
