"""Folders for copies that are gone in a moment, and what a kill has left of them.

A copy of a library is private, and may be large. Its folder is held while it is in use, which ends
with the process however that ends; so the next one to come knows what nobody needs any more.
"""

import shutil
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import IO

if sys.platform != "win32":
    import fcntl

PREFIX = ".laydown-"
MARK = "in use"
LONG_AGO = 3600.0
"""A folder without a mark is none of ours after that, or of an earlier laydown [s]."""


@contextmanager
def passing_folder(beside: Path | None = None) -> Iterator[Path]:
    """Give a folder that only this account can read, and that is gone afterwards.

    Parameters
    ----------
    beside
        The folder that it is made in; None is the system's for such things.
    """
    with tempfile.TemporaryDirectory(dir=beside, prefix=PREFIX) as name:
        folder = Path(name)
        with (folder / MARK).open("wb") as mark:
            _hold(mark)
            yield folder


def clear_left(*places: Path) -> None:
    """Remove what processes that are gone have left in folders, and nothing else."""
    for place in places:
        with suppress(OSError):
            for folder in place.glob(f"{PREFIX}*"):
                if folder.is_dir() and not folder.is_symlink() and _is_left(folder):
                    shutil.rmtree(folder, ignore_errors=True)


def _is_left(folder: Path) -> bool:
    mark = folder / MARK
    try:
        if not mark.exists():
            return time.time() - folder.stat().st_mtime > LONG_AGO
        with mark.open("rb+") as file:
            return _hold(file)
    except OSError:  # another account's
        return False


def _hold(mark: IO[bytes]) -> bool:
    """Hold a folder by its mark for as long as that is open; return whether nobody else does."""
    if sys.platform != "win32":  # which lets nobody take away an open file
        try:
            fcntl.flock(mark, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except OSError:
            return False
    return True
