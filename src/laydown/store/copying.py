"""Copying a whole library to another place: into a file, onto a server, and back."""

from collections.abc import Iterator
from typing import Any

from sqlalchemy import (
    Connection,
    Engine,
    Integer,
    Table,
    exists,
    func,
    insert,
    select,
    text,
    type_coerce,
)

from laydown.errors import LibraryError
from laydown.store.tables import FitRow, LibraryTable

LEFT_BEHIND = frozenset({FitRow.__tablename__})
"""What is fitted anew from swatches."""
AT_ONCE = 500
"""Rows in memory together."""


def tables() -> list[Table]:
    """Return the tables to be copied, those that others refer to first."""
    return [t for t in LibraryTable.metadata.sorted_tables if t.name not in LEFT_BEHIND]


def copy_rows(source: Engine, target: Engine, *, name: str) -> None:
    """Copy every row, in one transaction, from a library as it is at one moment into an empty one.

    Kept fits stay behind. Numbers that were given and taken back are never given again there
    either.

    Parameters
    ----------
    source, target
        Of two libraries, both brought up to date.
    name
        Of the target, for the message.

    Raises
    ------
    LibraryError
        Where something is in the target already.
    """
    looking = source.execution_options(reads_only=True)
    with looking.connect() as old, target.begin() as new:
        if any(new.scalar(select(exists(select(table)))) for table in tables()):
            raise LibraryError(
                f"{name} is a library with something in it already.",
                hint="Copy to a new file, or to a database that is empty.",
            )
        given = numbers_given(old)
        for table in tables():
            for rows in _some_at_once(old, table):
                new.execute(insert(table), rows)
            _give_on_after(new, table, given.get(table.name, 0))


def _some_at_once(connection: Connection, table: Table) -> Iterator[list[dict[str, Any]]]:
    asked = select(table).order_by(*table.primary_key).execution_options(yield_per=AT_ONCE)
    for rows in connection.execute(asked).mappings().partitions():
        yield [dict(row) for row in rows]


def numbers_given(connection: Connection) -> dict[str, int]:
    """Return the last number that each table gave, where it gives none twice."""
    if connection.dialect.name == "sqlite":
        asked = "SELECT name, seq FROM sqlite_sequence"
        return {name: int(last) for name, last in connection.execute(text(asked))}
    found = {}
    for table in tables():
        if sequence := _sequence(connection, table):
            row = connection.execute(text(f"SELECT last_value, is_called FROM {sequence}")).one()
            found[table.name] = int(row[0]) if row[1] else 0
    return found


def _sequence(connection: Connection, table: Table) -> str:
    """Return what gives the numbers of a table on a server; empty where nothing does."""
    if "id" not in table.c:
        return ""
    asked = select(func.pg_get_serial_sequence(table.name, "id"))
    return str(connection.scalar(asked) or "")


def _give_on_after(connection: Connection, table: Table, given: int) -> None:
    """Have a table go on with the numbers after the last one given, or the highest there is."""
    if "id" not in table.c:
        return
    # as any number: of no rows there is no highest, which isn't a row's missing number
    highest = type_coerce(func.max(table.c.id), Integer)
    last = max(given, connection.scalar(select(highest)) or 0)
    if connection.dialect.name == "sqlite":
        asked = text("UPDATE sqlite_sequence SET seq = :last WHERE name = :name")
        connection.execute(asked, {"last": last, "name": table.name})
    elif last and (sequence := _sequence(connection, table)):
        connection.execute(
            text("SELECT setval(:sequence, :last)"), {"sequence": sequence, "last": last}
        )
