"""One phone at the drawing table: how it is let in, and known again.

The bench shows a code, once, for a few minutes. The phone that sends it back becomes *the* phone:
it is given a long secret, which its browser sends along with every request, and it is known only
under the address in the home network at which it was let in. There is one phone at a time. A code
that was used, guessed at too often or left too long opens nothing; only the person at the bench can
have another one made.

What this doesn't do: plain http hides nothing from others in the same network. Who can read along
there can read the pages, and the secret, too.
"""

import hashlib
import hmac
import threading
from collections.abc import Callable
from dataclasses import dataclass

from laydown.errors import NotLetInError

LETTERS = "23456789ABCDEFGHJKMNPQRSTUVWXYZ"
"""Of codes: none that is mistaken for another when read off a screen (0 O, 1 I L)."""
CODE_LENGTH = 8
"""31 letters: 8.5e11 codes, against `GUESSES` guesses."""
CODE_SECONDS = 300.0
GUESSES = 5
"""Wrong guesses that a code stands; each further code takes a person at the bench."""
SECRET_BITS = 256


@dataclass(frozen=True, slots=True)
class Code:
    """A code that lets one phone in, once.

    Parameters
    ----------
    text
        Of `CODE_LENGTH` letters.
    until
        When it is of no use any more, on the clock of its maker [s].
    """

    text: str
    until: float

    def in_two(self) -> str:
        """Write it in two halves, for reading off.

        Examples
        --------
        >>> Code("ABCD2345", 0).in_two()
        'ABCD 2345'
        """
        half = CODE_LENGTH // 2
        return f"{self.text[:half]} {self.text[half:]}"


@dataclass(frozen=True, slots=True)
class _Known:
    """The phone that was let in: its secret, hashed, and its address."""

    secret: bytes
    address: str


class Phone:
    """Who is the phone, and how one becomes it. Any thread may call it.

    Parameters
    ----------
    host
        What the phone calls this server, as ``address:port``.
    clock
        Tells seconds that never run backward.
    draw
        Draws a whole number from 0 to below its argument, unguessably (`secrets.randbelow`).

    Examples
    --------
    >>> phone = Phone("192.168.1.20:8017", clock=lambda: 0.0, draw=lambda below: below - 1)
    >>> code = phone.make_code()
    >>> code.in_two()
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
        self._code: Code | None = None
        self._guesses = 0
        self._known: _Known | None = None

    @property
    def is_paired(self) -> bool:
        """Whether a phone was let in."""
        return self._known is not None

    @property
    def code(self) -> Code | None:
        """The code that lets a phone in now, or None."""
        code = self._code
        return code if code and self._clock() < code.until else None

    @property
    def seconds_left(self) -> int:
        """How long the code still stands, in whole seconds; 0 without one."""
        code = self.code
        return int(code.until - self._clock()) if code else 0

    def make_code(self) -> Code:
        """Make a code; an earlier one, and the phone that was let in, are of no use any more."""
        letters = (LETTERS[self._draw(len(LETTERS))] for _ in range(CODE_LENGTH))
        code = Code("".join(letters), self._clock() + CODE_SECONDS)
        with self._lock:
            self._code, self._guesses, self._known = code, 0, None
        return code

    def let_in(self, text: str, *, address: str) -> str:
        """Let a phone in by a code; return the secret that it is known by from now on.

        Parameters
        ----------
        text
            What was sent as the code, in any spelling.
        address
            Where it was sent from.

        Raises
        ------
        NotLetInError
            When it isn't the code, or there is none.
        """
        with self._lock:
            code = self.code
            if code is None:
                raise NotLetInError(
                    "No code is good at the moment.",
                    hint="Have the bench show a new one.",
                )
            if not hmac.compare_digest(_plain(text), code.text.encode()):
                raise self._wrong()
            secret = f"{self._draw(2**SECRET_BITS):064x}"
            self._code, self._known = None, _Known(_digest(secret), address)
        return secret

    def knows(self, secret: str, *, address: str) -> bool:
        """Return whether a secret, sent from an address, is that of the phone."""
        known = self._known
        if known is None:
            return False
        return hmac.compare_digest(_digest(secret), known.secret) and address == known.address

    def is_at(self, address: str) -> bool:
        """Return whether the phone was let in at an address."""
        known = self._known
        return known is not None and address == known.address

    def forget(self) -> None:
        """Let the phone in no longer, and no code either."""
        with self._lock:
            self._code, self._known = None, None

    def _wrong(self) -> NotLetInError:
        self._guesses += 1
        left = GUESSES - self._guesses
        if left > 0:
            return NotLetInError(
                "That is not the code.",
                hint=f"It can be tried {left} times more.",
            )
        self._code = None
        return NotLetInError(
            f"That is not the code, and {GUESSES} wrong tries are all it stands.",
            hint="Have the bench show a new one.",
        )


def _plain(text: str) -> bytes:
    return "".join(text.split()).replace("-", "").upper().encode(errors="replace")


def _digest(secret: str) -> bytes:
    return hashlib.sha256(secret.encode(errors="replace")).digest()
