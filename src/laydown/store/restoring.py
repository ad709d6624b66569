"""Putting a backup in the place of a library, and keeping what was there."""

import shutil
import sqlite3
from contextlib import closing
from pathlib import Path

from sqlalchemy import Engine

from laydown.errors import LibraryError
from laydown.store.files import (
    check_whole,
    copy_beside,
    copy_over,
    make_private,
    name_beside,
    use_our_journal,
)
from laydown.store.guarding import guard
from laydown.store.passing import passing_folder
from laydown.store.taking_in import take_in
from laydown.store.trouble import plainly

WHY = "restore"
"""In the name of what is kept of the library as it was."""
IN_USE = (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED)
BESIDE = ("-journal", "-wal", "-shm")
"""Endings of what SQLite keeps beside a file, and would roll back into any other of its name."""


def put_in_place(backup: Path, target: Path, engine: Engine) -> Path:
    """Put what a backup holds in place of a library, in one transaction.

    Parameters
    ----------
    backup
        A laydown library, of this version or an older one.
    target
        The library's own file; untouched unless all of the backup is sound. It may be anything:
        what SQLite can't read is kept byte by byte.
    engine
        Of the library.

    Returns
    -------
    path
        Where the library as it was before is kept.
    """
    _check(backup, target)
    target = target.resolve()  # where it really lies: a link to it stays one
    try:
        with passing_folder(target.parent) as folder:
            sound = folder / "library.db"
            with plainly(str(backup)):
                take_in(backup, sound)
            return _put(sound, target, engine)
    except OSError as error:
        raise LibraryError(
            f"{backup} can't be taken in: {error.strerror or error}.",
            hint="Check your rights to it and to the library's folder, and the room on the disk.",
        ) from error


def _put(sound: Path, target: Path, engine: Engine) -> Path:
    engine.dispose()
    is_broken = _is_broken(target)
    kept = _set_aside(target) if is_broken else copy_beside(target, WHY)
    try:
        if is_broken:
            sound.replace(target)
        else:
            copy_over(sound, target)
            use_our_journal(target)
    except (sqlite3.Error, OSError) as error:
        raise LibraryError(
            f"{target} can't be written: {error}.",
            hint=f"It is as it was; a copy lies at {kept}.",
        ) from error
    return kept


def _is_broken(target: Path) -> bool:
    """Return whether a file is none that SQLite could copy, or write over in one transaction.

    Raises
    ------
    LibraryError
        Where another is writing to it, for that can't be known then.
    """
    if not target.stat().st_size:
        return True
    try:
        with closing(sqlite3.connect(target, timeout=10)) as old:
            guard(old)  # which also takes back what a kill has left half written
            check_whole(old, target)
    except LibraryError:
        return True
    except sqlite3.Error as error:
        if getattr(error, "sqlite_errorcode", 0) & 0xFF in IN_USE:
            raise LibraryError(
                f"{target} is busy: another command is writing to it.",
                hint="Wait until it has finished, then ask again.",
            ) from error
        return True
    return False


def _set_aside(target: Path) -> Path:
    """Copy the bytes of what can't be read, and move away what SQLite would take for its journal.

    Returns
    -------
    path
        Of the copy.
    """
    kept = name_beside(target, WHY)
    make_private(kept)
    shutil.copyfile(target, kept)
    for ending in BESIDE:
        beside = target.with_name(target.name + ending)
        if beside.exists():
            beside.replace(kept.with_name(kept.name + ending))
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
