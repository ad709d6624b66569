"""Compile the few loops that numpy can't do, and say whether that has been done already.

A compiled loop is kept in a folder beside the package or, where that can't be written, in the
folder of the environment variable ``NUMBA_CACHE_DIR`` or of the user. Where none can be written,
it is compiled anew in each process: slower at the start, never wrong.
"""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any, TypeVar

from numba import njit
from numba.core import event

Function = TypeVar("Function", bound=Callable[..., Any])


OPTIONS: dict[str, Any] = {
    "nogil": True,
    "fastmath": {"reassoc", "contract", "nsz", "arcp"},
    "error_model": "numpy",  # a division is not watched, or no loop goes side by side
}


def compiled(function: Function) -> Function:
    """Compile a function on its first call, release the interpreter in it, and keep the result.

    Sums may be regrouped, so that bands go through the processor side by side: results differ
    from plain sums in the last digits, which the margins of the search allow for.
    """
    return _kept_if_possible(function, OPTIONS)


def compiled_in_place(function: Function) -> Function:
    """Compile a short function into those that call it, which saves handing over whole kits."""
    return _kept_if_possible(function, {**OPTIONS, "forceinline": True})


def _kept_if_possible(function: Function, options: dict[str, Any]) -> Function:
    try:
        made: Function = njit(cache=True, **options)(function)
    except RuntimeError:  # no folder can be written
        made = njit(**options)(function)
    return made


@contextmanager
def announcing(tell: Callable[[], None]) -> Iterator[None]:
    """Call `tell` when something has to be compiled in here: once, and before it is.

    A loop that was kept is only loaded, which is not told. The caller may be any thread.
    """
    with event.install_listener("numba:compile", _Announcer(tell)):
        yield


class _Announcer(event.Listener):
    def __init__(self, tell: Callable[[], None]) -> None:
        self._tell = tell
        self._has_told = False

    def on_start(self, _: event.Event) -> None:
        if not self._has_told:
            self._has_told = True
            self._tell()

    def on_end(self, _: event.Event) -> None:
        """Nothing to tell: what was waited for goes on."""


def is_kept(function: Callable[..., Any]) -> bool:
    """Whether a compiled function is ready, in this process or in the folder where it is kept.

    Asks the compiler's own index of that folder; where that can't be read the answer is no, which
    only makes the caller announce a compilation that then takes no time.
    """
    if getattr(function, "signatures", None):
        return True
    try:
        index = function._cache._cache_file._load_index()  # type: ignore[attr-defined]
    except (AttributeError, OSError, ValueError):
        return False
    return bool(index)
