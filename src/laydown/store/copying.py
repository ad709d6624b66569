"""Copies of a library file: written whole or not at all, and checked before they count."""

import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

from laydown.errors import LibraryError
from laydown.store.stamps import file_stamp, now

LOG_AT, LOGGED = 18, b"\x02"
"""Where the header of a file says that its newest work may lie in a log beside it."""


def copy_file(source: Path, target: Path) -> Path:
    """Copy an SQLite database, open or not, to a new file, and check the copy.

    Parameters
    ----------
    source
        The database; other commands may be using it.
    target
        Must not be there yet; it appears when it is whole.

    Raises
    ------
    LibraryError
        When the target is there, can't be written, or the copy is damaged.
    """
    if target.exists():
        raise LibraryError(f"{target} is there already.", hint="Choose another name.")
    part = target.with_name(target.name + ".part")
    with _plainly(target):
        target.parent.mkdir(parents=True, exist_ok=True)
        part.unlink(missing_ok=True)
        try:
            copy_over(source, part)
            part.replace(target)
        finally:
            part.unlink(missing_ok=True)
    return target


def copy_beside(source: Path, why: str) -> Path:
    """Copy an SQLite database to a new file in its folder, named after the reason and moment."""
    stem = f"{source.stem}.before-{why}-{file_stamp(now())}"
    names = [f"{stem}.db", *(f"{stem}-{number}.db" for number in range(2, 100))]
    return copy_file(source, next(p for p in map(source.with_name, names) if not p.exists()))


def copy_over(source: Path, target: Path) -> None:
    """Copy an SQLite database over another in one transaction, and check the result first."""
    with closing(read_only(source)) as old:
        check_whole(old, source)
        with closing(sqlite3.connect(target, timeout=10)) as new:
            old.backup(new, progress=_not_in_use)


def _not_in_use(status: int, _remaining: int, _pages: int) -> None:
    """Give up when the timeout has passed; a database in use would be asked forever."""
    if status in (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED):
        raise sqlite3.OperationalError("it is in use by another command")


def read_only(path: Path) -> sqlite3.Connection:
    """Open an SQLite database so that it can't be changed, nor anything be put beside it."""
    alone = _has_log_mode(path) and not path.with_name(path.name + "-wal").exists()
    how = "mode=ro&immutable=1" if alone else "mode=ro"  # none would write to one that has no log
    return sqlite3.connect(f"{path.absolute().as_uri()}?{how}", uri=True, timeout=10)


def _has_log_mode(path: Path) -> bool:
    with path.open("rb") as file:
        return file.read(LOG_AT + 1)[LOG_AT:] == LOGGED


def check_whole(connection: sqlite3.Connection, path: Path) -> None:
    """Refuse a database whose pages or rows are damaged."""
    found = connection.execute("PRAGMA integrity_check(1)").fetchone()[0]
    if found != "ok":
        raise LibraryError(f"{path} is damaged ({found}).", hint="Use another backup.")


@contextmanager
def _plainly(target: Path) -> Iterator[None]:
    try:
        yield
    except (sqlite3.Error, OSError) as error:
        raise LibraryError(
            f"{target} can't be written: {error}.",
            hint="Check the folder, your rights, and the room on the disk.",
        ) from error
