"""Find a bench that is open on this computer already, and ask it to close."""

import http.client
import json
from contextlib import closing

from laydown.web.pages.closing import NAME, STOP
from laydown.web.serving import HERE

PATIENCE = 3.0
"""How long a bench may take to answer [s]."""
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


def _ask(method: str, path: str, port: int) -> bytes | None:
    with closing(http.client.HTTPConnection(HERE, port, timeout=PATIENCE)) as line:
        try:
            line.request(method, path)
            answer = line.getresponse()
            content = answer.read(MOST_BYTES)
        except (OSError, http.client.HTTPException):
            return None
    return content if answer.status == http.client.OK else None
