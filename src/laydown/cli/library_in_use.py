"""Open the library that a command was asked to use, and close it behind it."""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

from laydown.cli.settings import settings

if TYPE_CHECKING:
    from laydown.app.opening import Library


@contextmanager
def library_in_use() -> "Iterator[Library]":
    """Give the library of ``--db``, or the user's own."""
    from laydown.app.opening import open_named

    library = open_named(settings().library)
    try:
        yield library
    finally:
        library.close()
