"""The first page: what is here already, and the shortest way to a first answer."""

from fastapi import APIRouter

from laydown.app.show_library import LibraryShown, show_library
from laydown.web.desk import AtLibrary
from laydown.web.faces import shows

router = APIRouter()


@shows(router, "/", "start.html.j2")
def start(library: AtLibrary) -> LibraryShown:
    """Show what the library holds, and what to do first."""
    return show_library(library)
