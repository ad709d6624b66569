"""Open the library that a command was asked to use, and close it behind it."""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

from laydown.cli.console import say
from laydown.cli.settings import settings

if TYPE_CHECKING:
    from laydown.app.opening import Library


@contextmanager
def library_in_use(*, may_make: bool = False) -> "Iterator[Library]":
    """Give the library of ``--db``, or the user's own.

    Parameters
    ----------
    may_make
        Whether the command brings something in, so that a library named but not there yet is made;
        else it is refused, since its name is likely mistyped.

    Raises
    ------
    LibraryError
        Where the library named is not there.
    """
    from laydown.app.opening import library_is_there, open_named

    named = settings().library
    if named and not library_is_there(named):
        if not may_make:
            _refuse(named)
        say(f"A new library is made: {named}")
    library = open_named(named)
    try:
        yield library
    finally:
        library.close()


def _refuse(named: str) -> None:
    from laydown.errors import LibraryError

    raise LibraryError(
        f"There is no library at {named}.",
        hint="Check the path. A command that brings something in, such as laydown swatches import,"
        " makes a new one.",
    )
