"""Find a bench that is open on this computer already, and ask it to close.

This loads nothing of the bench itself, so that it is quick.
"""

import http.client
import json
from contextlib import closing

from laydown.errors import LibraryError, NotLetInError

HERE = "127.0.0.1"
STOP = "/stop"
"""The page that tells of the bench, and closes it."""
NAME = "laydown"
"""By which a bench is told from another program at its port."""
PATIENCE = 15.0
"""How long a bench may take to answer, on the first day while it is still being made ready [s]."""
MOST_BYTES = 100_000


def library_open_at(port: int) -> str | None:
    """Return where the library of the bench at a port is; None where no bench answers there."""
    told = _ask("GET", f"{STOP}.json", port)
    try:
        found = json.loads(told or "null")
    except ValueError:
        return None
    if not isinstance(found, dict) or found.get("bench") != NAME:
        return None
    return str(found.get("library", ""))


def ask_to_close(port: int) -> bool:
    """Ask the bench at a port to close; return whether one was there."""
    return library_open_at(port) is not None and _ask("POST", STOP, port) is not None


def check_same(there: str, wanted: str, *, port: int, for_phone: bool) -> None:
    """Refuse to lead to a bench that isn't the one that was asked for.

    Parameters
    ----------
    there
        Where the library of the open bench is.
    wanted
        Where the one that was asked for is.
    port
        Where the open bench is.
    for_phone
        Whether it was to be opened to a phone.

    Raises
    ------
    LibraryError
        When it has another library.
    NotLetInError
        When it was to be opened to a phone, which can't be done any more.
    """
    if there != wanted:
        raise LibraryError(
            f"At port {port} a bench is open on another library, {there}.",
            hint="Close that one, or name another port.",
            command="laydown serve --stop, or --port",
        )
    if for_phone:
        raise NotLetInError(
            "The bench is open already.",
            hint="Close it first, then open it to the phone.",
            command="laydown serve --stop, then laydown serve --phone",
        )


def _ask(method: str, path: str, port: int) -> bytes | None:
    with closing(http.client.HTTPConnection(HERE, port, timeout=PATIENCE)) as line:
        try:
            line.request(method, path)
            answer = line.getresponse()
            content = answer.read(MOST_BYTES)
        except (OSError, http.client.HTTPException):
            return None
    return content if answer.status == http.client.OK else None
