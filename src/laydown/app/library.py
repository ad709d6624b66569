"""The library as a whole: opened, shown, backed up, restored, and its changes taken back."""

from pathlib import Path

from laydown.errors import LaydownError
from laydown.store.files import APPLICATION_ID, file_at, find_location, name_of, passing_folder
from laydown.store.library import Library, library_to_mend, open_library, remembered
from laydown.store.migrating import is_older
from laydown.store.records import Change


def back_up_library(library: Library, path: Path) -> Path:
    """Copy the library as it is now to a file that isn't there yet, and return where that is."""
    return library.backup(path)


def copy_library(library: Library, location: str) -> str:
    """Copy the library as it is now to a new file or an empty database; return how it is called."""
    return library.copy_to(location)


def library_copied(library: Library) -> bytes:
    """Return a copy of the library as it is now, as a file holds it."""
    with passing_folder() as folder:
        return back_up_library(library, folder / "library.db").read_bytes()


Restored = tuple[Path, Path, bool]
"""The backup that was put in place, where what was there before is kept, and whether an earlier
laydown wrote the backup, so that it was brought up to date."""


def restore_library(library: Library, path: Path) -> Restored:
    """Put a backup in place; the present library is kept beside it."""
    return path, library.restore(path), is_older(path)


def restore_sent(library: Library, content: bytes, name: str) -> Restored:
    """Put a backup in place that was sent, and is no file of this computer's."""
    with passing_folder() as folder:
        path = folder / "library.db"
        path.write_bytes(content)
        try:
            _, before, older = restore_library(library, path)
        except LaydownError as error:
            message = error.message.replace(str(path), name)
            raise error.told_as(message) from error
    return Path(name), before, older


def show_library(library: Library) -> dict[str, str | int]:
    """Return the library's location, and how many ranges, colorants, papers and so on it holds."""
    with library.look() as work:
        return {"location": library.location, **work.held()}


def list_history(library: Library) -> tuple[Change, ...]:
    """List the changes that undo takes back, latest first."""
    return library.history()


def undo_change(library: Library) -> Change:
    """Take back the latest command that changed something, as a whole, and return it."""
    return library.undo()


def redo_change(library: Library) -> Change:
    """Do again, as a whole, the command that was taken back last, and return it."""
    return library.redo()


__all__ = [
    "Change",
    "Library",
    "library_is_there",
    "name_of_place",
    "open_named",
    "open_to_mend",
    "remembered",
]


def open_named(location: str) -> Library:
    """Open the library at a path or URL, or the user's own for an empty text."""
    return open_library(location or None)


def open_to_mend(location: str) -> Library:
    """Open the same to put a backup in its place, even where it can't be used any more."""
    return library_to_mend(location or None)


def update_words(library: Library) -> str:
    """Say that an older library was brought up to date when it was opened; empty if it wasn't."""
    if library.upgraded_from is None:
        return ""
    return f"Your library was brought up to date. A copy from before is at {library.upgraded_from}."


def name_of_place(location: str) -> str:
    """Return how an open library at a path or URL calls the place it is at."""
    return name_of(find_location(location or None))


def is_library_file(path: Path) -> bool:
    """Return whether a file says of itself that it is a library, whatever state that is in.

    References
    ----------
    SQLite, "Database File Format", section 1.3: the head, and the application's mark at byte 68.
    """
    try:
        with path.open("rb") as file:
            head = file.read(72)
    except OSError:
        return False
    return head.startswith(b"SQLite format 3\0") and head[68:] == APPLICATION_ID.to_bytes(4, "big")


def library_is_there(location: str) -> bool:
    """Return whether there is a library to open; of a database server this isn't asked."""
    path = file_at(find_location(location or None))
    return path is None or path.exists()
