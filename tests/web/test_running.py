"""The bench as a person starts and closes it: real processes, and what the shortcuts hold."""

import os
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from http.server import BaseHTTPRequestHandler, HTTPServer
from pathlib import Path

import pytest

from laydown.errors import LaydownError, LibraryError, NotLetInError
from laydown.web.running import ask_to_close, check_same, library_open_at
from laydown.web.serving import bind

PATIENCE = 600.0
"""How long a busy computer may take to open a bench or to close it [s]."""


def silent() -> dict[str, str]:
    """Return an environment in which the browser is a program that does nothing."""
    return {**os.environ, "BROWSER": "true"}


def free_port() -> int:
    """Return a port that nobody listens at."""
    with socket.socket() as listener:
        listener.bind(("127.0.0.1", 0))
        return int(listener.getsockname()[1])


def run(*words: str) -> "subprocess.CompletedProcess[str]":
    """Run a command to its end."""
    return subprocess.run(
        words, env=silent(), capture_output=True, text=True, timeout=PATIENCE, check=True
    )


def laydown(*words: str) -> "subprocess.CompletedProcess[str]":
    """Run laydown to its end."""
    return run(sys.executable, "-m", "laydown", *words)


def until_open(port: int) -> str:
    """Wait until a bench is open at a port, and return where its library is."""
    last = time.monotonic() + PATIENCE
    while (found := library_open_at(port)) is None:
        assert time.monotonic() < last
        time.sleep(0.1)
    return found


@pytest.mark.skipif(sys.platform != "linux", reason="runs the shortcuts of Linux")
def test_the_shortcuts_open_and_close_the_bench(tmp_path: Path) -> None:
    """What a double-click runs opens the bench, a second one leads there, the other closes it."""
    port, place = free_port(), str(tmp_path / "library.db")
    laydown("serve", "--shortcut", str(tmp_path), "--port", str(port), "--db", place)
    opening, closing = (
        _command_in(tmp_path / f"{name}.desktop")
        for name in ("Open the bench", "Put the pencils away")
    )
    with subprocess.Popen(opening, env=silent(), stderr=subprocess.PIPE, text=True) as bench:
        assert until_open(port) == place
        assert "The bench is open already" in run(*opening).stderr
        assert run(*closing).stderr == "The pencils are put away.\n"
        told = bench.communicate(timeout=PATIENCE)[1]
    assert bench.returncode == 0
    assert f"http://127.0.0.1:{port}/open?key=" in told
    assert "Traceback" not in told
    assert run(*closing).stderr == f"No bench is open at port {port}.\n"


def _command_in(entry: Path) -> list[str]:
    """Return the words of a desktop entry's command; these have no signs that need care."""
    assert os.access(entry, os.X_OK)
    (line,) = (li for li in entry.read_text("utf-8").splitlines() if li.startswith("Exec="))
    return line.removeprefix('Exec="').removesuffix('"').split('" "')


def test_a_bench_on_another_library_is_not_taken_for_this_one(tmp_path: Path) -> None:
    """It is named, with the way out; a phone can't be let in afterwards either."""
    here = str(tmp_path / "a.db")
    check_same(here, here, port=8017, for_phone=False)
    with pytest.raises(LibraryError, match=r"another library, .*b\.db"):
        check_same(str(tmp_path / "b.db"), here, port=8017, for_phone=False)
    with pytest.raises(NotLetInError, match="open already"):
        check_same(here, here, port=8017, for_phone=True)


class _Stranger(BaseHTTPRequestHandler):
    """A program of someone else's that happens to listen."""

    told = b"{}"

    def do_GET(self) -> None:
        """Answer anything with the same."""
        self.send_response(200)
        self.end_headers()
        self.wfile.write(self.told)

    def log_request(self, *_: object) -> None:
        """Say nothing."""


@pytest.fixture
def stranger() -> Iterator[int]:
    """Give the port of a program that is no bench."""
    with HTTPServer(("127.0.0.1", 0), _Stranger) as server:
        thread = threading.Thread(target=server.serve_forever, args=(0.01,))
        thread.start()
        yield server.server_port
        server.shutdown()
        thread.join()


@pytest.mark.parametrize("told", [b"", b"{}", b"[1]", b"\xff", b'{"bench": "other"}', b"<html>"])
def test_a_program_that_is_no_bench_is_left_alone(
    stranger: int, monkeypatch: pytest.MonkeyPatch, told: bytes
) -> None:
    """Whatever answers at the port, only a bench is led to or closed."""
    monkeypatch.setattr(_Stranger, "told", told)
    assert library_open_at(stranger) is None
    assert not ask_to_close(stranger)


def test_where_nobody_listens_no_bench_is_open() -> None:
    """It is an answer, not an error."""
    assert library_open_at(free_port()) is None


def test_what_is_sent_goes_at_once() -> None:
    """The socket says that it is TCP, so that asyncio doesn't let the last bytes of a page wait."""
    listener = bind(0)
    with listener:
        assert listener.proto == socket.IPPROTO_TCP


def test_a_port_that_is_taken_takes_whoever_comes_before_the_bench_is_served() -> None:
    """A browser that comes early waits and isn't refused; a second bench is."""
    with bind(0) as listener:
        host, port = listener.getsockname()
        socket.create_connection((host, port), timeout=PATIENCE).close()
        with pytest.raises(LaydownError, match=f"Port {port} can't be used"):
            bind(port)
