"""What differs on macOS and Windows, imitated here: ``packaging/README.md`` lists it.

None of this was run on those systems. Each test takes away what they lack, or gives what they do.
"""

import errno
import io
import os
import socket
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import entry
import pytest

from laydown.app.memory import give_back_memory
from laydown.errors import LaydownError
from laydown.store import passing
from laydown.store.files import find_location
from laydown.store.library import open_library
from laydown.web import serving


@pytest.fixture
def windows(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """Have Python say that it is on Windows, and take what Windows lacks."""
    monkeypatch.setattr(sys, "platform", "win32")
    monkeypatch.delattr(passing, "fcntl")
    yield
    monkeypatch.undo()


def test_copies_are_passing_without_locks_of_files(windows: None, tmp_path: Path) -> None:
    """There are no such locks on Windows: a passing folder is made and gone all the same."""
    with passing.passing_folder(tmp_path) as folder:
        assert folder.is_dir()
    assert list(tmp_path.iterdir()) == []


def test_memory_is_left_to_systems_that_take_it_themselves(windows: None) -> None:
    """The C library of Linux alone is asked to give memory back."""
    give_back_memory()


def test_a_library_is_made_on_a_disk_without_links(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """A stick with a file system of Windows knows no links: the library is moved to its place."""

    def refuse(*_: Any, **__: Any) -> None:
        raise OSError(errno.EPERM, "no links here")

    monkeypatch.setattr(os, "link", refuse)
    open_library(tmp_path / "library.db").close()
    assert find_location(tmp_path / "library.db").path == tmp_path / "library.db"
    assert (tmp_path / "library.db").stat().st_size > 0


def test_a_file_in_use_is_told_in_a_sentence(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """Windows doesn't let go of a file that a program has open: a backup says so, and why."""
    library = open_library(tmp_path / "library.db")

    def refuse(self: Path, target: Path) -> Path:
        raise PermissionError(errno.EACCES, "in use by another program", str(target))

    monkeypatch.setattr(Path, "replace", refuse)
    with pytest.raises(LaydownError, match="can't be written"):
        library.backup(tmp_path / "backup.db")
    library.close()


def test_a_pdf_is_drawn_where_no_limit_can_be_set(tmp_path: Path) -> None:
    """Windows has no limits for a process: the module that draws a page is loaded without them."""
    asked = (
        "import sys; sys.modules['resource'] = None\n"
        "from laydown.imaging import pdf_drawing\n"
        "pdf_drawing._limit(1)\n"
        "print('drawn')"
    )
    done = subprocess.run(
        [sys.executable, "-c", asked], check=True, capture_output=True, text=True, timeout=120
    )
    assert done.stdout.strip() == "drawn"


def test_a_port_is_not_shared_on_windows(monkeypatch: pytest.MonkeyPatch) -> None:
    """What lets a port be used again at once on Linux lets two programs share it on Windows."""
    asked: list[int] = []

    class Socket(socket.socket):
        def setsockopt(self, *given: Any) -> None:
            asked.append(given[1])

    monkeypatch.setattr(socket, "socket", Socket)
    monkeypatch.setattr(os, "name", "nt")
    serving.bind(0).close()
    assert socket.SO_REUSEADDR not in asked


def test_a_program_without_a_console_has_somewhere_to_write(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Windows gives it no streams at all: those that it gets are none of a terminal."""
    for name in ("stdout", "stderr"):
        monkeypatch.setattr(sys, name, None)
    entry.open_streams()
    sys.stdout.write("something")
    assert isinstance(sys.stdout, io.StringIO)
    assert not sys.stderr.isatty()


def test_the_browser_gets_its_own_libraries_back(monkeypatch: pytest.MonkeyPatch) -> None:
    """What the starter put first in the search for libraries is taken out for those we start."""
    monkeypatch.setenv("LD_LIBRARY_PATH", "of the program")
    monkeypatch.setenv("LD_LIBRARY_PATH_ORIG", "as before")
    entry.give_back_libraries()
    assert os.environ["LD_LIBRARY_PATH"] == "as before"
    assert "LD_LIBRARY_PATH_ORIG" not in os.environ


def test_texts_are_read_and_written_in_one_encoding(tmp_path: Path) -> None:
    """Windows would read a file in an old code page: nothing is read without saying which."""
    library = tmp_path / "library.db"
    swatches = Path(__file__).parents[2] / "src/laydown/demo/data/orchard_on_heron_laid.csv"
    words = ["swatches", "import", str(swatches), "--db", str(library)]
    done = subprocess.run(
        [sys.executable, "-X", "warn_default_encoding", "-W", "default", "-m", "laydown", *words],
        check=True,
        capture_output=True,
        text=True,
        timeout=300,
    )
    ours = [line for line in done.stderr.splitlines() if "EncodingWarning" in line]
    assert [line for line in ours if "laydown" in line.split(":")[0]] == []
