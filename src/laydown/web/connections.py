"""Connections to the bench: how many there may be, how long each may dawdle, how much a head is.

uvicorn takes whatever connects and waits for it as long as it likes. In a home network anybody may
connect, so each connection is counted by where it comes from, before anything is read of it, and
looked at from time to time: one that stands still is cut off, and a stranger's in any case. This
computer's own browser has a door and room of its own, and the phone that was let in has room
that no stranger takes.
"""

import asyncio
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import h11
from uvicorn import Config
from uvicorn.protocols.http.h11_impl import H11Protocol
from uvicorn.server import ServerState

from laydown.web.phone import is_from_here

OWN = ""
"""Stands for the address of all connections that arrived at this computer's own, inner one."""


@dataclass(frozen=True, slots=True)
class Bounds:
    """How many connections there may be, and how long one may stand still.

    All of them, and those that are being turned away, are far fewer than the 256 files that some
    system lets a program have open.
    """

    own: int = 48
    """Connections of this computer's own browser; browsers open six to one address."""
    each: int = 12
    """Connections of the phone, and of any other address in the home network."""
    strangers: int = 36
    """Connections of all addresses in the home network but the phone's."""
    head: int = 8_000
    """Bytes of the head of a stranger's request; a browser's is a tenth of it."""
    patience: float = 30.0
    """After which a connection is looked at, again and again [s]."""


class RoomForConnections:
    """Who is connected, and whether there is room for one more.

    >>> few = Bounds(each=1, strangers=2)
    >>> room = RoomForConnections(few, is_phone=lambda address: address == "10.0.0.9")
    >>> [room.enter(address) for address in ("10.0.0.1", "10.0.0.1", "10.0.0.2", "10.0.0.3")]
    [True, False, True, False]
    >>> room.enter("10.0.0.9"), room.enter(OWN)
    (True, True)
    """

    def __init__(self, bounds: Bounds, *, is_phone: Callable[[str], bool]) -> None:
        self.bounds = bounds
        self._is_phone = is_phone
        self._here: Counter[str] = Counter()

    def knows(self, address: str) -> bool:
        """Return whether an address is this computer's own or the phone's."""
        return address == OWN or self._is_phone(address)

    def enter(self, address: str) -> bool:
        """Take a connection in from an address, if there is room."""
        most = self.bounds.own if address == OWN else self.bounds.each
        strangers = sum(count for one, count in self._here.items() if not self.knows(one))
        is_free = self.knows(address) or strangers < self.bounds.strangers
        if not is_free or self._here[address] >= most:
            return False
        self._here[address] += 1
        return True

    def leave(self, address: str) -> None:
        """Let a connection go that was taken in."""
        self._here -= Counter([address])


class BoundedConnection(H11Protocol):
    """A connection that is counted in a room for all, and cut off when it stands still."""

    def __init__(
        self,
        config: Config,
        server_state: ServerState,
        app_state: dict[str, Any],
        _loop: asyncio.AbstractEventLoop | None = None,
        *,
        room: RoomForConnections,
    ) -> None:
        super().__init__(config, server_state, app_state, _loop)
        self.room = room
        self.address = OWN
        self.received = 0
        self.looks = 0
        self._is_in = False
        self._stood: object = None
        self._next_look: asyncio.TimerHandle | None = None

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
        """Take a connection in, or turn it away before anything is read of it."""
        super().connection_made(transport)
        if not is_from_here({"server": self.server}):
            self.address = self.client[0] if self.client else "unknown"
        self._is_in = self.room.enter(self.address)
        if not self._is_in:
            transport.abort()
            return
        if not self.room.knows(self.address):
            self.conn = h11.Connection(h11.SERVER, self.room.bounds.head)
        self._look_later()

    def connection_lost(self, exc: Exception | None) -> None:
        """Make room."""
        super().connection_lost(exc)
        if self._next_look is not None:
            self._next_look.cancel()
        if self._is_in:
            self._is_in = False
            self.room.leave(self.address)

    def data_received(self, data: bytes) -> None:
        """Count what comes in."""
        self.received += len(data)
        super().data_received(data)

    def on_response_complete(self) -> None:
        """End a stranger's connection with an answer that came before all was sent.

        uvicorn would go on taking in the rest, however much, only to throw it away.
        """
        if self.conn.their_state is h11.SEND_BODY and not self.room.knows(self.address):
            self.transport.close()
        super().on_response_complete()

    def look(self) -> None:
        """Cut the connection off, unless it moved since the last look or the bench is at work."""
        self.looks += 1
        stands = self._stands()
        moved = stands != self._stood and self.room.knows(self.address)
        self._stood = stands
        if moved or self._is_answered():
            self._look_later()
        else:
            self.transport.abort()

    def _look_later(self) -> None:
        if self._next_look is not None:
            self._next_look.cancel()
        self._next_look = self.loop.call_later(self.room.bounds.patience, self.look)

    def _stands(self) -> object:
        """Return what changes while a connection moves; half a head that grows doesn't."""
        received = None if self.conn.their_state is h11.IDLE else self.received
        return self.cycle, received, self.transport.get_write_buffer_size()

    def _is_answered(self) -> bool:
        """Return whether a connection waits for the bench, and not the bench for it."""
        cycle = self.cycle
        if cycle is None or cycle.response_complete or self.transport.get_write_buffer_size():
            return False
        return not cycle.more_body or self.flow.read_paused
