"""Putting a backup in the place of a library, and keeping what was there."""

import sqlite3
import tempfile
from pathlib import Path

from sqlalchemy import Engine

from laydown.errors import LibraryError
from laydown.store.files import copy_beside, copy_over
from laydown.store.taking_in import take_in
from laydown.store.trouble import plainly


def put_in_place(backup: Path, target: Path, engine: Engine) -> Path:
    """Put what a backup holds in place of a library, in one transaction.

    Parameters
    ----------
    backup
        A laydown library, of this version or an older one.
    target
        The library's own file; untouched unless all of the backup is sound.
    engine
        Of the library.

    Returns
    -------
    path
        Where the library as it was before is kept.
    """
    _check(backup, target)
    try:
        with tempfile.TemporaryDirectory(dir=target.parent, prefix=".laydown-") as folder:
            sound = Path(folder) / "library.db"
            with plainly(str(backup)):
                take_in(backup, sound)
            return _put(sound, target, engine)
    except OSError as error:
        raise LibraryError(
            f"{backup} can't be taken in: {error.strerror or error}.",
            hint="Check your rights to it and to the library's folder, and the room on the disk.",
        ) from error


def _put(sound: Path, target: Path, engine: Engine) -> Path:
    kept = copy_beside(target, "restore")
    engine.dispose()
    try:
        copy_over(sound, target)
    except (sqlite3.Error, OSError) as error:
        raise LibraryError(
            f"{target} can't be written: {error}.",
            hint=f"It is as it was; a copy lies at {kept}.",
        ) from error
    return kept


def _check(backup: Path, target: Path) -> None:
    if not backup.is_file():
        raise LibraryError(
            f"There is no file {backup}.", hint="Give a backup: a copy of a library."
        )
    if target.exists() and backup.samefile(target):
        raise LibraryError(
            f"{backup} is the library itself.", hint="Give a backup: a copy of a library."
        )
