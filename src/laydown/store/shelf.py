"""What all shelves of a library have: a session, and rows that are found by their numbers."""

from typing import TypeVar

from sqlalchemy.orm import Session

from laydown.errors import UnknownNameError
from laydown.store.tables import LibraryTable

Row = TypeVar("Row", bound=LibraryTable)


class Shelf:
    """Things of one kind in a library, within one transaction; made by `Work`."""

    def __init__(self, session: Session) -> None:
        self.session = session

    def row(
        self, table: type[Row], number: int, missing: str, *, hint: str, command: str = ""
    ) -> Row:
        """Return the row of a number, or raise what is said of one that isn't there."""
        found = self.session.get(table, number)
        if found is None:
            raise UnknownNameError(missing, hint=hint, command=command)
        return found
