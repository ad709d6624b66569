"""Putting a backup in the place of a library, and keeping what was there."""

import shutil
import sqlite3
from collections.abc import Iterable, Iterator, Sequence
from contextlib import closing
from pathlib import Path
from typing import Any

from sqlalchemy import Engine, select
from sqlalchemy.orm import Session

from laydown.errors import LibraryError, TooLargeError
from laydown.media.legible import checked_name, name_key
from laydown.store import files, jobs, journal, lightfastness, migrating, sheets, tables, trials
from laydown.store.columns import shortened
from laydown.store.files import passing_folder
from laydown.store.swatches import SwatchShelf
from laydown.store.trouble import DamagedError, from_rows, plainly

NAMED = (tables.RangeRow, tables.ColorantRow, tables.PaperRow, tables.KitRow)
AT_ONCE = 1000
"""Swatches that are in memory together."""


def read_through(session: Session) -> None:
    """Read every value of every table, and make of the rows what is ever made of them.

    Raises `DamagedError` for what no laydown writes.
    """
    for table in tables.LibraryTable.metadata.sorted_tables:
        for _ in one_by_one(session, table.c):
            pass
    for named in NAMED:
        for name, key in session.execute(select(named.name, named.key)):
            _check_name(name, key)
    swatches = SwatchShelf(session)
    for skip in range(0, swatches.count_swatches(), AT_ONCE):
        swatches.swatches(skip=skip, most=AT_ONCE)
    lightfastness.Ratings(session).all()
    lightfastness.Ratings(session).tests()
    lightfastness.PanMarks(session).all()
    trials.Notebook(session).read_through()
    trials.Finished(session).all()
    sheets.Sheets(session).read_through()
    images = (tables.JournalRow.table_name, tables.JournalRow.before, tables.JournalRow.after)
    for entry in one_by_one(session, images):
        name, before, after = tuple(entry)
        journal.table_of(name, before, after)
    for (content,) in one_by_one(session, (tables.JobTextRow.content,)):
        jobs.unpacked(content)


def one_by_one(session: Session, columns: Iterable[Any]) -> Iterable[Sequence[Any]]:
    """Return rows of which never more than one is in memory, for each may be large."""
    return session.execute(select(*columns).execution_options(yield_per=1))


@from_rows
def _check_name(name: str, key: str) -> None:
    if checked_name(name, "thing") != name or name_key(name) != key:
        raise ValueError(f"“{name[:40]}” is not found by its name")


MOST_BYTES = 8_000_000_000
"""Of a backup's file: a hundred of the largest plans, and room for as much again."""
MOST_ROWS = 2_000_000
"""In all tables together; ten years of a class's swatches with their history take a tenth."""
LEFT_BEHIND = frozenset({migrating.VERSION_TABLE, "fits"})
"""The steps write the one, and what is fitted anew from swatches needs no trust."""
NUMBERS_GIVEN = "sqlite_sequence"
"""Where SQLite keeps the last number that was given in a table that gives none twice."""


def take_in(backup: Path, path: Path) -> None:
    """Write the rows of a backup into a new library, bring that up to date and read all of it.

    `backup` is the file. `path` is where the new library is made; no file is there yet. Raises
    `LibraryError` and `DamagedError` for a file that is no sound library. Raises `TooLargeError`
    for one that holds too much.
    """
    if (size := backup.stat().st_size) > MOST_BYTES:
        raise TooLargeError(
            f"{backup} has {size / 1e9:.1f} GB; a backup may have {MOST_BYTES / 1e9:.0f} GB.",
            hint="Is this the right file?",
        )
    with closing(files.read_only(backup)) as old:
        files.guard(old)
        old.execute("BEGIN")  # all that is read is of one moment
        revision = migrating.revision_of_file(old, str(backup))
        if not revision:
            raise LibraryError(f"{backup} is empty.", hint="Give a backup: a copy of a library.")
        files.check_whole(old, backup)
        migrating.write_empty(path, revision)
        with closing(sqlite3.connect(path, isolation_level=None)) as new:
            _copy_rows(old, new, backup)
    engine = files.make_engine(files.find_location(path))
    with engine.begin() as connection:
        migrating.run_steps(connection)
    with Session(engine) as session:
        read_through(session)
    engine.dispose()


def _copy_rows(old: sqlite3.Connection, new: sqlite3.Connection, backup: Path) -> None:
    new.execute("PRAGMA synchronous = OFF")  # it is only a copy until it is whole
    new.execute("BEGIN")
    left, copied = iter(range(MOST_ROWS)), _tables(new)
    for table in copied:
        columns = [f'"{name}"' for _, name, *_ in new.execute(f'PRAGMA table_info("{table}")')]
        names, marks = ", ".join(columns), ", ".join("?" * len(columns))
        rows = _counted(old.execute(f'select {names} from "{table}"'), left, backup)
        new.execute(f'delete from "{table}"')  # of the numbers given, those that are given by now
        try:
            new.executemany(f'insert into "{table}" ({names}) values ({marks})', rows)
        except sqlite3.IntegrityError as error:
            raise DamagedError("two things in it are one, or something is missing") from error
    if NUMBERS_GIVEN in copied:
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
        if type(number) is not int or not 0 <= number <= tables.LARGEST_ID // 2:
            raise DamagedError(f"{shortened(number)} can't be a number it gave")


WHY = "restore"
"""In the name of what is kept of the library as it was."""
IN_USE = (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED)
BESIDE = ("-journal", "-wal", "-shm")
"""Endings of what SQLite keeps beside a file, and would roll back into any other of its name."""


def put_in_place(backup: Path, target: Path, engine: Engine) -> Path:
    """Put what a backup holds in place of a library, in one transaction.

    Returned is where the library as it was before is kept. The backup is of this version or an
    older one. The target is the library's own file, untouched unless all of the backup is sound; it
    may be anything: what SQLite can't read is kept byte by byte.
    """
    # the place is looked up first, which refuses what no file is called
    given = files.file_at(files.find_location(backup)) or backup
    hint = "Give a backup: a copy of a library."
    if not given.is_file():
        raise LibraryError(f"There is no file {given}.", hint=hint)
    if target.exists() and given.samefile(target):
        raise LibraryError(f"{given} is the library itself.", hint=hint)
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
    kept = _set_aside(target) if is_broken else files.copy_beside(target, WHY)
    try:
        if is_broken:
            sound.replace(target)
        else:
            files.copy_over(sound, target)
            files.use_our_journal(target)
    except (sqlite3.Error, OSError) as error:
        raise LibraryError(
            f"{target} can't be written: {error}.", hint=f"It is as it was; a copy lies at {kept}."
        ) from error
    return kept


def _is_broken(target: Path) -> bool:
    """Return whether a file is none that SQLite could copy, or write over in one transaction.

    Raises `LibraryError` where another is writing to it, for that can't be known then.
    """
    if not target.stat().st_size:
        return True
    try:
        with closing(sqlite3.connect(target, timeout=10)) as old:
            files.guard(old)  # which also takes back what a kill has left half written
            files.check_whole(old, target)
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

    Returned is where the copy lies.
    """
    kept = files.name_beside(target, WHY)
    files.make_private(kept)
    shutil.copyfile(target, kept)
    for ending in BESIDE:
        beside = target.with_name(target.name + ending)
        if beside.exists():
            beside.replace(kept.with_name(kept.name + ending))
    return kept
