"""The folder of the demo: made by it, marked as its own, and never anybody else's."""

from pathlib import Path

from laydown.errors import BadFileError

MARK = "read me.txt"
TEXT = (
    "This folder was made by `laydown demo` and is overwritten by the next one.\n"
    "All data in it is invented: ranges, papers, swatches and lesson.\n"
)


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
                hint="Name another, new or empty, with --folder.",
            )
        mark.write_text(TEXT, encoding="utf-8")
        for old in folder.glob("library.db*"):
            old.unlink()
    except OSError as error:
        raise BadFileError(
            f"The demo can't write into {folder}: {error.strerror}.",
            hint="Name another folder with --folder.",
        ) from error
    return folder
