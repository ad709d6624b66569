"""Copies that are meant to be gone in a moment, and are, even where a kill came between."""

import os
import signal
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import pytest

from laydown.store.files import LONG_AGO, clear_left, passing_folder
from laydown.store.library import open_library

HOLDS = """
import sys, time
from pathlib import Path
from laydown.store.files import passing_folder
with passing_folder(Path(sys.argv[1])) as folder:
    (folder / "library.db").write_bytes(b"private")
    print(folder, flush=True)
    time.sleep(600)
"""


def test_a_folder_is_for_its_owner_and_for_a_moment(tmp_path: Path) -> None:
    """Nobody else can look into it, clearing up leaves it alone, and it is gone at the end."""
    with passing_folder(tmp_path) as folder:
        assert folder.stat().st_mode & 0o077 == 0
        clear_left(tmp_path)
        assert folder.exists()
    assert list(tmp_path.iterdir()) == []


@pytest.mark.skipif(os.name != "posix", reason="kills as POSIX does")
def test_what_a_kill_left_is_cleared_at_the_next_start(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Beside the library and in the system's folder; of a process that lives nothing is taken."""
    beside, system = tmp_path / "beside", tmp_path / "system"
    for place in (beside, system):
        place.mkdir()
    monkeypatch.setattr(tempfile, "tempdir", str(system))
    others = [
        subprocess.Popen([sys.executable, "-c", HOLDS, str(place)], stdout=subprocess.PIPE)
        for place in (beside, system, beside)
    ]
    try:
        left = [Path(other.stdout.readline().decode().strip()) for other in others if other.stdout]
        for other in others[:2]:
            other.send_signal(signal.SIGKILL)
            other.wait()
        assert all((folder / "library.db").exists() for folder in left)
        open_library(beside / "library.db").close()
        assert [folder.exists() for folder in left] == [False, False, True]
    finally:
        for other in others:
            other.kill()
            other.communicate()


def test_an_earlier_laydowns_copy_is_cleared_when_it_is_old(tmp_path: Path) -> None:
    """One without a mark may be just being made; after an hour nobody is at it any more."""
    young, old = tmp_path / ".laydown-young", tmp_path / ".laydown-old"
    for folder in (young, old):
        folder.mkdir()
    past = time.time() - 2 * LONG_AGO
    os.utime(old, (past, past))
    clear_left(tmp_path)
    assert [folder.name for folder in tmp_path.iterdir()] == [young.name]
