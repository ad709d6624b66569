"""Open the library that a door was asked for."""

from laydown.store.library import Library, open_library
from laydown.store.location import find_location

__all__ = ["Library", "library_is_there", "open_named"]


def open_named(location: str) -> Library:
    """Open the library at a path or URL, or the user's own for an empty text."""
    return open_library(location or None)


def library_is_there(location: str) -> bool:
    """Return whether there is a library to open; of a database server this isn't asked."""
    path = find_location(location or None).path
    return path is None or path.exists()
