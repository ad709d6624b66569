"""The folder of the demo: made by it, marked as its own, and never anybody else's."""

from pathlib import Path

from laydown.errors import BadFileError
from laydown.store.files import find_location, usual_path
from laydown.store.library import Library

MARK = "read me.txt"
FOLDER = "laydown demo"
TEXT = (
    "This folder belongs to the demo of laydown and is overwritten by the next one.\n"
    "All data in it is invented: ranges, papers, swatches and lesson.\n"
)


def folder_beside(library: Library) -> Path:
    """Return where the bench puts the demo: beside the library, or beside the usual place of one.

    Parameters
    ----------
    library
        In a file, or on a database server, which has no folder.
    """
    return (find_location(library.location).path or usual_path()).with_name(FOLDER)


def claim_folder(folder: Path) -> Path:
    """Make a folder the demo's own: a new one, an empty one, or one from an earlier demo.

    Parameters
    ----------
    folder
        Where the demo's files are to go.

    Returns
    -------
    Path
        The same folder, with a library in it no longer.

    Raises
    ------
    BadFileError
        When something else lies there already; nothing is touched then.
    """
    mark = folder / MARK
    try:
        folder.mkdir(parents=True, exist_ok=True)
        if not mark.exists() and any(folder.iterdir()):
            raise BadFileError(
                f"The folder {folder} holds files that are not the demo's.",
                hint="Move them elsewhere: the demo needs a folder that is new or empty.",
                command="or --folder ANOTHER",
            )
        mark.write_text(TEXT, encoding="utf-8")
        for old in folder.glob("library.db*"):
            old.unlink()
    except OSError as error:
        raise BadFileError(
            f"The demo can't write into {folder}: {error.strerror}.",
            hint="Check the folder, your rights, and the room on the disk.",
            command="or --folder ANOTHER",
        ) from error
    return folder
