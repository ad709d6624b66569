"""Find a bench that is open on this computer already, lead there, and ask it to close.

A bench answers only whoever has the secret of its start. It leaves that in a file in the folder of
the account's own data, which no other account can read; so a second start finds it, and no more is
needed to close it. This loads nothing of the bench itself, so that it is quick.
"""

import contextlib
import http.client
import json
import os
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

from platformdirs import user_data_path

from laydown.errors import LibraryError, NotLetInError

HERE = "127.0.0.1"
STOP = "/stop"
"""The page that tells of the bench, and closes it."""
OPENING = "/open"
"""The address that lets a browser in which brings a key."""
TICKET = "/open/ticket"
"""Where a key is had that is good for once."""
NAME = "laydown"
"""By which a bench is told from another program at its port."""
PATIENCE = 15.0
"""How long a bench may take to answer, on the first day while it is still being made ready [s]."""
MOST_BYTES = 100_000


def cookie_name(port: int | str) -> str:
    """Return what the secret of a bench is called in a browser; each port's has its own."""
    return f"bench-{port}"


def opening_address(port: int, key: str) -> str:
    """Return the address that opens the bench at a port in a browser."""
    return f"http://{HERE}:{port}{OPENING}?key={key}"


def _key_file(port: int) -> Path:
    return user_data_path("laydown", appauthor=False) / f"bench-{port}.key"


@contextlib.contextmanager
def key_left(port: int, secret: str) -> Iterator[None]:
    """Leave the secret of a bench where this account's other commands find it, while it is open.

    Where it can't be left, the bench is opened all the same, by the address that is printed.
    """
    file = _key_file(port)
    try:
        file.parent.mkdir(parents=True, exist_ok=True)
        file.unlink(missing_ok=True)
        number = os.open(file, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
        with os.fdopen(number, "w", encoding="ascii") as left:
            left.write(secret)
    except OSError:
        yield
        return
    try:
        yield
    finally:
        with contextlib.suppress(OSError):
            if file.read_text(encoding="ascii") == secret:
                file.unlink()


def address_to_open(port: int) -> str | None:
    """Return an address that opens the bench at a port, once; None where none answers us there."""
    told = _ask("POST", TICKET, port)
    try:
        found = json.loads(told or "null")
    except ValueError:
        return None
    key = found.get("ticket") if isinstance(found, dict) else None
    return opening_address(port, key) if isinstance(key, str) else None


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
    """Refuse to lead to a bench at a port that isn't the one that was asked for.

    Raises LibraryError when the library open there isn't the one wanted. Raises NotLetInError when
    it was to be opened to a phone, which can't be done any more.
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
            line.request(method, path, headers=own_cookie(port))
            answer = line.getresponse()
            content = answer.read(MOST_BYTES)
        except (OSError, http.client.HTTPException):
            return None
    return content if answer.status == http.client.OK else None


def own_cookie(port: int) -> dict[str, str]:
    """Return what lets this account's commands in at the bench at a port; nothing without one."""
    try:
        secret = _key_file(port).read_text(encoding="ascii").strip()
    except (OSError, ValueError):
        return {}
    return {"Cookie": f"{cookie_name(port)}={secret}"} if secret.isprintable() else {}
