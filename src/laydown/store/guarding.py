"""Bounds for what a library file can make SQLite do, since the file may be a stranger's.

A schema of a million tables, a value of a gigabyte or a tree of pages that leads round in circles
would keep a command busy for ever. None of our own comes anywhere near these bounds.
"""

import sqlite3
from itertools import repeat

LARGEST_VALUE = 250_000_000
"""Bytes of one value and of one row; a kept plan, the largest we write, takes half of that."""
MOST_COLUMNS = 200
"""Of a table, an index or an answer; we ask for some thirty at once."""
STEPS_OF_SCHEMA = 5_000
"""Steps of SQLite's machine in which the schema has to be read; ours takes 400."""
LEAST_STEPS, STEPS_PER_BYTE = 2_000_000, 1
"""Steps that one question may take, and what is added for the size of the file. The whole demo
asked for all it has takes one step for every thirty bytes."""
PORTIONS = 10


def guard(connection: sqlite3.Connection) -> None:
    """Set the bounds of a connection, and read the schema within them.

    Raises
    ------
    sqlite3.OperationalError
        "interrupted", for a schema larger than any of ours.
    """
    connection.setlimit(sqlite3.SQLITE_LIMIT_LENGTH, LARGEST_VALUE)
    connection.setlimit(sqlite3.SQLITE_LIMIT_COLUMN, MOST_COLUMNS)
    connection.set_progress_handler(lambda: 1, STEPS_OF_SCHEMA)
    connection.execute("PRAGMA trusted_schema = OFF")
    connection.execute("PRAGMA cell_size_check = ON")
    connection.execute("select 1 from sqlite_master limit 1").fetchone()
    connection.set_progress_handler(None, 0)


def ration(connection: sqlite3.Connection, statement: str, size: int) -> None:
    """Bound what the next statement may take, where it is a question.

    Parameters
    ----------
    connection
        That will be asked.
    statement
        What is asked; one that writes is not bounded, for it may write any number of rows.
    size
        Of the file [bytes].
    """
    if not statement.lstrip().upper().startswith("SELECT"):
        connection.set_progress_handler(None, 0)
        return
    steps = LEAST_STEPS + STEPS_PER_BYTE * size
    # in portions, for SQLite goes on counting where the same statement is asked again
    left = repeat(0, PORTIONS)
    connection.set_progress_handler(lambda: next(left, 1), steps // PORTIONS)
