"""What was changed: the latest first, to be taken back; and a copy of the whole library."""

import tempfile
from pathlib import Path
from typing import Annotated

from fastapi import APIRouter, File, Response, UploadFile

from laydown.app.back_up_library import back_up_library
from laydown.app.list_history import History, list_history
from laydown.app.restore_library import Restored, restore_sent
from laydown.app.undo_change import Undone, undo_change
from laydown.errors import BadFileError
from laydown.web.desk import AtDesk, AtLibrary
from laydown.web.downloads import file_of
from laydown.web.faces import changes, shows
from laydown.web.uploads import sent_files

router = APIRouter()


@shows(router, "/history", "history.html.j2")
def history(library: AtLibrary) -> History:
    """List the changes that can be taken back."""
    return list_history(library)


@changes(
    router,
    "/history/undo",
    leads_to=lambda _: "/history",
    says=lambda undone: f"Taken back: {undone.label}.",
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


@changes(
    router,
    "/history/restore",
    leads_to=lambda _: "/history",
    says=lambda made: (
        f"{made.path.name} is the library now. What was there before lies at {made.before}."
    ),
)
def restore(desk: AtDesk, file: Annotated[UploadFile, File()]) -> Restored:
    """Put a copy in place of the library; what was there before is kept beside it."""
    sent = next(iter(sent_files([file])), None)
    if sent is None:
        raise BadFileError("No file was chosen.", hint="Choose a copy of a library.")
    return desk.jobs.while_still(lambda: restore_sent(desk.library, sent.content, sent.name))
