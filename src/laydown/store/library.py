"""The library: one database that holds all a person has measured, owns and has fitted.

How it is used
--------------
::

    library = open_library(None)                  # or a path, or a URL
    with library.work("own two markers") as work: # one transaction, one entry to undo
        kit = work.own("mine", [work.find_colorant("Kelp"), work.find_colorant("Orchard/Fig")])
    with library.look() as work:                  # reads only; locks nobody out
        swatches = work.swatches(range="Estuary", paper="Gannet smooth")
    library.undo()

``work`` and ``look`` hand over a `Work`, which speaks in the frozen types of `media` and of
`store.records` (`Range`, `StoredSwatch`, `Added`, `Kit`, `FitKey`, `Change`); see `store.work` for
all it can do. Don't compute inside ``work``: others wait. Read with ``look``, compute, then write.
"""

from collections.abc import Iterator
from contextlib import AbstractContextManager, contextmanager
from pathlib import Path

from laydown.store.records import Change
from laydown.store.work import Work


class Library:
    """An open library; made by `open_library`."""

    @property
    def location(self) -> str:
        """The path of the file, or the URL without its password."""
        raise NotImplementedError

    @contextmanager
    def work(self, label: str) -> Iterator[Work]:
        """Open one transaction: kept as a whole at the end, or rolled back on any exception.

        Parameters
        ----------
        label
            What the command does, as `history` and `undo` will call it.
        """
        raise NotImplementedError
        yield

    def look(self) -> AbstractContextManager[Work]:
        """Open a transaction that only reads; writing in it is a ``ValueError``."""
        raise NotImplementedError

    def history(self) -> tuple[Change, ...]:
        """Return the commands that can be taken back, latest first."""
        raise NotImplementedError

    def undo(self) -> Change:
        """Take back the latest command as a whole and return it.

        Raises
        ------
        NothingToUndoError
            When no command is left to take back.
        """
        raise NotImplementedError

    def backup(self, path: Path) -> Path:
        """Write the whole library, as it is now, to a new file; return its path."""
        raise NotImplementedError

    def restore(self, path: Path) -> Path:
        """Put a backup in place of this library; return where the present one was kept."""
        raise NotImplementedError

    def close(self) -> None:
        """Let go of the database."""
        raise NotImplementedError


def open_library(location: str | Path | None = None) -> Library:
    """Open a library, making it where there is none, and bringing an older one up to date.

    Parameters
    ----------
    location
        A path, a URL (``sqlite:///…``, ``postgresql://…``), or None for the user's own data folder.

    Raises
    ------
    LibraryError
        When it can't be opened, isn't a laydown library, or was written by a newer laydown.
    """
    raise NotImplementedError
