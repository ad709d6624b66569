"""The library: opened, migrated, and worked on one transaction at a time.

How it is used
--------------
::

    library = open_library(None)                  # or a path, or a URL
    with library.work("own two markers") as work: # one transaction, one entry to undo
        kit = work.own("mine", [work.find_colorant("Kelp"), work.find_colorant("Orchard/Fig")])
    with library.look() as work:                  # reads only
        swatches = work.swatches(range="Estuary", paper="Gannet smooth")
    library.undo()

``work`` and ``look`` hand over a `Work`, which speaks in the frozen types of `media` and of
`store.records` (`Range`, `StoredSwatch`, `Kit`, `Change`); `SwatchShelf` and
`SupplyShelf` say all it can do. Don't compute inside either, since others wait: ``look``, compute,
then ``work``.
"""

import json
import tempfile
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager, suppress
from functools import lru_cache, wraps
from pathlib import Path
from typing import Any, Concatenate, ParamSpec, TypeVar

import sqlalchemy as sql
from sqlalchemy.orm import Session

from laydown import errors
from laydown.media.legible import name_key
from laydown.store import (
    columns,
    files,
    jobs,
    journal,
    kept_files,
    lightfastness,
    migrating,
    records,
    restoring,
    sheets,
    shelf,
    swatches,
    trials,
    trouble,
)
from laydown.store.tables import FitRow, LibraryTable

P = ParamSpec("P")
Found = TypeVar("Found")


class FitShelf(shelf.Shelf):
    """The kept fits of a library: a cache, never part of what undo takes back."""

    def fit(self, key: records.FitKey) -> str | None:
        """Return the kept fit for exactly this key, as its owner wrote it, or None."""
        return self.session.scalar(
            sql.select(FitRow.payload)
            .filter_by(**_cells(key))
            .where(
                # a longer one is none of ours
                sql.func.length(FitRow.payload) <= columns.LONGEST_PAYLOAD,
            )
        )

    def keep_fit(self, key: records.FitKey, payload: str) -> None:
        """Keep a fit (JSON text) in place of any other of the same ranges and paper.

        One that is too long to be read again is not kept.
        """
        if len(payload) > columns.LONGEST_PAYLOAD:
            return
        row = FitRow(**_cells(key), payload=payload)
        same = FitRow.ranges == row.ranges, FitRow.paper == row.paper
        self.session.execute(sql.delete(FitRow).where(*same))
        self.kept(row)


def _cells(key: records.FitKey) -> dict[str, str]:
    ranges, paper, version, digest = key
    place = {"ranges": json.dumps(sorted(map(name_key, ranges))), "paper": name_key(paper)}
    return {**place, "model_version": version, "swatch_hash": digest}


# One command's work on the library: everything it reads and writes, in one transaction.
#
# Names are found whatever their capitals and spacing. A name that isn't there raises
# `UnknownNameError` with the nearest names as its hint; one that stands for several things raises
# `AmbiguousNameError` and lists them; one that is taken raises `DuplicateNameError`.


class Work(swatches.SwatchShelf, FitShelf):
    """What a command may ask of the library and do to it; made by `Library.work` or `.look`.

    What is kept by numbers has shelves of its own: `notebook` (the trials), `finished`, `sheets`,
    `lightfastness` (classes, and tests in a window), `pan_marks`, `lessons`, `plans` (of
    pictures) and `jobs`.
    """

    def __init__(self, session: Session) -> None:
        super().__init__(session)
        self.notebook = trials.Notebook(session)
        self.finished = trials.Finished(session)
        self.sheets = sheets.Sheets(session)
        self.lightfastness = lightfastness.Ratings(session)
        self.pan_marks = lightfastness.PanMarks(session)
        self.lessons = kept_files.Lessons(session)
        self.plans = kept_files.Plans(session)
        self.jobs = jobs.JobShelf(session)


class Library:
    """An open library; made by `open_library`.

    `upgraded_from` is the backup made because an older one was brought up to date on opening, or
    None.
    """

    def __init__(
        self, engine: sql.Engine, location: sql.URL, *, upgraded_from: Path | None = None
    ) -> None:
        self._engine = engine
        self._at = files.file_at(location)
        self.location = files.name_of(location)
        """The path of the file, or the address without its password."""
        self.upgraded_from = upgraded_from
        self._changes = 0

    @contextmanager
    def work(self, label: str, *, waits: bool = True) -> Iterator[Work]:
        """Open one transaction: kept as a whole at the end, or rolled back on any exception.

        `label` is what the command does, as `history` and `undo` will call it. `waits` says whether
        to wait for another who is writing; else a library in use raises at once.
        """
        with self._session(waits=waits) as session, session.begin():
            session.connection()  # the right to write is taken now, not at the first write
            journal.start(session)
            yield Work(session)
            session.flush()
            self._changes += 1
            journal.close(session, label, columns.now())

    @contextmanager
    def look(self) -> Iterator[Work]:
        """Open a transaction that only reads; a write in it is a ``ValueError``."""
        with self._session(reads_only=True) as session:
            journal.start(session)
            yield Work(session)
            session.flush()
            if journal.wrote(session):
                raise ValueError("look() only reads: nothing was kept; use work() to write")

    def edition(self) -> journal.Edition:
        """Return what differs as soon as anything was changed or tried, here or by another program.

        Kept fits, jobs, sheets and plans are not among that.
        """
        looking = self._engine.execution_options(reads_only=True)  # no session: it is asked often
        with trouble.plainly(self.location), looking.connect() as connection:
            return self._changes, *journal.edition(connection)

    def keep_fit(self, key: records.FitKey, payload: str) -> None:
        """Keep a fit; who may only look goes without, and has it made anew each time."""
        with suppress(errors.LookOnlyError), self.work("keep a fit") as work:
            work.keep_fit(key, payload)

    def history(self, *, undone: bool = False, own: bool = False) -> tuple[records.Change, ...]:
        """Return the commands that can be taken back or were, those first that come next.

        Those that were undone are one's own; of the others, ask for one's `own`.
        """
        with self._session(reads_only=True) as session:
            return journal.history(session, undone=undone, own=own)

    def undo(self) -> records.Change:
        """Take back the latest command as a whole and return it.

        Raises `NothingToUndoError` when no command is left to take back.
        """
        with self._session() as session, session.begin():
            self._changes += 1
            return journal.take_back(session)

    def redo(self) -> records.Change:
        """Do again, as a whole, the command that was taken back last, and return it.

        Raises `NothingToRedoError` when none was taken back since the last change.
        """
        with self._session() as session, session.begin():
            self._changes += 1
            return journal.do_again(session)

    def backup(self, path: Path) -> Path:
        """Write the whole library, as it is now, to a new file; return its path.

        Raises `LibraryError` when the file is there already or can't be written, and for a database
        server.
        """
        return files.copy_file(self._file("backed up", "pg_dump"), path)

    def copy_to(self, location: str) -> str:
        """Copy the whole library, as it is now, to another place; return how that is called.

        `location` is a path where no file is yet, or the address of an empty database on a server.
        Raises `LibraryError` when something is there already, or it can't be written.
        """
        found = files.find_location(location)
        path, name = files.file_at(found), files.name_of(found)
        if path is None:
            with closing(open_library(location)) as other, trouble.plainly(name):
                copy_rows(self._engine, other._engine, name=name)
        elif self._at is not None:
            files.copy_file(self._at, path)
        else:
            self._copy_from_server(path)
        return name

    def _copy_from_server(self, path: Path) -> None:
        with files.passing_folder() as folder:
            copy = closing(open_library(folder / "library.db"))
            with copy as other, trouble.plainly(self.location):
                copy_rows(self._engine, other._engine, name=str(path))
            files.copy_file(folder / "library.db", path)

    def present(self) -> files.Presence:
        """Let others at the same server know that a bench runs here, until it is ended."""
        with trouble.plainly(self.location):
            return files.Presence(self._engine)

    def restore(self, path: Path) -> Path:
        """Put a backup in place of this library; return where the present one was kept.

        Raises `LibraryError` when the file isn't a whole laydown library, and for a database
        server.
        """
        self._changes += 1
        return restoring.put_in_place(path, self._file("restored", "pg_restore"), self._engine)

    def close(self) -> None:
        """Let go of the database."""
        self._engine.dispose()

    def _file(self, done: str, tool: str) -> Path:
        if self._at is None:
            raise errors.LibraryError(
                f"A library on a database server is not {done} from here.",
                hint=f"Use {tool}, or ask whoever looks after the server.",
            )
        return self._at

    @contextmanager
    def _session(self, *, reads_only: bool = False, waits: bool = True) -> Iterator[Session]:
        with trouble.plainly(self.location):
            engine = self._engine.execution_options(reads_only=reads_only, waits=waits)
            with Session(engine, expire_on_commit=False) as session:
                yield session


def remembered(
    most: int,
) -> Callable[[Callable[Concatenate[Library, P], Found]], Callable[Concatenate[Library, P], Found]]:
    """Have a function keep what it found in a library, until something in that changes.

    What it finds must be unchangeable, and its arguments hashable. At `most` so many findings stay
    at hand; those asked for longest ago go first.
    """

    def keep(
        find: Callable[Concatenate[Library, P], Found],
    ) -> Callable[Concatenate[Library, P], Found]:
        @lru_cache(most)
        def found_at(
            _: journal.Edition, library: Library, *args: P.args, **named: P.kwargs
        ) -> Found:
            return find(library, *args, **named)

        @wraps(find)
        def found(library: Library, /, *args: P.args, **named: P.kwargs) -> Found:
            # the edition is read first: what is found then may be newer, and is not asked for again
            known: Callable[..., Found] = found_at  # hashable they are, or it is a TypeError
            return known(library.edition(), library, *args, **named)

        return found

    return keep


def open_library(location: str | Path | None = None) -> Library:
    """Open a library, making it where there is none, and bringing an older one up to date.

    `location` is a path, an address (``sqlite:///…``, ``postgresql://…``), or None for the user's
    own data folder. Raises `LibraryError` when it can't be opened, isn't a laydown library, or was
    written by a newer laydown.
    """
    found = files.find_location(location)
    path, name = files.file_at(found), files.name_of(found)
    if path is not None and path.is_file() and not path.stat().st_size:
        raise errors.LibraryError(
            f"{name} is empty: it has no bytes at all.",
            hint="If it was your library, restore a backup; if there never was one, delete it.",
            command="laydown library restore FILE",
        )
    if path is not None:
        files.clear_left(path.parent, Path(tempfile.gettempdir()))
    with trouble.plainly(name):
        if path is not None and not path.exists():
            migrating.make_new(path)
        engine = files.make_engine(found)
        backup = migrating.bring_up_to_date(engine, found)
        if path is not None:
            files.use_our_journal(path)
            files.keep_private(path)
    return Library(engine, found, upgraded_from=backup)


def library_to_mend(location: str | Path | None = None) -> Library:
    """Return a library that a backup can be put in place of, whatever state it is in.

    It is opened, or where that can't be done as it lies: good for `Library.restore` alone.
    """
    try:
        return open_library(location)
    except errors.LibraryError:
        found = files.find_location(location)
        return Library(files.make_engine(found), found)


LEFT_BEHIND = frozenset({FitRow.__tablename__})
"""What is fitted anew from swatches."""
AT_ONCE = 500
"""Rows in memory together."""


def tables() -> list[sql.Table]:
    """Return the tables to be copied, those that others refer to first."""
    return [t for t in LibraryTable.metadata.sorted_tables if t.name not in LEFT_BEHIND]


def copy_rows(source: sql.Engine, target: sql.Engine, *, name: str) -> None:
    """Copy every row, in one transaction, from a library as it is at one moment into an empty one.

    Kept fits stay behind. Numbers that were given and taken back are never given again there
    either. `source` and `target` are of two libraries, both brought up to date. `name` is of the
    target, for the message. Raises `LibraryError` where something is in the target already.
    """
    looking = source.execution_options(reads_only=True)
    with looking.connect() as old, target.begin() as new:
        if any(new.scalar(sql.select(sql.exists(sql.select(table)))) for table in tables()):
            raise errors.LibraryError(
                f"{name} is a library with something in it already.",
                hint="Copy to a new file, or to a database that is empty.",
            )
        given = numbers_given(old)
        for table in tables():
            for rows in _some_at_once(old, table):
                new.execute(sql.insert(table), rows)
            _give_on_after(new, table, given.get(table.name, 0))


def _some_at_once(connection: sql.Connection, table: sql.Table) -> Iterator[list[dict[str, Any]]]:
    asked = sql.select(table).order_by(*table.primary_key).execution_options(yield_per=AT_ONCE)
    for rows in connection.execute(asked).mappings().partitions():
        yield [dict(row) for row in rows]


def numbers_given(connection: sql.Connection) -> dict[str, int]:
    """Return the last number that each table gave, where it gives none twice."""
    if connection.dialect.name == "sqlite":
        asked = "SELECT name, seq FROM sqlite_sequence"
        return {name: int(last) for name, last in connection.execute(sql.text(asked))}
    found = {}
    for table in tables():
        if sequence := _sequence(connection, table):
            asked = f"SELECT last_value, is_called FROM {sequence}"
            last, is_called = connection.execute(sql.text(asked)).one()
            found[table.name] = int(last) if is_called else 0
    return found


def _sequence(connection: sql.Connection, table: sql.Table) -> str:
    """Return what gives the numbers of a table on a server; empty where nothing does."""
    if "id" not in table.c:
        return ""
    asked = sql.select(sql.func.pg_get_serial_sequence(table.name, "id"))
    return str(connection.scalar(asked) or "")


def _give_on_after(connection: sql.Connection, table: sql.Table, given: int) -> None:
    """Have a table go on with the numbers after the last one given, or the highest there is."""
    if "id" not in table.c:
        return
    # as any number: of no rows there is no highest, which isn't a row's missing number
    highest = sql.type_coerce(sql.func.max(table.c.id), sql.Integer)
    last = max(given, connection.scalar(sql.select(highest)) or 0)
    if connection.dialect.name == "sqlite":
        asked = sql.text("UPDATE sqlite_sequence SET seq = :last WHERE name = :name")
        connection.execute(asked, {"last": last, "name": table.name})
    elif last and (sequence := _sequence(connection, table)):
        asked = sql.text("SELECT setval(:sequence, :last)")
        connection.execute(asked, {"sequence": sequence, "last": last})
