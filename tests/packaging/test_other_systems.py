"""What differs on macOS and Windows, imitated here: ``packaging/README.md`` lists it.

None of this was run on those systems. Each test takes away what they lack, or gives what they do.
"""

import errno
import io
import os
import re
import socket
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import build
import entry
import pytest
from PIL import Image

import laydown
from laydown.app.jobs import give_back_memory
from laydown.documents.files.lessons import FIRST_LINE
from laydown.errors import LaydownError
from laydown.store import files
from laydown.store.files import APPLICATION_ID, file_at, find_location
from laydown.store.library import open_library
from laydown.web import serving

ROOT = Path(__file__).parents[2]


@pytest.fixture
def windows(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """Have Python say that it is on Windows, and take what Windows lacks."""
    monkeypatch.setattr(sys, "platform", "win32")
    monkeypatch.delattr(files, "fcntl")
    yield
    monkeypatch.undo()


def test_copies_are_passing_without_locks_of_files(windows: None, tmp_path: Path) -> None:
    """There are no such locks on Windows: a passing folder is made and gone all the same."""
    with files.passing_folder(tmp_path) as folder:
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
    assert file_at(find_location(tmp_path / "library.db")) == tmp_path / "library.db"
    assert (tmp_path / "library.db").stat().st_size > 0


@pytest.mark.parametrize(
    ("asked", "trouble"),
    [
        ("mkdir", OSError(errno.ENOENT, "The filename or extension is too long")),
        ("mkdir", OSError(errno.EINVAL, "The directory name is invalid")),
    ],
)
def test_a_name_that_windows_refuses_is_told_in_a_sentence(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, asked: str, trouble: OSError
) -> None:
    """Over 260 letters, or with a question mark: it says so when it is asked for, not before."""

    def refuse(*_: Any, **__: Any) -> None:
        raise trouble

    monkeypatch.setattr(Path, asked, refuse)
    with pytest.raises(LaydownError, match="can't be made: The"):
        open_library(tmp_path / "folder" / "library.db")


@pytest.mark.parametrize("path", [r"C:\Users\Ann Müller\library.db", r"\\school\art\library.db"])
def test_a_path_of_windows_is_no_address(path: str) -> None:
    """A drive's colon makes no address of a database server."""
    assert find_location(path).get_backend_name() == "sqlite"


def test_no_signal_is_waited_for() -> None:
    """Windows knows few: closing is asked of the bench by its page, and Ctrl-C is Python's own."""
    sources = Path(laydown.__file__).parent.rglob("*.py")
    used = [
        str(path) for path in sources if re.search(r"import signal\b|os\.kill", path.read_text())
    ]
    assert used == []


def test_signs_that_a_console_lacks_stop_nothing() -> None:
    """A console of Windows may know 256 signs: the others are written otherwise, by number."""
    done = subprocess.run(
        [sys.executable, "-m", "laydown", "swatches", "import", "色.csv"],
        check=False,
        capture_output=True,
        env={**os.environ, "PYTHONIOENCODING": "cp1252"},
        timeout=300,
    )
    assert done.returncode == 1
    assert rb"\u8272.csv can't be read" in done.stderr


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


@pytest.mark.parametrize(
    ("words", "module", "left"),
    [
        (["-P", "-m", "laydown.imaging.pdf_drawing", "1"], "laydown.imaging.pdf_drawing", ["1"]),
        (["-m", "laydown", "serve", "--stop"], "laydown", ["serve", "--stop"]),
        (["-m", "http.server"], "laydown", ["-m", "http.server"]),
        (["no such file"], "laydown", ["no such file"]),
        ([__file__], "laydown", ["open", __file__]),
        ([], "laydown", []),
    ],
)
def test_the_program_stands_for_python_where_it_is_asked_for_a_module(
    words: list[str], module: str, left: list[str]
) -> None:
    """A shortcut and the drawing of a PDF start it so; macOS gives it a file and no more."""
    assert entry.module_and_words(words) == (module, left)


def test_each_system_has_an_icon(tmp_path: Path) -> None:
    """The bench's mark, dark on light, as Windows and macOS want it."""
    for ending in ("ico", "icns"):
        build.draw_icon(tmp_path / f"mark.{ending}")
        with Image.open(tmp_path / f"mark.{ending}") as icon:
            seen = icon.convert("RGB").resize((32, 32))
        assert seen.getpixel((1, 1)) == (0xCF, 0xCF, 0xCF)
        assert seen.getpixel((16, 20)) == (0x4A, 0x4A, 0x4A)


def test_the_kinds_of_files_are_ours() -> None:
    """What tells a library and a lesson to a desktop is what laydown writes."""
    told = ElementTree.parse(ROOT / "packaging/debian/laydown.xml")
    marks = {
        one.get("value"): int(one.get("offset", "")) for one in told.iter() if one.get("value")
    }
    assert marks == {"SQLite format 3": 0, f"0x{APPLICATION_ID:08X}": 68, FIRST_LINE: 0}
    entry_of_menu = (ROOT / "packaging/debian/laydown.desktop").read_text(encoding="utf-8")
    kinds = [one.get("type", "") for one in told.getroot()]
    assert f"MimeType={';'.join(kinds)};" in entry_of_menu


def test_the_browser_gets_its_own_libraries_back(monkeypatch: pytest.MonkeyPatch) -> None:
    """What the starter put first in the search for libraries is taken out for those we start."""
    monkeypatch.setenv("LD_LIBRARY_PATH", "of the program")
    monkeypatch.setenv("LD_LIBRARY_PATH_ORIG", "as before")
    entry.give_back_libraries()
    assert os.environ["LD_LIBRARY_PATH"] == "as before"
    assert "LD_LIBRARY_PATH_ORIG" not in os.environ


@pytest.mark.parametrize("before", [None, "as before"])
def test_loading_pictures_leaves_the_search_for_libraries_alone(before: str | None) -> None:
    """OpenCV's loader would hand its own folder, and the current one, to each program we start."""
    own = {name: value for name, value in os.environ.items() if name != "LD_LIBRARY_PATH"}
    loads = "import os, laydown.imaging.picture; print(os.environ.get('LD_LIBRARY_PATH'))"
    done = subprocess.run(
        [sys.executable, "-c", loads],
        check=True,
        capture_output=True,
        text=True,
        env=own | ({"LD_LIBRARY_PATH": before} if before else {}),
    )
    assert done.stdout.strip() == str(before)


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
