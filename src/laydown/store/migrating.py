"""Bringing a library up to date, after a backup; a newer one is refused.

Alembic takes the steps in `migrations/steps.py`. It is imported only when there is a step to take,
since that takes longer than all else a command does.
"""

import json
import os
import sqlite3
from contextlib import closing
from functools import cache
from pathlib import Path

import sqlalchemy as sql

from laydown import __version__
from laydown.errors import LibraryError
from laydown.store import files
from laydown.store.files import passing_folder
from laydown.store.trouble import from_rows

REVISIONS = tuple(f"{number:04}" for number in range(1, 22))
"""All steps, oldest first; one of `migrations.steps.STEPS` each."""
LONGEST_REVISION = 32


def bring_up_to_date(engine: sql.Engine, location: sql.URL) -> Path | None:
    """Make the tables, or run the steps that are missing.

    Returned is the backup made before an older library was changed; None where none was needed.
    Raises `LibraryError` for a database of something else, or of a newer laydown.
    """
    with engine.connect().execution_options(reads_only=True) as connection:
        revision = found_revision(connection, files.name_of(location))
    if revision == REVISIONS[-1]:
        return None
    path, backup = files.file_at(location), None
    if revision and path is not None:
        backup = files.copy_beside(path, REVISIONS[-1])
    with engine.begin() as connection:
        run_steps(connection)
    if backup is not None and path is not None:
        # it is written anew, for an earlier laydown left what was erased in the gaps of its file
        patience = files.BUSY_MILLISECONDS / 1000
        with closing(sqlite3.connect(path, timeout=patience)) as written:
            written.execute("VACUUM")
    return backup


def make_new(path: Path) -> None:
    """Make a library where there is none, so that a file there is either none or a whole one.

    Whoever makes one at the same moment may be first; theirs stays.
    """
    try:
        files.make_folder(path)
        with passing_folder(path.parent) as folder:
            made = folder / path.name
            write_empty(made)
            _move_to_its_place(made, path)
    except OSError as error:
        raise LibraryError(
            f"{path} can't be made: {error.strerror or error}.",
            hint="Check the folder, your rights, and the room on the disk.",
        ) from error


def write_empty(path: Path, until: str = REVISIONS[-1]) -> None:
    """Write a library without anything in it, as it is after a step, to a file."""
    files.make_private(path)
    with path.open("wb") as file:
        file.write(_empty(until))
        file.flush()
        os.fsync(file.fileno())


@cache
def _empty(until: str) -> bytes:
    """Return the bytes of such a file; the steps that make it take longer than most commands."""
    with passing_folder() as folder:
        path = folder / "library.db"
        engine = files.make_engine(files.find_location(path))
        with engine.begin() as connection:
            run_steps(connection, until)
        engine.dispose()
        return path.read_bytes()


def _move_to_its_place(made: Path, path: Path) -> None:
    try:
        os.link(made, path)  # which never takes the place of another
    except FileExistsError:
        return
    except OSError:  # some disks know no links
        if not path.exists():
            made.rename(path)


def found_revision(connection: sql.Connection, where: str) -> str:
    """Return the last step a database has taken; empty for a database without any table.

    Raises `LibraryError` for a database of something else, of a newer laydown, or that was meddled
    with.
    """
    if connection.dialect.name == "sqlite":
        file = connection.connection.driver_connection
        assert isinstance(file, sqlite3.Connection)
        return revision_of_file(file, where)
    tables = set(sql.inspect(connection).get_table_names())
    if not tables:
        return ""
    if not {VERSION_TABLE, "swatches"} <= tables:
        raise _foreign(where)
    found = connection.execute(sql.text(f"select version_num from {VERSION_TABLE}")).scalar()
    return _known(str(found or ""), where)


def revision_of_file(connection: sqlite3.Connection, where: str) -> str:
    """Return the same of an SQLite file; its objects are looked at before anything is asked."""
    objects = objects_in(connection)
    if not objects:
        return ""
    (mark,) = connection.execute("PRAGMA application_id").fetchone()
    ours = {made for made in objects_of(REVISIONS[0]) if made[1] == VERSION_TABLE}
    if mark != files.APPLICATION_ID or not ours <= objects:  # the table that names the last step
        raise _foreign(where)
    (found,) = connection.execute(f"select version_num from {VERSION_TABLE}").fetchone() or ("",)
    (writer,) = connection.execute("PRAGMA user_version").fetchone()
    revision = _known(str(found or "")[:LONGEST_REVISION], where, writer)
    check_objects(objects, revision, where)
    return revision


def _foreign(where: str) -> LibraryError:
    return LibraryError(
        f"{where} is a database, but not a laydown library.",
        hint="Choose another file.",
        command="--db",
    )


def is_older(path: Path) -> bool:
    """Return whether a library's file lacks steps that this laydown knows."""
    with closing(files.read_only(path)) as connection:
        return revision_of_file(connection, str(path)) != REVISIONS[-1]


def _known(revision: str, where: str, writer: int = 0) -> str:
    if revision and revision not in REVISIONS:
        by = "a newer laydown"
        if writer > version_number(__version__):
            parts = writer // PLACES**2, writer // PLACES % PLACES, writer % PLACES
            by = f"laydown {'.'.join(map(str, parts))}, newer than this {__version__}"
        raise LibraryError(
            f"{where} was written by {by} (its step {revision}; this one knows {REVISIONS[-1]}).",
            hint="Install the newer laydown; this one leaves the library as it is.",
        )
    return revision


PLACES = 1000
"""How many numbers each of the three parts of a version may have."""


def version_number(version: str) -> int:
    """Return a version as the one number that SQLite keeps for us in the head of a file.

    >>> version_number("1.20.3")
    1020003
    """
    major, minor, patch = map(int, version.split("."))
    return (major * PLACES + minor) * PLACES + patch


@from_rows
def run_steps(connection: sql.Connection, until: str = REVISIONS[-1]) -> None:
    """Take the steps that a database lacks, up to one.

    Raises `DamagedError` for rows that no laydown wrote.
    """
    VERSIONS.create(connection, checkfirst=True)
    taken = connection.scalar(sql.select(VERSIONS)) or ""
    if taken >= until:
        return
    from alembic.migration import MigrationContext  # noqa: PLC0415 - slow to import, seldom needed
    from alembic.operations import Operations  # noqa: PLC0415 - the same

    from laydown.store.migrations.steps import STEPS  # noqa: PLC0415 - the same

    with Operations.context(MigrationContext.configure(connection)):
        for revision, step in zip(REVISIONS, STEPS, strict=True):
            if taken < revision <= until:
                step()
                connection.execute(sql.delete(VERSIONS))
                connection.execute(sql.insert(VERSIONS).values(version_num=revision))
    if connection.dialect.name == "sqlite":
        connection.execute(sql.text(f"PRAGMA application_id = {files.APPLICATION_ID}"))
        connection.execute(sql.text(f"PRAGMA user_version = {version_number(__version__)}"))


# What a library file is made of, step by step, and the check that it is made of nothing else.
#
# Whoever hands on a library could have put a trigger, a view, a rule or a computed column into it,
# and SQLite would run that with our next command. So the statements that a file keeps of its own
# objects are compared with those that our steps write, recorded in ``migrations/objects.json`` by
# ``tools/make_library_objects.py``.

RECORDED = Path(__file__).parent / "migrations" / "objects.json"
VERSION_TABLE = "alembic_version"
VERSIONS = sql.Table(
    VERSION_TABLE,
    sql.MetaData(),
    sql.Column("version_num", sql.String(LONGEST_REVISION), nullable=False),
    sql.PrimaryKeyConstraint("version_num", name=f"{VERSION_TABLE}_pkc"),
)
"""The last step that was taken, kept as Alembic would."""
MOST_OBJECTS = 500
"""Far more than we make; what comes after is not even looked at."""
LONGEST_SHOWN = 40
GONE = "gone"
"""Recorded in place of the kind of an object that a step takes away; its kind comes third."""

Object = tuple[str, str, str, str]
"""Kind, name, the table it belongs to, and its statement; empty for an index SQLite makes."""


def plain(statement: str) -> str:
    r"""Write a statement with as few blanks as it can have, for releases of what wrote it differ.

    Only what SQLite itself takes for a blank is one; everything else stays, to the letter.

    >>> plain('CREATE TABLE kits (\n\tid INTEGER, \n\t"key" TEXT\n)')
    'CREATE TABLE kits(id INTEGER,"key" TEXT)'
    """
    # without patterns, which take three times as long: it is done whenever a library is opened
    for blank in "\t\n\f\r":
        statement = statement.replace(blank, " ")
    while "  " in statement:
        statement = statement.replace("  ", " ")
    for mark in "(),":
        statement = statement.replace(f" {mark}", mark).replace(f"{mark} ", mark)
    return statement.strip(" ")


def objects_in(connection: sqlite3.Connection) -> frozenset[Object]:
    """Return the objects of a file, a few too many at most."""
    rows = connection.execute(
        f"select type, name, tbl_name, sql from sqlite_master limit {MOST_OBJECTS}"
    )
    return frozenset(
        (str(kind), str(name), str(table), plain(str(statement or "")))
        for kind, name, table, statement in rows
    )


@cache
def objects_of(revision: str) -> frozenset[Object]:
    """Return the objects that a library has after a step."""
    recorded = json.loads(RECORDED.read_text(encoding="utf-8"))
    objects: dict[tuple[str, str], Object] = {}
    for step in sorted(recorded):  # a later step may write an earlier one's object anew
        for kind, name, table, statement in recorded[step] if step <= revision else ():
            if kind == GONE:
                del objects[table, name]
            else:
                objects[kind, name] = (kind, name, table, statement)
    return frozenset(objects.values())


def check_objects(objects: frozenset[Object], revision: str, where: str) -> None:
    """Refuse a library, a file, that has other objects than those after its last step.

    Raises `LibraryError`, which names one that is too many, too few or altered.
    """
    ours = objects_of(revision)
    if objects == ours:
        return
    raise LibraryError(
        f"{where} is no sound laydown library: {_difference(objects, ours)}.",
        hint="Ask whoever gave it to you for a backup that laydown made, or choose another file.",
    )


def _difference(objects: frozenset[Object], ours: frozenset[Object]) -> str:
    known = {name for _, name, _, _ in ours}
    strange = [(name not in known, kind, name) for kind, name, _, _ in objects - ours]
    if not strange:
        kind, name = max((kind, name) for kind, name, _, _ in ours - objects)  # tables before all
        return f"its {_shown(kind, name)} is missing"
    added, kind, name = max(strange)
    if added:
        return f"laydown never makes its {_shown(kind, name)}"
    return f"its {_shown(kind, name)} is not as laydown makes it"


def _shown(kind: str, name: str) -> str:
    printable = "".join(sign if sign.isprintable() else "?" for sign in name[:LONGEST_SHOWN])
    return f"{kind} “{printable}”"
