"""Open the library that a door was asked for."""

from laydown.store.library import Library, open_library
from laydown.store.location import find_location

__all__ = ["Library", "library_is_there", "name_of_place", "open_named"]


def open_named(location: str) -> Library:
    """Open the library at a path or URL, or the user's own for an empty text."""
    return open_library(location or None)


def name_of_place(location: str) -> str:
    """Return how an open library at a path or URL calls the place it is at."""
    return str(find_location(location or None))


def library_is_there(location: str) -> bool:
    """Return whether there is a library to open; of a database server this isn't asked."""
    path = find_location(location or None).path
    return path is None or path.exists()
