"""Put a backup in place of the library."""

import tempfile
from dataclasses import dataclass
from pathlib import Path

from laydown.errors import LaydownError
from laydown.store.library import Library


@dataclass(frozen=True, slots=True)
class Restored:
    """The backup that was put in place, and where what was there before is kept."""

    path: Path
    before: Path


def restore_library(library: Library, path: Path) -> Restored:
    """Put a backup in place; the present library is kept beside it."""
    return Restored(path, library.restore(path))


def restore_sent(library: Library, content: bytes, name: str) -> Restored:
    """Put a backup in place that was sent, and is no file of this computer's.

    Parameters
    ----------
    library
        That it takes the place of.
    content
        Of the backup.
    name
        What to call it.
    """
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "library.db"
        path.write_bytes(content)
        try:
            made = restore_library(library, path)
        except LaydownError as error:
            message = error.message.replace(str(path), name)
            raise error.told_as(message) from error
    return Restored(Path(name), made.before)
