"""Open the library that a door was asked for."""

from laydown.store.library import Library, open_library

__all__ = ["Library", "open_named"]


def open_named(location: str) -> Library:
    """Open the library at a path or URL, or the user's own for an empty text."""
    return open_library(location or None)
