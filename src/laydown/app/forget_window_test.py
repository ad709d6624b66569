"""Take a window reading out of the library."""

from dataclasses import dataclass

from laydown.store.library import Library
from laydown.store.lightfastness import WindowTest


@dataclass(frozen=True, slots=True)
class ForgetWindowTest:
    """The reading's number."""

    number: int


def forget_window_test(library: Library, request: ForgetWindowTest) -> WindowTest:
    """Remove a reading and return it.

    Raises
    ------
    UnknownNameError
        For a number that no reading has.
    """
    with library.work(f"forget window reading {request.number}") as work:
        return work.lightfastness.forget(request.number)
