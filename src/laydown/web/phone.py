"""One phone at the drawing table: how it is let in from the home network, and known again."""

import hashlib
import hmac
import ipaddress
import socket
import threading
from collections.abc import Callable

from starlette.datastructures import Headers
from starlette.requests import HTTPConnection
from starlette.responses import PlainTextResponse, RedirectResponse, Response
from starlette.types import ASGIApp, Receive, Scope, Send

from laydown.errors import NotLetInError
from laydown.web.running import HERE

# The bench shows a code, once, for a few minutes. The phone that sends it back becomes *the*
# phone: it is given a long secret, which its browser sends along with every request, and it is
# known only under the address in the home network at which it was let in. There is one phone at a
# time. A code that was used, guessed at too often or left too long opens nothing; only the person
# at the bench can have another one made.
#
# What this doesn't do: plain http hides nothing from others in the same network. Who can read
# along there can read the pages, and the secret, too.

LETTERS = "23456789ABCDEFGHJKMNPQRSTUVWXYZ"
"""Of codes: none that is mistaken for another when read off a screen (0 O, 1 I L)."""
CODE_LENGTH = 8
"""31 letters: 8.5e11 codes, against `GUESSES` guesses."""
CODE_SECONDS = 300.0
GUESSES = 5
"""Wrong guesses that a code stands; each further code takes a person at the bench."""
SECRET_BITS = 256
ANOTHER = "Have the bench show a new one."


def in_two(code: str) -> str:
    """Write a code in two halves, for reading off.

    >>> in_two("ABCD2345")
    'ABCD 2345'
    """
    half = CODE_LENGTH // 2
    return f"{code[:half]} {code[half:]}"


class Phone:
    """Who is the phone, and how one becomes it. Any thread may call it.

    `host`: what the phone calls this server, as ``address:port``. `clock`, `draw`: tells seconds
    that never run backward; draws a whole number from 0 to below its argument, unguessably
    (`secrets.randbelow`).

    >>> phone = Phone("192.168.1.20:8017", clock=lambda: 0.0, draw=lambda below: below - 1)
    >>> code = phone.make_code()
    >>> in_two(code)
    'ZZZZ ZZZZ'
    >>> secret = phone.let_in("zzzz-zzzz", address="192.168.1.33")
    >>> phone.knows(secret, address="192.168.1.33"), phone.knows(secret, address="192.168.1.34")
    (True, False)
    """

    def __init__(
        self, host: str, *, clock: Callable[[], float], draw: Callable[[int], int]
    ) -> None:
        self.host = host
        self._clock = clock
        self._draw = draw
        self._lock = threading.Lock()
        self._code = ""
        self._until = 0.0
        self._guesses = 0
        self._known: tuple[bytes, str] | None = None
        """The secret of the phone that was let in, hashed, and its address."""

    @property
    def is_paired(self) -> bool:
        """Whether a phone was let in."""
        return self._known is not None

    @property
    def code(self) -> str:
        """The code that lets a phone in now, of `CODE_LENGTH` letters; empty for none."""
        return self._code if self._clock() < self._until else ""

    @property
    def seconds_left(self) -> int:
        """How long the code still stands, in whole seconds; 0 without one."""
        return int(self._until - self._clock()) if self.code else 0

    def make_code(self) -> str:
        """Make a code; an earlier one, and the phone that was let in, are of no use any more."""
        letters = (LETTERS[self._draw(len(LETTERS))] for _ in range(CODE_LENGTH))
        with self._lock:
            self._code, self._guesses, self._known = "".join(letters), 0, None
            self._until = self._clock() + CODE_SECONDS
            return self._code

    def let_in(self, text: str, *, address: str) -> str:
        """Let a phone in by a code, in any spelling; return the secret it is known by from now on.

        Raises NotLetInError when it isn't the code, or there is none.
        """
        with self._lock:
            code = self.code
            if not code:
                raise NotLetInError(
                    "No code is good at the moment.", hint="Have the bench show a new one."
                )
            plain = "".join(text.split()).replace("-", "").upper()
            if not hmac.compare_digest(plain.encode(errors="replace"), code.encode()):
                raise self._wrong()
            secret = f"{self._draw(2**SECRET_BITS):064x}"
            self._code, self._known = "", (_digest(secret), address)
        return secret

    def knows(self, secret: str, *, address: str) -> bool:
        """Return whether a secret, sent from an address, is that of the phone."""
        known = self._known
        if known is None:
            return False
        return hmac.compare_digest(_digest(secret), known[0]) and address == known[1]

    def is_at(self, address: str) -> bool:
        """Return whether the phone was let in at an address."""
        known = self._known
        return known is not None and address == known[1]

    def forget(self) -> None:
        """Let the phone in no longer, and no code either."""
        with self._lock:
            self._code, self._known = "", None

    def _wrong(self) -> NotLetInError:
        self._guesses += 1
        left = GUESSES - self._guesses
        if left > 0:
            return NotLetInError(
                "That is not the code.", hint=f"It can be tried {left} times more."
            )
        self._code = ""
        return NotLetInError(
            f"That is not the code, and {GUESSES} wrong tries are all it stands.",
            hint="Have the bench show a new one.",
        )


def _digest(secret: str) -> bytes:
    return hashlib.sha256(secret.encode(errors="replace")).digest()


# The door to the home network: what comes in there, and what doesn't.
#
# It stands behind the guard, and only where `serve --phone` asked for it. What arrives at this
# computer's own address (loopback) passes on as ever. What arrives at the address in the home
# network must call the server by exactly that address, and must come from the phone that was let
# in; anyone else sees the page that asks for the code, and what that page is drawn with. Which of
# the two it is depends on where the connection arrived, never on what it says of itself.

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
    """An ASGI layer that lets one phone in from the home network, and nobody else."""

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
        scope[STRANGER] = not self.phone.knows(cookie_of(scope), address=address_of(scope))
        if path == PAIR or path.startswith(OPEN_TO_ALL) or not scope[STRANGER]:
            return None
        if scope["method"] in {"GET", "HEAD"}:
            return RedirectResponse(PAIR, status_code=303)
        return _no("The bench knows only the phone that was let in.")


def is_from_here(scope: Scope) -> bool:
    """Return whether a connection arrived at this computer's own, inner address.

    >>> is_from_here({"server": ("127.0.0.1", 8017)}), is_from_here({"server": ("10.0.0.5", 8017)})
    (True, False)
    """
    server = scope.get("server")
    return server is not None and server[0] == HERE


def is_at_the_bench(path: str) -> bool:
    """Return whether an address is answered at the bench only.

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


NOWHERE = ("192.0.2.1", 9)
"""An address kept for examples (RFC 5737): asking the way there sends nothing."""


def home_address() -> str:
    """Return the address that other devices in the home network reach this computer at.

    Raises NotLetInError where there is none, or it can be reached from outside the home.
    """
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as way:
        try:
            way.connect(NOWHERE)
            found = way.getsockname()[0]
        except OSError as error:
            raise NotLetInError(
                "This computer is in no network that a phone could reach it by.",
                hint="Join the home network, then start again.",
            ) from error
    return checked_address(found)


def checked_address(text: str) -> str:
    """Return an address in a home network as it is; refuse any other.

    References
    ----------
    RFC 1918 (private addresses), RFC 3927 (those that devices give themselves).

    >>> checked_address("192.168.1.20")
    '192.168.1.20'
    """
    address = ipaddress.ip_address(text)
    if not any(address in network for network in HOME):
        raise NotLetInError(
            f"This computer's address, {text}, is not one of a home network.",
            hint="The bench opens to a home network only: join one, or work without the phone.",
        )
    return text


HOME = tuple(
    ipaddress.ip_network(network)
    for network in ("10.0.0.0/8", "172.16.0.0/12", "192.168.0.0/16", "169.254.0.0/16")
)
