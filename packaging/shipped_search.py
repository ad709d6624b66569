"""The search as it is shipped: compiled before, for any processor of its kind.

numba keeps what it has compiled under the path and the content of a source file, for the very
processor it ran on. Neither holds on another computer. So the program says which processor to
compile for, the plainest of its kind (``NUMBA_CPU_NAME``), and where what is compiled is found
(``NUMBA_CACHE_LOCATOR_CLASSES``, both in numba's reference of environment variables): in the
account's own cache folder, where it is put from the program's folder on the first start, and where
what else has to be compiled is put as well.
"""

import contextlib
import os
import shutil
import sys
import tempfile
from pathlib import Path
from typing import Any

SHIPPED = Path(getattr(sys, "_MEIPASS", Path(__file__).parent)) / "compiled_search"
PROCESSOR = {"NUMBA_CPU_NAME": "generic", "NUMBA_CPU_FEATURES": ""}


class Place:
    """Where a compiled function is kept, as numba asks it of a locator of its cache.

    Parameters
    ----------
    function
        To be kept.
    """

    def __init__(self, function: Any) -> None:
        self._line = function.__code__.co_firstlineno

    @classmethod
    def from_function(cls, function: Any, _file: str) -> "Place":
        """Return the place of a function."""
        return cls(function)

    def get_cache_path(self) -> str:
        """Return the folder."""
        folder = os.environ["NUMBA_CACHE_DIR"]
        Path(folder).mkdir(parents=True, exist_ok=True)
        return folder

    def ensure_cache_path(self) -> None:
        """Nothing to make: the folder is there."""

    def get_source_stamp(self) -> str:
        """Return what tells states of the source apart: nothing, each has a folder of its own."""
        return ""

    def get_disambiguator(self) -> str:
        """Return what tells functions of one name apart."""
        return str(self._line)


def use() -> None:
    """Have numba find the shipped search. Must be called before numba is imported.

    Where the cache folder can't be written, the program's own is used as it is.
    """
    os.environ.update(PROCESSOR)
    os.environ["NUMBA_CACHE_LOCATOR_CLASSES"] = f"{__name__}.{Place.__name__}"
    from laydown.cli.main import use_compiled_cache  # noqa: PLC0415  imports no numba

    if "NUMBA_CACHE_DIR" in os.environ:  # named by whoever started us, who knows why
        return
    folder = use_compiled_cache()
    shipped = SHIPPED / folder.name
    try:
        _put(shipped, folder)
    except OSError:
        os.environ["NUMBA_CACHE_DIR"] = str(shipped)


def _put(shipped: Path, folder: Path) -> None:
    """Copy the shipped folder whole or not at all, unless it is there."""
    folder.parent.mkdir(parents=True, exist_ok=True)
    if folder.is_dir() or not shipped.is_dir():
        folder.mkdir(exist_ok=True)
        return
    half = Path(tempfile.mkdtemp(dir=folder.parent))
    try:
        shutil.copytree(shipped, half / folder.name)
        with contextlib.suppress(FileExistsError, OSError):  # a second start was quicker
            (half / folder.name).rename(folder)
    finally:
        shutil.rmtree(half, ignore_errors=True)
