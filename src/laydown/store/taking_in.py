"""A backup taken in row by row: never as a file, for that could hold anything.

A new library is made by our own steps, as old as the backup is. What the backup's tables hold is
read and written into it, and the steps that are missing are taken on the copy. So no statement that
came with the backup is ever run, and what isn't exactly ours can't come along.
"""

import sqlite3
from collections.abc import Iterable, Iterator
from contextlib import closing
from pathlib import Path
from typing import Any

from sqlalchemy.orm import Session

from laydown.errors import LibraryError, TooLargeError
from laydown.store.columns import shortened
from laydown.store.files import check_whole, find_location, make_engine, read_only
from laydown.store.guarding import guard
from laydown.store.migrating import revision_of_file, run_steps
from laydown.store.own_objects import VERSION_TABLE
from laydown.store.reading_through import read_through
from laydown.store.tables import LARGEST_ID
from laydown.store.trouble import DamagedError

MOST_BYTES = 8_000_000_000
"""Of a backup's file: a hundred of the largest plans, and room for as much again."""
MOST_ROWS = 2_000_000
"""In all tables together; ten years of a class's swatches with their history take a tenth."""
LEFT_BEHIND = frozenset({VERSION_TABLE, "fits"})
"""The steps write the one, and what is fitted anew from swatches needs no trust."""
NUMBERS_GIVEN = "sqlite_sequence"
"""Where SQLite keeps the last number that was given in a table that gives none twice."""


def take_in(backup: Path, path: Path) -> None:
    """Write the rows of a backup into a new library, bring that up to date and read all of it.

    Parameters
    ----------
    backup
        The file.
    path
        Where the new library is made; no file is there yet.

    Raises
    ------
    LibraryError, DamagedError
        For a file that is no sound library.
    TooLargeError
        For one that holds too much.
    """
    _check_size(backup)
    engine = make_engine(find_location(path))
    with closing(read_only(backup)) as old:
        guard(old)
        old.execute("BEGIN")  # all that is read is of one moment
        revision = revision_of_file(old, str(backup))
        if not revision:
            raise LibraryError(f"{backup} is empty.", hint="Give a backup: a copy of a library.")
        check_whole(old, backup)
        with engine.begin() as connection:
            run_steps(connection, revision)
        with closing(sqlite3.connect(path, isolation_level=None)) as new:
            _copy_rows(old, new, backup)
    with engine.begin() as connection:
        run_steps(connection)
    with Session(engine) as session:
        read_through(session)
    engine.dispose()


def _check_size(backup: Path) -> None:
    size = backup.stat().st_size
    if size > MOST_BYTES:
        raise TooLargeError(
            f"{backup} has {size / 1e9:.1f} GB; a backup may have {MOST_BYTES / 1e9:.0f} GB.",
            hint="Is this the right file?",
        )


def _copy_rows(old: sqlite3.Connection, new: sqlite3.Connection, backup: Path) -> None:
    new.execute("PRAGMA synchronous = OFF")  # it is only a copy until it is whole
    new.execute("BEGIN")
    left, tables = iter(range(MOST_ROWS)), _tables(new)
    for table in tables:
        columns = [f'"{name}"' for _, name, *_ in new.execute(f'PRAGMA table_info("{table}")')]
        names, marks = ", ".join(columns), ", ".join("?" * len(columns))
        rows = _counted(old.execute(f'select {names} from "{table}"'), left, backup)
        new.execute(f'delete from "{table}"')  # of the numbers given, those that are given by now
        try:
            new.executemany(f'insert into "{table}" ({names}) values ({marks})', rows)
        except sqlite3.IntegrityError as error:
            raise DamagedError("two things in it are one, or something is missing") from error
    if NUMBERS_GIVEN in tables:
        _check_numbers(new)
    if new.execute("PRAGMA foreign_key_check").fetchone():
        raise DamagedError("something in it belongs to what isn't there")
    new.execute("COMMIT")


def _tables(connection: sqlite3.Connection) -> list[str]:
    """Return the tables to be copied, that of the numbers given last."""
    found = connection.execute("select name from sqlite_master where type = 'table'")
    names = {name for (name,) in found} - LEFT_BEHIND
    return sorted(names, key=lambda name: (name == NUMBERS_GIVEN, name))


def _counted(
    rows: Iterable[tuple[Any, ...]], left: Iterator[int], backup: Path
) -> Iterator[tuple[Any, ...]]:
    for row in rows:
        if next(left, None) is None:
            raise TooLargeError(
                f"{backup} has more than {MOST_ROWS:,} rows, more than any library.",
                hint="Is this the right file?",
            )
        yield row


def _check_numbers(connection: sqlite3.Connection) -> None:
    """Refuse a last number after which none is left to be given."""
    for _, number in connection.execute(f"select name, seq from {NUMBERS_GIVEN}"):
        if type(number) is not int or not 0 <= number <= LARGEST_ID // 2:
            raise DamagedError(f"{shortened(number)} can't be a number it gave")
