"""Who may talk to the bench: this computer's own browser, on pages that came from here.

Three checks stand before every page. The Host must be one that the server gave itself, so that a
foreign name pointed at this computer finds nothing. A request that changes something must come
from a page of this server, by Origin and Sec-Fetch-Site (Fetch Metadata, W3C). Nothing here may be
pulled into a foreign page. And every answer carries a content policy under which the browser
fetches nothing from outside, runs no inline script and applies no inline style.
"""

from collections.abc import Iterable

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import PlainTextResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send

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

    Parameters
    ----------
    application
        What is guarded.
    hosts
        Names of this server as ``host:port``.
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

    Parameters
    ----------
    method
        Of the request.
    headers
        Of the request.
    hosts
        Names of this server as ``host:port``.

    References
    ----------
    Fetch Metadata Request Headers, W3C Working Draft; RFC 6454 (Origin).

    Examples
    --------
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
