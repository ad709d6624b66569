"""Real connections to a served bench: how many there may be, how slow, how much they may bring.

The bench listens twice, at 127.0.0.1 as for its own browser and at 127.0.0.2 as for a phone; who
is who in the home network is an address from 127.0.0.3 on.
"""

import http.client
import logging
import random
import socket
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import ExitStack, suppress
from dataclasses import dataclass
from typing import cast

import pytest
import uvicorn
from fastapi import FastAPI

from laydown.web.connections import BoundedConnection, Bounds
from laydown.web.desk import Desk, open_desk
from laydown.web.guard import Keys
from laydown.web.phone import Phone
from laydown.web.running import ask_to_close, library_open_at
from laydown.web.serving import Once, bind, create_application, names_of, server_of

pytestmark = [
    pytest.mark.long,
    pytest.mark.skipif(
        sys.platform == "darwin", reason="it has no second address of its own, unless told to"
    ),
]
OUTSIDE, PHONE, NEIGHBOR, OTHER = "127.0.0.2", "127.0.0.3", "127.0.0.4", "127.0.0.5"
PATIENCE = 60.0
UPLOAD = (
    b"--x\r\nContent-Disposition: form-data; name=code; filename=a.jpg\r\n"
    b"Content-Type: image/jpeg\r\n\r\n"
)


@dataclass(frozen=True, slots=True)
class Served:
    """A bench that answers at two addresses."""

    server: uvicorn.Server
    phone: Phone
    keys: Keys
    port: int
    closing: ExitStack

    def connect(self, *, to: str = OUTSIDE, source: str = NEIGHBOR) -> socket.socket:
        """Connect from an address."""
        line = socket.create_connection((to, self.port), PATIENCE, source_address=(source, 0))
        return self.closing.enter_context(line)

    def own(self) -> socket.socket:
        """Connect as this computer's own browser."""
        return self.connect(to="127.0.0.1", source="127.0.0.1")

    def head(self, path: str, *fields: str, method: str = "GET", to: str = OUTSIDE) -> bytes:
        """Return the head of a request."""
        if to == "127.0.0.1":
            fields += tuple(f"Cookie: {n}={v}" for n, v in self.keys.cookies(self.port).items())
        lines = (f"{method} {path} HTTP/1.1", f"Host: {to}:{self.port}", *fields, "", "")
        return "\r\n".join(lines).encode()

    def statuses(self, times: int) -> list[int]:
        """Ask as this computer's own browser, each time over a connection of its own."""
        return [
            status_of(self.own(), self.head("/stop.json", to="127.0.0.1")) for _ in range(times)
        ]

    def pair(self, source: str = PHONE) -> str:
        """Let the phone in, and return the head field that it is known by."""
        return f"Cookie: phone={self.phone.let_in(self.phone.make_code(), address=source)}"

    @property
    def connections(self) -> list[BoundedConnection]:
        """The connections there are."""
        return cast("list[BoundedConnection]", list(self.server.server_state.connections))


def status_of(line: socket.socket, sent: bytes) -> int:
    """Send something, and return the status of the answer."""
    line.sendall(sent)
    answer = http.client.HTTPResponse(line)
    answer.begin()
    answer.read()
    return answer.status


def is_closed(line: socket.socket) -> bool:
    """Wait until the other side says something more; return whether that is the end."""
    try:
        while line.recv(100_000):
            pass
    except ConnectionError:
        pass
    return True


def can_send(line: socket.socket, sent: bytes) -> bool:
    """Send something, and return whether the other side still takes it."""
    try:
        line.sendall(sent)
    except ConnectionError:
        return False
    return True


def until(true: Callable[[], bool]) -> None:
    """Wait until something is true."""
    end = time.monotonic() + PATIENCE
    while not true():
        assert time.monotonic() < end, "it never came true"
        time.sleep(0.01)


@pytest.fixture
def bounds(request: pytest.FixtureRequest) -> Bounds:
    """Return bounds that no connection of a test meets by chance."""
    given: Bounds = getattr(request, "param", Bounds(patience=3600.0))
    return given


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Desk]:
    """Give a bench that is open to a phone, once for all."""
    with bind(0) as free:
        port = free.getsockname()[1]
    phone = Phone(f"{OUTSIDE}:{port}", clock=lambda: 0.0, draw=random.Random(8).randrange)
    location = str(tmp_path_factory.mktemp("bench") / "library.db")
    with open_desk(location, hosts=names_of(port), phone=phone) as opened:
        yield opened


@pytest.fixture(scope="module")
def application(desk: Desk) -> FastAPI:
    """Return the application of that bench."""
    return create_application(desk)


@pytest.fixture
def served(desk: Desk, application: FastAPI, bounds: Bounds) -> Iterator[Served]:
    """Serve that bench at both addresses, with no phone let in."""
    assert desk.phone is not None
    desk.phone.forget()
    port = int(desk.phone.host.rpartition(":")[2])
    server = server_of(application, desk, bounds)
    with bind(port) as own, bind(port, OUTSIDE) as outside, ExitStack() as lines:
        sockets = {"sockets": [own, outside]}
        thread = threading.Thread(target=server.run, kwargs=sockets, daemon=True)
        thread.start()
        until(lambda: server.started)
        yield Served(server, desk.phone, desk.keys, port, lines)
        lines.close()
        server.should_exit = True
        thread.join(PATIENCE)
        assert not thread.is_alive()


FEW = Bounds(each=3, strangers=5, patience=3600.0)


@pytest.mark.parametrize("bounds", [FEW], indirect=True)
def test_those_beyond_the_bound_are_turned_away(served: Served) -> None:
    """Of one address so many, of all so many; this computer's own browser is always answered."""
    mine = [served.connect(source=NEIGHBOR) for _ in range(4)]
    assert is_closed(mine.pop())
    others = [served.connect(source=OTHER) for _ in range(3)]
    assert is_closed(others.pop())
    assert served.statuses(10) == [200] * 10
    ask = served.head("/pair")
    assert [status_of(line, ask) for line in mine + others] == [200] * 5


@pytest.mark.parametrize("bounds", [FEW], indirect=True)
def test_who_hangs_up_makes_room(served: Served) -> None:
    """A place is free again once its connection is gone."""
    mine = [served.connect() for _ in range(3)]
    until(lambda: len(served.connections) == 3)
    mine[0].close()
    until(lambda: len(served.connections) == 2)
    assert status_of(served.connect(), served.head("/pair")) == 200


@pytest.mark.parametrize("bounds", [FEW], indirect=True)
def test_strangers_leave_room_for_the_phone(served: Served) -> None:
    """The one that was let in is answered, however many others there are."""
    cookie = served.pair()
    strangers = [served.connect(source=f"127.0.0.{n}") for n in range(10, 16)]
    assert is_closed(strangers.pop())
    assert status_of(served.connect(source=PHONE), served.head("/kits", cookie)) == 200


SHORT = Bounds(patience=0.05)


@pytest.mark.parametrize("bounds", [SHORT], indirect=True)
@pytest.mark.parametrize("own", [True, False])
@pytest.mark.parametrize("sent", [b"", b"GET /pair HT", b"GET /pair HTTP/1.1\r\nX: y\r\n"])
def test_who_never_finishes_asking_is_cut_off(served: Served, sent: bytes, own: bool) -> None:
    """Silence and half a head hold no connection, not this computer's own either."""
    line = served.own() if own else served.connect()
    line.sendall(sent)
    assert is_closed(line)


@pytest.mark.parametrize("bounds", [SHORT], indirect=True)
@pytest.mark.parametrize("own", [True, False])
def test_a_head_that_trickles_in_is_cut_off(served: Served, own: bool) -> None:
    """A byte now and then doesn't make a request."""
    line = served.own() if own else served.connect()
    line.sendall(b"GET /pair HTTP/1.1\r\nX: ")
    until(lambda: not can_send(line, b"y"))


@pytest.mark.parametrize("bounds", [SHORT], indirect=True)
@pytest.mark.parametrize("own", [True, False])
def test_a_body_that_never_ends_is_cut_off(served: Served, own: bool) -> None:
    """What was said to come and doesn't is waited for in vain."""
    line = served.own() if own else served.connect()
    to, path = ("127.0.0.1", "/kits") if own else (OUTSIDE, "/pair")
    form = ("Content-Type: application/x-www-form-urlencoded", "Content-Length: 99")
    line.sendall(served.head(path, *form, method="POST", to=to) + b"code=")
    assert is_closed(line)


@pytest.mark.parametrize("bounds", [SHORT], indirect=True)
@pytest.mark.parametrize("own", [True, False])
def test_who_never_takes_the_answers_is_cut_off(served: Served, own: bool) -> None:
    """Pages are not kept for somebody who asks and asks and reads nothing."""
    line = served.own() if own else served.connect()
    ask = served.head("/static/laydown.css", to="127.0.0.1" if own else OUTSIDE)
    line.settimeout(0.01)
    try:
        for _ in range(5000):
            line.sendall(ask)
    except (TimeoutError, ConnectionError):
        pass
    until(lambda: not served.connections)


def test_the_phone_is_waited_for_while_it_moves(served: Served) -> None:
    """A photograph may take its time from a slow network; only one that stands still is cut off."""
    cookie, line = served.pair(), served.connect(source=PHONE)
    form = ("Content-Type: multipart/form-data; boundary=x", "Content-Length: 100000")
    line.sendall(served.head("/pictures", cookie, *form, method="POST") + UPLOAD)
    until(lambda: any(one.received for one in served.connections))
    (connection,) = served.connections
    look = connection.loop.call_soon_threadsafe
    for _ in range(5):
        received = connection.received
        line.sendall(b"y" * 100)
        until(lambda: connection.received == received + 100)  # noqa: B023  waited for at once
        look(connection.look)
    until(lambda: connection.looks == 5)
    assert served.connections == [connection]
    look(connection.look)
    assert is_closed(line)


def refused(served: Served, *fields: str, sent: bytes, path: str = "/pair") -> int:
    """Begin to send something as a stranger, without an end; return the status of the answer."""
    line = served.connect()
    status = status_of(line, served.head(path, *fields, method="POST") + sent)
    assert is_closed(line)
    return status


@pytest.fixture
def on_disk(monkeypatch: pytest.MonkeyPatch) -> list[object]:
    """Note every file that leaves the memory for the disk."""
    noted: list[object] = []
    monkeypatch.setattr(tempfile._TemporaryFileWrapper, "__init__", noted.append)  # type: ignore[attr-defined]
    monkeypatch.setattr(tempfile.SpooledTemporaryFile, "rollover", noted.append)
    return noted


@pytest.mark.parametrize(
    "kind", ["multipart/form-data; boundary=x", "application/x-www-form-urlencoded"]
)
@pytest.mark.parametrize(
    ("length", "before"),
    [("Content-Length: 100000000", b""), ("Transfer-Encoding: chunked", b"186a0\r\n")],
)
def test_nothing_is_taken_in_from_a_stranger(
    served: Served, on_disk: list[object], kind: str, length: str, before: bytes
) -> None:
    """An upload to the page for the code is refused while it comes in, and nothing is kept."""
    sent = before + UPLOAD + b"y" * 2000
    assert refused(served, f"Content-Type: {kind}", length, sent=sent) == 413
    assert on_disk == []


def test_a_stranger_is_not_listened_to_elsewhere(served: Served) -> None:
    """Where nothing is asked for, what is sent ends with the answer."""
    length = "Content-Length: 100000000"
    assert refused(served, length, sent=b"y" * 2000, path="/kits") == 403
    assert refused(served, length, sent=b"y" * 2000, path="/static/laydown.css") == 405


def test_a_strangers_head_is_short(served: Served) -> None:
    """One that goes on beyond eight thousand bytes is refused; our own browser's may go on."""
    long = f"X: {'y' * 10_000}"
    assert status_of(served.connect(), served.head("/pair", long)[:-4]) == 400
    own = served.own()
    own.sendall(served.head("/stop.json", long, to="127.0.0.1")[:-4])
    until(lambda: any(one.received for one in served.connections))
    assert status_of(own, b"\r\n\r\n") == 200


def test_the_code_still_comes_in(served: Served) -> None:
    """The form for the code is short enough for a stranger, who then is the phone."""
    code = served.phone.make_code()
    form = ("Content-Type: application/x-www-form-urlencoded", "Content-Length: 13")
    sent = served.head("/pair", *form, method="POST") + f"code={code}".encode()
    assert status_of(served.connect(source=PHONE), sent) == 303
    assert served.phone.is_paired


UNDER_A_LIMIT = f"""
import resource, sys
resource.setrlimit(resource.RLIMIT_NOFILE, (160, 160))
from laydown.web import serving
serving.home_address = lambda: {OUTSIDE!r}
serving._get_ready = lambda: None
serving.serve(sys.argv[1], port=int(sys.argv[2]), browser=False, for_phone=True, say=print)
"""


@pytest.mark.skipif(sys.platform != "linux", reason="only there a program limits its own files so")
def test_a_crowd_leaves_files_to_open(location: str) -> None:
    """As the bench is started, hundreds who connect and say nothing shut nobody out."""
    with bind(0) as free:
        port = free.getsockname()[1]
    command = [sys.executable, "-c", UNDER_A_LIMIT, location, str(port)]
    with (
        subprocess.Popen(command, stderr=subprocess.PIPE, text=True) as bench,
        ExitStack() as lines,
    ):
        lines.callback(bench.kill)
        until(lambda: library_open_at(port) is not None)
        with suppress(TimeoutError):  # where no more are taken
            for number in range(200):
                line = lines.enter_context(socket.socket())
                line.settimeout(2.0)
                line.bind((f"127.0.0.{3 + number % 100}", 0))
                line.connect((OUTSIDE, port))
        assert all(library_open_at(port) == location for _ in range(10))
        assert ask_to_close(port)
        told = bench.communicate(timeout=PATIENCE)[1]
    assert told == ""


def test_a_fault_is_said_once(caplog: pytest.LogCaptureFixture) -> None:
    """The same one over and over fills no log; another is said."""
    log = logging.getLogger("laydown.test")
    log.addFilter(Once())
    for number in (24, 24, 23, 24):
        log.error("It failed.", exc_info=OSError(number, "no more"))
    log.error("It failed.")
    assert len(caplog.records) == 3
