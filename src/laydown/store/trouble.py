"""What a database says when something is wrong, put so that a user can act on it."""

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager

from sqlalchemy.exc import DBAPIError, IntegrityError

from laydown.errors import LibraryError


@contextmanager
def plainly(location: str) -> Iterator[None]:
    """Turn the errors of a database into `LibraryError`.

    Parameters
    ----------
    location
        Of the library, for the message.
    """
    try:
        yield
    except DBAPIError as error:
        raise _translated(error, location, str(error.orig)) from error
    except sqlite3.Error as error:
        raise _translated(error, location, str(error)) from error


def _translated(error: Exception, location: str, said: str) -> LibraryError:
    reason = (said.strip() or "no reason given").splitlines()[0]
    if isinstance(error, IntegrityError):
        return LibraryError(
            f"Another command changed {location} at the same moment ({reason}).",
            hint="Nothing of what you asked for was kept; ask again.",
        )
    if "locked" in reason:
        return LibraryError(
            f"{location} is busy: another command is writing to it.",
            hint="Wait until it has finished, then ask again.",
        )
    if "not a database" in reason or "malformed" in reason:
        return LibraryError(
            f"{location} is not a laydown library, or is damaged ({reason}).",
            hint="Restore a backup, or choose another file.",
            command="--db",
        )
    return LibraryError(
        f"{location} can't be used: {reason}.",
        hint="Check the path or address, your rights, and the room on the disk.",
    )
