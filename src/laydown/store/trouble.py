"""What a database says when something is wrong, put so that a user can act on it."""

import sqlite3
import zlib
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import wraps
from typing import ParamSpec, TypeVar

from sqlalchemy.exc import DBAPIError, IntegrityError, SQLAlchemyError

from laydown import errors

WRONG = (
    ValueError,
    TypeError,
    KeyError,
    IndexError,
    AttributeError,
    ArithmeticError,
    RecursionError,
    zlib.error,
    errors.BadRecipeError,
    errors.LightfastnessError,
    errors.PanMarkError,
)
"""What goes wrong where a row says what none of ours does, or leads to a row that isn't there."""

MAY_NOT = ("42501", "25006")
"""What PostgreSQL calls a role without the right, and a server that only reads (its manual,
appendix A: insufficient_privilege, read_only_sql_transaction)."""
BUSY = "55P03"
"""The same of a lock that was waited for in vain (lock_not_available)."""

ODD = {
    "interrupted": "there is more in it than a library holds",
    "too big": "there is more in it than a library holds",
    "Could not decode": "it holds a text that can't be read",
}
"""What SQLite says of a file that none of ours is like, and what that means."""

P = ParamSpec("P")
R = TypeVar("R")


class DamagedError(Exception):
    """Something in a library that no laydown writes; `plainly` says of which library."""


def from_rows(read: Callable[P, R]) -> Callable[P, R]:
    """Have a function that makes something of rows say so where they are damaged."""

    @wraps(read)
    def checked(*arguments: P.args, **named: P.kwargs) -> R:
        try:
            return read(*arguments, **named)
        except SQLAlchemyError:
            raise
        except WRONG as error:
            raise DamagedError("something in it makes no sense") from error

    return checked


@contextmanager
def plainly(location: str) -> Iterator[None]:
    """Turn the errors of a database into `LibraryError`.

    `location` is of the library, for the message.
    """
    try:
        yield
    except DBAPIError as error:
        raise _translated(error, location, str(error.orig)) from error
    except sqlite3.Error as error:
        raise _translated(error, location, str(error)) from error
    except DamagedError as error:
        raise _damaged(location, str(error)) from error


def _damaged(location: str, how: str) -> errors.LibraryError:
    return errors.LibraryError(
        f"{location} is damaged, or another program has written to it: {how}.",
        hint="Use another backup, or another library.",
        command="--db",
    )


def _translated(error: Exception, location: str, said: str) -> errors.LibraryError:
    reason = (said.strip() or "no reason given").splitlines()[0]
    if isinstance(error, IntegrityError):
        return errors.LibraryError(
            f"Another command changed {location} at the same moment ({reason}).",
            hint="Nothing of what you asked for was kept; ask again.",
        )
    state = getattr(getattr(error, "orig", None), "sqlstate", None)
    if state in MAY_NOT:
        return errors.LookOnlyError(
            f"You may look at {location}, but not change it.",
            hint="Ask whoever looks after the server for the right to write.",
        )
    if "locked" in reason or state == BUSY:
        return errors.LibraryError(
            f"{location} is busy: another command is writing to it.",
            hint="Wait until it has finished, then ask again.",
        )
    if "not a database" in reason or "malformed" in reason:
        return errors.LibraryError(
            f"{location} is not a laydown library, or is damaged ({reason}).",
            hint="Restore a backup, or choose another file.",
            command="laydown library restore FILE, or --db",
        )
    for words, how in ODD.items():
        if words in reason:
            return _damaged(location, how)
    return errors.LibraryError(
        f"{location} can't be used: {reason}.",
        hint="Check the path or address, your rights, and the room on the disk.",
    )
