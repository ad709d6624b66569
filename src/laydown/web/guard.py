"""Who may talk to the bench: this computer's own browser, on pages that came from here.

Three checks stand before every page. The Host must be one that the server gave itself, so that a
foreign name pointed at this computer finds nothing. A request that changes something must come
from a page of this server, by Origin and Sec-Fetch-Site (Fetch Metadata, W3C). Nothing here may be
pulled into a foreign page. And every answer carries a content policy under which the browser
fetches nothing from outside, runs no inline script and applies no inline style.

On a computer with several accounts only the browser of the one that opened the bench is answered.
Any program of any account may connect to an address of this computer, so where a connection comes
from says nothing of who made it. Each start draws a secret. The address that opens the bench
carries it to the browser, which keeps it as a cookie and sends it along with every request. The
cookie is strict: no foreign page can have the browser send it, so none can start a download or
look anything up. The address that is printed holds good as long as the bench is open. A browser
that is started by the bench is given another, good for once and a minute: what a program was
started with can be read by every account.
"""

import hmac
import secrets
import threading
import time
from collections.abc import Callable, Iterable, Mapping
from urllib.parse import parse_qs

from starlette.datastructures import Headers, MutableHeaders
from starlette.requests import HTTPConnection
from starlette.responses import HTMLResponse, JSONResponse, PlainTextResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from laydown.web.phone import FROM_PHONE, OPEN_TO_ALL
from laydown.web.running import OPENING, TICKET, cookie_name

SAFE = frozenset({"GET", "HEAD", "OPTIONS"})
POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; font-src 'self'; "
    "img-src 'self' blob: data:; connect-src 'self'; form-action 'self'; "
    "frame-ancestors 'none'; base-uri 'none'"
)
HEADERS = {
    "Content-Security-Policy": POLICY,
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "geolocation=(), microphone=(), payment=()",
}


class Guard:
    """An ASGI layer that turns strangers away and puts the policy on every answer.

    The server is known by the names ``hosts``, each ``host:port``.
    """

    def __init__(self, application: ASGIApp, *, hosts: Iterable[str]) -> None:
        self.application = application
        self.hosts = frozenset(hosts)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer a request, or refuse it in one sentence."""
        if scope["type"] != "http":
            await self.application(scope, receive, send)
            return
        told = refusal(scope["method"], Headers(scope=scope), self.hosts)
        handler = PlainTextResponse(told + "\n", status_code=403) if told else self.application
        await handler(scope, receive, _with_policy(send))


def refusal(method: str, headers: Headers, hosts: frozenset[str]) -> str:
    """Say why a request is refused, or nothing where it may pass.

    References
    ----------
    Fetch Metadata Request Headers, W3C Working Draft; RFC 6454 (Origin).

    >>> hosts = frozenset({"127.0.0.1:8017"})
    >>> refusal("GET", Headers({"host": "127.0.0.1:8017"}), hosts)
    ''
    >>> refusal("GET", Headers({"host": "elsewhere.example"}), hosts)
    'The bench does not answer to the name elsewhere.example.'
    """
    host = headers.get("host", "")
    if host not in hosts:
        return f"The bench does not answer to the name {host or '(none)'}."
    site, mode = headers.get("sec-fetch-site", "none"), headers.get("sec-fetch-mode", "")
    if site not in {"same-origin", "none"} and (method not in SAFE or mode != "navigate"):
        return "The bench answers only to its own pages."
    origin = headers.get("origin")
    if method not in SAFE and origin is not None and origin not in {f"http://{h}" for h in hosts}:
        return "The bench takes changes only from its own pages."
    return ""


def _with_policy(send: Send) -> Send:
    async def guarded(message: Message) -> None:
        if message["type"] == "http.response.start":
            headers = MutableHeaders(scope=message)
            for name, value in HEADERS.items():
                headers.setdefault(name, value)
            headers.setdefault("Cache-Control", "no-store")
        await send(message)

    return guarded


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
    """What opens a bench, by a clock that never runs backward. Any thread may call it.

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

    Opening leads to the page ``first``. What comes from the home network is passed on:
    `laydown.web.phone` knows its phone.
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
