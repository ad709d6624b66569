"""A double click: the bench with or without a file, and what went wrong told where one sees it."""

import sys
import webbrowser
from collections.abc import Sequence
from io import StringIO
from pathlib import Path
from typing import Any

import pytest

from laydown.cli.main import door
from laydown.cli.serve import PORTS, is_double_click, run_from_desktop
from laydown.errors import LaydownError


class Terminal(StringIO):
    """A stream that somebody watches."""

    def isatty(self) -> bool:
        """Somebody does."""
        return True


PIPES = (StringIO(), StringIO(), StringIO())
WINDOWED = (None, None, None)
WATCHED = (StringIO(), StringIO(), Terminal())


@pytest.mark.parametrize(
    ("arguments", "environment", "streams", "platform", "expected"),
    [
        ([], {"DISPLAY": ":0"}, PIPES, "linux", True),
        ([], {"WAYLAND_DISPLAY": "wayland-0"}, PIPES, "linux", True),
        (["open", "a.txt"], {"DISPLAY": ":0"}, PIPES, "linux", True),
        ([], {}, WINDOWED, "win32", True),
        ([], {}, PIPES, "darwin", True),
        ([], {"DISPLAY": ":0"}, WATCHED, "linux", False),
        ([], {}, PIPES, "linux", False),
        (["match", "lab:50,0,0"], {"DISPLAY": ":0"}, PIPES, "linux", False),
        (["--help"], {}, WINDOWED, "win32", False),
    ],
)
def test_a_double_click_is_told_from_a_command(
    arguments: list[str],
    environment: dict[str, str],
    streams: Any,
    platform: str,
    expected: bool,
) -> None:
    """Nothing or a file to open, on a desktop, with no terminal: only that is a double click."""
    assert is_double_click(arguments, environment, streams, platform=platform) is expected


@pytest.fixture
def shown(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> list[str]:
    """What the person's browser is led to; the cache folder is another."""
    addresses: list[str] = []
    monkeypatch.setattr(webbrowser, "open", addresses.append)
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    return addresses


def test_what_went_wrong_is_told_in_the_browser(shown: list[str]) -> None:
    """Whoever sees no terminal is shown the sentence, with its hint, as a page."""
    before = sys.stdout, sys.stderr
    assert run_from_desktop(door.run, ["open", "no<such>.txt"]) == 1
    page = Path(shown[0].removeprefix("file://")).read_text(encoding="utf-8")
    assert "no&lt;such&gt;.txt can" in page
    assert "Check the name and the folder." in page
    assert (sys.stdout, sys.stderr) == before


def test_what_went_well_is_not_told(shown: list[str]) -> None:
    """A bench that was opened and closed leaves no page behind."""
    asked: list[Sequence[str]] = []

    def run(arguments: Sequence[str]) -> int:
        asked.append(arguments)
        return 0

    assert run_from_desktop(run, []) == 0
    assert (asked, shown) == ([["open"]], [])


LESSON = """laydown lesson 1
title: Two
paper: Gull
color: sky
xyz: 30 32 50
"""


@pytest.fixture
def served(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Which libraries a bench was opened on."""
    libraries: list[str] = []

    def serve(location: str, **_: Any) -> None:
        libraries.append(location)

    monkeypatch.setattr("laydown.web.serving.serve", serve)
    return libraries


def test_a_lesson_is_kept_and_the_bench_opened(tmp_path: Path, served: list[str]) -> None:
    """A double-clicked lesson lies in one's own library when the bench opens."""
    mine, file = tmp_path / "mine.db", tmp_path / "two.txt"
    file.write_text(LESSON, encoding="utf-8")
    assert door.run(["open", str(file), "--db", str(mine)]) == 0
    assert served == [str(mine)]
    assert door.run(["lesson", "fetch", "1", "--db", str(mine), "-o", str(tmp_path / "out")]) == 0
    assert (tmp_path / "out").read_text(encoding="utf-8") == LESSON


def test_a_library_is_opened_where_it_lies(tmp_path: Path, served: list[str]) -> None:
    """A double-clicked library is the bench's, under any name."""
    library = tmp_path / "from elsewhere"
    (tmp_path / "two.txt").write_text(LESSON, encoding="utf-8")
    assert door.run(["open", str(tmp_path / "two.txt"), "--db", str(library)]) == 0
    assert door.run(["open", str(library)]) == 0
    assert served == [str(library), str(library)]


def test_another_file_is_refused_in_one_sentence(
    tmp_path: Path, served: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    """A picture is neither a lesson nor a library, and no bench opens."""
    file = tmp_path / "cat.png"
    file.write_bytes(b"\x89PNG\r\n\x1a\n" + bytes(100))
    assert door.run(["open", str(file), "--db", str(tmp_path / "mine.db")]) == 1
    assert served == []
    assert "cat.png" in capsys.readouterr().err


def test_a_port_that_another_program_took_is_passed_over(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Whoever double-clicks can't name a port, so the next free one is taken."""
    from laydown.web import serving  # noqa: PLC0415  as the command loads it

    taken = serving.bind(0)
    usual = taken.getsockname()[1]
    monkeypatch.setattr(serving, "USUAL_PORT", usual)
    ports: list[int] = []
    monkeypatch.setattr(serving, "serve", lambda _, *, port, **__: ports.append(port))
    with taken:
        assert door.run(["open", "--db", str(tmp_path / "mine.db")]) == 0
    assert usual < ports[0] < usual + PORTS


def test_a_second_library_gets_a_bench_of_its_own(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A bench that is open on this library is led to, one on another is passed over."""
    from laydown.web import running, serving  # noqa: PLC0415  as the command loads them

    mine, hers = str(tmp_path / "mine.db"), str(tmp_path / "hers.db")
    usual = serving.USUAL_PORT
    monkeypatch.setattr(running, "library_open_at", {usual: hers, usual + 1: mine}.get)
    found: list[int] = []

    def is_open(port: int, **_: Any) -> bool:
        found.append(port)
        return True

    monkeypatch.setattr("laydown.cli.serve._is_open", is_open)
    monkeypatch.setattr(serving, "bind", _refuse)
    assert door.run(["open", "--db", mine]) == 0
    assert found == [usual + 1]


def _refuse(_: int) -> None:
    raise LaydownError("It is taken.")
