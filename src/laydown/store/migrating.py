"""Bringing a library up to date, after a backup; a newer one is refused.

Alembic runs the steps in `migrations/versions`. It is imported only when there is a step to run,
since that takes longer than all else a command does.
"""

from pathlib import Path

from sqlalchemy import Connection, Engine, inspect, text

from laydown.errors import LibraryError
from laydown.store.copying import copy_beside
from laydown.store.location import APPLICATION_ID, Location

REVISIONS = ("0001", "0002", "0003", "0004", "0005", "0006", "0007", "0008", "0009")
"""All steps, oldest first; a test holds them to the files."""

STEPS = Path(__file__).parent / "migrations"
VERSION_TABLE = "alembic_version"


def bring_up_to_date(engine: Engine, location: Location) -> Path | None:
    """Make the tables, or run the steps that are missing.

    Returns
    -------
    path
        Of the backup made before an older library was changed; None where none was needed.

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
        backup = copy_beside(location.path, REVISIONS[-1])
    with engine.begin() as connection:
        _run_steps(connection)
    return backup


def found_revision(connection: Connection, where: str) -> str:
    """Return the last step a database has taken; empty for a database without any table.

    Raises
    ------
    LibraryError
        For a database of something else, or of a newer laydown.
    """
    tables = set(inspect(connection).get_table_names())
    if not tables:
        return ""
    if VERSION_TABLE not in tables or not _marked(connection):
        raise LibraryError(
            f"{where} is a database, but not a laydown library.",
            hint="Choose another file.",
            command="--db",
        )
    revision = connection.execute(text(f"select version_num from {VERSION_TABLE}")).scalar() or ""
    if revision and revision not in REVISIONS:
        raise LibraryError(
            f"{where} was written by a newer laydown (its step {revision}; this one knows "
            f"{REVISIONS[-1]}).",
            hint="Install the newer laydown; this one leaves the library as it is.",
        )
    return str(revision)


def _marked(connection: Connection) -> bool:
    if connection.dialect.name != "sqlite":
        return "swatches" in inspect(connection).get_table_names()
    return connection.execute(text("PRAGMA application_id")).scalar() == APPLICATION_ID


def _run_steps(connection: Connection) -> None:
    from alembic import command  # noqa: PLC0415 - slow to import and seldom needed
    from alembic.config import Config  # noqa: PLC0415 - the same

    config = Config()
    config.set_main_option("script_location", str(STEPS).replace("%", "%%"))
    config.set_main_option("path_separator", "os")
    config.attributes["connection"] = connection
    command.upgrade(config, "head")
    if connection.dialect.name == "sqlite":
        connection.execute(text(f"PRAGMA application_id = {APPLICATION_ID}"))
