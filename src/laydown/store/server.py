"""What a database server asks for that a file does not: one writer at a time, who it is, who is in.

Locks are PostgreSQL's own advisory ones: they end with the transaction, or with the connection of
a program that was killed, so that nothing has to be cleared away. See its manual, "Explicit
Locking", "Advisory Locks".
"""

import secrets

from sqlalchemy import Connection, Engine, event, func, select, text
from sqlalchemy.orm import Session

from laydown.errors import LibraryError

WRITING = 0x4C61_7964
"""The lock of whoever writes. A file has one writer at a time, too: what undo replays was then
never written over between its reading and its writing."""
PRESENT = 0x4C61_7965
"""The locks of the benches that run, each with a number of its own."""
LONGEST_NUMBER = 2**31 - 1


def set_up_server(engine: Engine, *, patience: int) -> None:
    """Let one write at a time, and who only looks see the library as it was at one moment.

    Parameters
    ----------
    patience
        How long a writer waits for another [ms].
    """

    def begin(connection: Connection) -> None:
        options = connection.get_execution_options()
        if options.get("reads_only", False):
            connection.exec_driver_sql("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ")
            return
        connection.exec_driver_sql(f"SET LOCAL lock_timeout = {patience}")
        if options.get("waits", True):
            connection.exec_driver_sql(f"SELECT pg_advisory_xact_lock({WRITING})")
            return
        free = connection.exec_driver_sql(f"SELECT pg_try_advisory_xact_lock({WRITING})").scalar()
        if not free:
            raise LibraryError(
                "The library is busy: another command is writing to it.",
                hint="Wait until it has finished, then ask again.",
            )

    event.listen(engine, "begin", begin)


def on_server(session: Session) -> bool:
    """Return whether a session's library is on a database server."""
    return session.get_bind().dialect.name == "postgresql"


def person(session: Session) -> str:
    """Return the database role of who is at work; empty for a library in a file."""
    return str(session.scalar(select(func.session_user())) or "") if on_server(session) else ""


class Presence:
    """That a bench is running, for others at the same server to know; of a file there is no other.

    Its lock lives with one connection, and ends with it, however the program ends.
    """

    number: int
    """Of this bench; 0 for a library in a file."""

    def __init__(self, engine: Engine) -> None:
        self.number, self._held = 0, None
        if engine.dialect.name == "postgresql":
            self.number = secrets.randbelow(LONGEST_NUMBER) + 1
            self._held = engine.connect().execution_options(isolation_level="AUTOCOMMIT")
            self._held.execute(text(f"SELECT pg_advisory_lock({PRESENT}, {self.number})"))

    def end(self) -> None:
        """Let others know that it is over."""
        if self._held is not None:
            self._held.close()


def present(session: Session) -> frozenset[int]:
    """Return the numbers of the benches that run on a server; none for a library in a file."""
    if not on_server(session):
        return frozenset()
    asked = text(
        "SELECT objid FROM pg_locks WHERE locktype = 'advisory' AND classid = :kind AND granted"
        " AND database = (SELECT oid FROM pg_database WHERE datname = current_database())"
    )
    return frozenset(int(number) for (number,) in session.execute(asked, {"kind": PRESENT}))
