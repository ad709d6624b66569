"""Whose browser it is: on a computer with several accounts, only the one that opened the bench.

Any program of any account may connect to an address of this computer, so where a connection comes
from says nothing of who made it. Each start draws a secret. The address that opens the bench
carries it to the browser, which keeps it as a cookie and sends it along with every request; without
it nothing is answered. The cookie is strict: no foreign page can have the browser send it, so none
can start a download or look anything up.

The address that is printed holds good as long as the bench is open. A browser that is started by
the bench is given another, good for once and a minute: what a program was started with can be read
by every account.
"""

import hmac
import secrets
import threading
import time
from collections.abc import Callable, Mapping
from urllib.parse import parse_qs

from starlette.datastructures import Headers
from starlette.requests import HTTPConnection
from starlette.responses import HTMLResponse, JSONResponse, PlainTextResponse, Response
from starlette.types import ASGIApp, Receive, Scope, Send

from laydown.web.phone import FROM_PHONE, OPEN_TO_ALL
from laydown.web.running import OPENING, TICKET, cookie_name

BYTES = 32
GOOD_FOR = 60.0
"""How long an address stands that a browser is started with [s]."""
NOT_YOURS = (
    "This bench answers only the browser that it was opened in.\n"
    "Start laydown serve once more: it leads there. Or open the address that it printed.\n"
)
GO_ON = (
    '<!doctype html><html lang="en"><meta charset="utf-8"><title>laydown</title>'
    '<meta http-equiv="refresh" content="0;url={to}"><p><a href="{to}">Go on to the bench</a></p>'
)
"""A page of our own leads on: after a click elsewhere, a redirect would come without the cookie."""

FROM_ELSEWHERE = (
    '<!doctype html><html lang="en"><meta charset="utf-8"><title>laydown</title>'
    "<p>Another page wanted to lead you into the bench, or to have it hand something over.</p>"
    '<p><a href="/">Go on to the bench</a></p>'
)
"""To a browser a page at another port of this computer, perhaps another account's, is no stranger:
it sends the cookie along. So nothing is handed over until a page of our own asks for it."""
FROM_HERE = frozenset(("same-origin", "none"))
"""What a browser says of who asks (Fetch Metadata): a page of ours, or the person."""


class Keys:
    """What opens a bench. Any thread may call it.

    Parameters
    ----------
    clock
        Tells seconds that never run backward.

    Examples
    --------
    >>> keys = Keys()
    >>> once = keys.make_ticket()
    >>> keys.takes(once), keys.takes(once), keys.takes(keys.secret), keys.takes("")
    (True, False, True, False)
    """

    def __init__(self, clock: Callable[[], float] = time.monotonic) -> None:
        self.secret = secrets.token_urlsafe(BYTES)
        self._clock = clock
        self._lock = threading.Lock()
        self._tickets: dict[str, float] = {}

    def make_ticket(self) -> str:
        """Return a key that is good for once, and not for long."""
        ticket, now = secrets.token_urlsafe(BYTES), self._clock()
        with self._lock:
            self._tickets = {t: until for t, until in self._tickets.items() if until > now}
            self._tickets[ticket] = now + GOOD_FOR
        return ticket

    def takes(self, key: str) -> bool:
        """Return whether a key opens the bench; a ticket is used up by it."""
        with self._lock:
            until = self._tickets.pop(key, None)
        return self.knows(key) or (until is not None and self._clock() < until)

    def knows(self, key: str) -> bool:
        """Return whether this is the secret of this start."""
        return hmac.compare_digest(key.encode(errors="replace"), self.secret.encode())

    def cookies(self, port: int) -> Mapping[str, str]:
        """Return what one's own browser sends along to the bench at a port."""
        return {cookie_name(port): self.secret}


class OwnBrowser:
    """An ASGI layer that answers only whoever has the key, and hands it to who opens the bench.

    What comes from the home network is passed on: `laydown.web.phone` knows its phone.

    Parameters
    ----------
    application
        What lies behind it.
    keys
        What opens the bench.
    first
        The page that opening it leads to.
    """

    def __init__(self, application: ASGIApp, *, keys: Keys, first: str) -> None:
        self.application = application
        self.keys = keys
        self.first = first

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass a request on, or answer it here."""
        answer = self._answer(scope) if scope["type"] == "http" else None
        await (answer or self.application)(scope, receive, send)

    def _answer(self, scope: Scope) -> Response | None:
        if FROM_PHONE in scope or scope["path"].startswith(OPEN_TO_ALL):
            return None
        name = cookie_name(Headers(scope=scope).get("host", "").rpartition(":")[2])
        if scope["path"] == OPENING and scope["method"] == "GET":
            return self._open(scope, name)
        if Headers(scope=scope).get("sec-fetch-site", "none") not in FROM_HERE:
            return HTMLResponse(FROM_ELSEWHERE)
        if not self.keys.knows(HTTPConnection(scope).cookies.get(name, "")):
            return PlainTextResponse(NOT_YOURS, status_code=403)
        if scope["path"] == TICKET and scope["method"] == "POST":
            return JSONResponse({"ticket": self.keys.make_ticket()})
        return None

    def _open(self, scope: Scope, name: str) -> Response:
        given = parse_qs(scope["query_string"].decode("latin-1")).get("key", [""])[0]
        if not self.keys.takes(given):
            return PlainTextResponse(NOT_YOURS, status_code=403)
        answer = HTMLResponse(GO_ON.format(to=self.first))
        answer.set_cookie(name, self.keys.secret, httponly=True, samesite="strict")
        return answer
