"""The door to the home network: what comes in there, and what doesn't.

It stands behind the guard, and only where `serve --phone` asked for it. What arrives at this
computer's own address (loopback) passes on as ever. What arrives at the address in the home network
must call the server by exactly that address, and must come from the phone that was let in; anyone
else sees the page that asks for the code, and what that page is drawn with. Which of the two it is
depends on where the connection arrived, never on what it says of itself.
"""

from starlette.datastructures import Headers
from starlette.requests import HTTPConnection
from starlette.responses import PlainTextResponse, RedirectResponse, Response
from starlette.types import ASGIApp, Receive, Scope, Send

from laydown.web.phone import Phone
from laydown.web.running import HERE

COOKIE = "phone"
PAIR = "/pair"
OPEN_TO_ALL = "/static/"
AT_THE_BENCH = ("/phone", "/stop", "/history/restore")
"""Addresses that only this computer's own browser is answered at."""
FROM_PHONE = "laydown.from_phone"
"""In the scope of a request: whether it came from the home network."""
STRANGER = "laydown.stranger"
"""In the scope of a request: whether it came from there, and not from the phone."""
WRONG_NAME = "The bench does not answer to that name here."


class PhoneDoor:
    """An ASGI layer that lets one phone in from the home network, and nobody else.

    Parameters
    ----------
    application
        What lies behind it.
    phone
        Who is let in.
    """

    def __init__(self, application: ASGIApp, *, phone: Phone) -> None:
        self.application = application
        self.phone = phone

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass a request on, or answer it here."""
        if scope["type"] == "websocket":  # the bench has none
            await send({"type": "websocket.close", "code": 1008})
            return
        answer = self._turned_away(scope) if scope["type"] == "http" else None
        await (answer or self.application)(scope, receive, send)

    def _turned_away(self, scope: Scope) -> Response | None:
        headers, path = Headers(scope=scope), scope["path"]
        names = {headers.get("host", ""), headers.get("origin", "").removeprefix("http://")} - {""}
        if is_from_here(scope):
            return _no(WRONG_NAME) if self.phone.host in names else None
        if names != {self.phone.host}:
            return _no(WRONG_NAME)
        scope[FROM_PHONE] = True
        if is_at_the_bench(path):
            return _no("This is answered at the bench itself only.")
        scope[STRANGER] = not self._is_the_phone(scope)
        if path == PAIR or path.startswith(OPEN_TO_ALL) or not scope[STRANGER]:
            return None
        if scope["method"] in {"GET", "HEAD"}:
            return RedirectResponse(PAIR, status_code=303)
        return _no("The bench knows only the phone that was let in.")

    def _is_the_phone(self, scope: Scope) -> bool:
        return self.phone.knows(cookie_of(scope), address=address_of(scope))


def is_from_here(scope: Scope) -> bool:
    """Return whether a connection arrived at this computer's own, inner address.

    Examples
    --------
    >>> is_from_here({"server": ("127.0.0.1", 8017)}), is_from_here({"server": ("10.0.0.5", 8017)})
    (True, False)
    """
    server = scope.get("server")
    return server is not None and server[0] == HERE


def is_at_the_bench(path: str) -> bool:
    """Return whether an address is answered at the bench only.

    Examples
    --------
    >>> is_at_the_bench("/phone/code"), is_at_the_bench("/phone.json"), is_at_the_bench("/phones")
    (True, True, False)
    """
    return any(path == own or path.startswith((f"{own}/", f"{own}.")) for own in AT_THE_BENCH)


def address_of(scope: Scope) -> str:
    """Return the address that a request came from; empty where it isn't known."""
    client = scope.get("client")
    return str(client[0]) if client else ""


def cookie_of(scope: Scope) -> str:
    """Return the secret that a request brings along; empty without one."""
    return HTTPConnection(scope).cookies.get(COOKIE, "")


def _no(sentence: str) -> PlainTextResponse:
    return PlainTextResponse(sentence + "\n", status_code=403)
