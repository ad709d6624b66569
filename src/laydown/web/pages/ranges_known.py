"""What is known of a range on a paper: measured, assumed, missing, and what may be carried over."""

from typing import Annotated
from urllib.parse import quote

from fastapi import APIRouter, Form, Query

from laydown.app.list_ranges import papers_of_range
from laydown.app.remove_range import RangeRemoved, RemoveRange, remove_range
from laydown.app.show_range import RangeShown, ShowRange, show_range
from laydown.web.asking import LONGEST, Name
from laydown.web.desk import AtLibrary
from laydown.web.faces import changes, shows

router = APIRouter()


def known_address(name: str, paper: str) -> str:
    """Return the page of a range on a paper."""
    return f"/range?name={quote(name, safe='')}&paper={quote(paper, safe='')}"


def _papers(library: AtLibrary, name: Name) -> tuple[str, ...]:
    return papers_of_range(library, name)


@shows(router, "/range", "range.html.j2", beside=_papers)
def known(
    library: AtLibrary, name: Name, paper: Name = "", quick: Annotated[bool, Query()] = True
) -> RangeShown:
    """Show what is known of a range on a paper."""
    return show_range(library, ShowRange(name, paper, quick))


@changes(
    router,
    "/range/remove",
    leads_to=lambda _: "/swatches",
    says=lambda gone: f"{gone.name} is gone, and {gone.swatches} swatches with it.",
)
def remove(
    library: AtLibrary,
    name: Annotated[str, Form(min_length=1, max_length=LONGEST)],
    with_swatches: Annotated[bool, Form()] = False,
) -> RangeRemoved:
    """Remove a range; one that has swatches only when they may go with it."""
    return remove_range(library, RemoveRange(name, with_swatches))
