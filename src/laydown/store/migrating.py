"""Bringing a library up to date, after a backup; a newer one is refused.

Alembic runs the steps in `migrations/versions`. It is imported only when there is a step to run,
since that takes longer than all else a command does.
"""

import os
import sqlite3
from contextlib import closing
from pathlib import Path

from sqlalchemy import Connection, Engine, inspect, text

from laydown import __version__
from laydown.errors import LibraryError
from laydown.store import files
from laydown.store.own_objects import VERSION_TABLE, check_objects, has_our_version, objects_in
from laydown.store.passing import passing_folder
from laydown.store.trouble import from_rows

REVISIONS = tuple(f"{number:04}" for number in range(1, 22))
"""All steps, oldest first; a test holds them to the files."""

STEPS = Path(__file__).parent / "migrations"
LONGEST_REVISION = 32


def bring_up_to_date(engine: Engine, location: files.Location) -> Path | None:
    """Make the tables, or run the steps that are missing.

    Returned is the backup made before an older library was changed; None where none was needed.

    Raises
    ------
    LibraryError
        For a database of something else, or of a newer laydown.
    """
    with engine.connect().execution_options(reads_only=True) as connection:
        revision = found_revision(connection, str(location))
    if revision == REVISIONS[-1]:
        return None
    backup = None
    if revision and location.path is not None:
        backup = files.copy_beside(location.path, REVISIONS[-1])
    with engine.begin() as connection:
        run_steps(connection)
    if backup is not None and location.path is not None:
        _close_gaps(location.path)
    return backup


def make_new(path: Path) -> None:
    """Make a library where there is none, so that a file there is either none or a whole one.

    Whoever makes one at the same moment may be first; theirs stays.
    """
    try:
        files.make_folder(path)
        with passing_folder(path.parent) as folder:
            made = folder / path.name
            engine = files.make_engine(files.find_location(made))
            with engine.begin() as connection:
                run_steps(connection)
            engine.dispose()
            _move_to_its_place(made, path)
    except OSError as error:
        raise LibraryError(
            f"{path} can't be made: {error.strerror or error}.",
            hint="Check the folder, your rights, and the room on the disk.",
        ) from error


def _move_to_its_place(made: Path, path: Path) -> None:
    try:
        os.link(made, path)  # which never takes the place of another
    except FileExistsError:
        return
    except OSError:  # some disks know no links
        if not path.exists():
            made.rename(path)


def _close_gaps(path: Path) -> None:
    """Write a library anew, for an earlier laydown left what was erased in the gaps of its file."""
    with closing(sqlite3.connect(path, timeout=files.BUSY_MILLISECONDS / 1000)) as connection:
        connection.execute("VACUUM")


def found_revision(connection: Connection, where: str) -> str:
    """Return the last step a database has taken; empty for a database without any table.

    Raises
    ------
    LibraryError
        For a database of something else, of a newer laydown, or that was meddled with.
    """
    if connection.dialect.name == "sqlite":
        file = connection.connection.driver_connection
        assert isinstance(file, sqlite3.Connection)
        return revision_of_file(file, where)
    tables = set(inspect(connection).get_table_names())
    if not tables:
        return ""
    if not {VERSION_TABLE, "swatches"} <= tables:
        raise _foreign(where)
    found = connection.execute(text(f"select version_num from {VERSION_TABLE}")).scalar()
    return _known(str(found or ""), where)


def revision_of_file(connection: sqlite3.Connection, where: str) -> str:
    """Return the same of an SQLite file; its objects are looked at before anything is asked."""
    objects = objects_in(connection)
    if not objects:
        return ""
    (mark,) = connection.execute("PRAGMA application_id").fetchone()
    if mark != files.APPLICATION_ID or not has_our_version(objects):
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
        newer = writer > version_number(__version__)
        by = f"laydown {_version(writer)}, newer than this {__version__}" if newer else NEWER
        raise LibraryError(
            f"{where} was written by {by} (its step {revision}; this one knows {REVISIONS[-1]}).",
            hint="Install the newer laydown; this one leaves the library as it is.",
        )
    return revision


NEWER = "a newer laydown"
PLACES = 1000
"""How many numbers each of the three parts of a version may have."""


def version_number(version: str) -> int:
    """Return a version as the one number that SQLite keeps for us in the head of a file.

    Examples
    --------
    >>> version_number("1.20.3")
    1020003
    """
    major, minor, patch = map(int, version.split("."))
    return (major * PLACES + minor) * PLACES + patch


def _version(number: int) -> str:
    return f"{number // PLACES**2}.{number // PLACES % PLACES}.{number % PLACES}"


@from_rows
def run_steps(connection: Connection, until: str = REVISIONS[-1]) -> None:
    """Take the steps that a database lacks, up to one.

    Raises
    ------
    DamagedError
        For rows that no laydown wrote.
    """
    from alembic import command  # noqa: PLC0415 - slow to import and seldom needed
    from alembic.config import Config  # noqa: PLC0415 - the same

    config = Config()
    config.set_main_option("script_location", str(STEPS).replace("%", "%%"))
    config.set_main_option("path_separator", "os")
    config.attributes["connection"] = connection
    command.upgrade(config, until)
    if connection.dialect.name == "sqlite":
        connection.execute(text(f"PRAGMA application_id = {files.APPLICATION_ID}"))
        connection.execute(text(f"PRAGMA user_version = {version_number(__version__)}"))
