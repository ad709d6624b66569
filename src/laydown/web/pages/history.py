"""What was changed: the latest first, to be taken back; and a copy of the whole library."""

import tempfile
from pathlib import Path

from fastapi import APIRouter, Response

from laydown.app.back_up_library import back_up_library
from laydown.app.list_history import History, list_history
from laydown.app.undo_change import Undone, undo_change
from laydown.web.desk import AtLibrary
from laydown.web.downloads import file_of
from laydown.web.faces import changes, shows
from laydown.web.language import tell

router = APIRouter()


@shows(router, "/history", "history.html.j2")
def history(library: AtLibrary) -> History:
    """List the changes that can be taken back."""
    return list_history(library)


@changes(
    router,
    "/history/undo",
    leads_to=lambda _: "/history",
    says=lambda undone: tell("Taken back: %(what)s.", what=undone.label),
)
def undo(library: AtLibrary) -> Undone:
    """Take back the latest change as a whole."""
    return undo_change(library)


@router.get("/backup", response_class=Response)
def backup(library: AtLibrary) -> Response:
    """Hand over a copy of the whole library."""
    with tempfile.TemporaryDirectory() as folder:
        made = back_up_library(library, Path(folder) / "library.db")
        return file_of(made.path.read_bytes(), "laydown backup.db")
