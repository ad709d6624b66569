"""What all shelves of a library have: a session, rows by their numbers, and values for rows.

A field that a value and its table both have is written and read here, so that a further field of a
swatch or a trial is a column more and nothing else.
"""

import inspect
from enum import StrEnum
from types import NoneType, UnionType
from typing import Any, Generic, TypeVar, Union, get_args, get_origin, get_type_hints

import numpy as np
from sqlalchemy import select
from sqlalchemy.orm import Session

from laydown.errors import UnknownNameError
from laydown.media.recipe import Recipe, format_recipe
from laydown.store import tables
from laydown.store.columns import Taker

Row = TypeVar("Row", bound=tables.LibraryTable)


class Shelf:
    """Things of one kind in a library, within one transaction; made by `Work`."""

    def __init__(self, session: Session) -> None:
        self.session = session

    def kept(self, row: Row) -> Row:
        """Write a new row, and return it with its number."""
        self.session.add(row)
        self.session.flush()
        return row

    def dropped(self, *rows: tables.LibraryTable) -> None:
        """Take rows out at once."""
        for row in rows:
            self.session.delete(row)
        self.session.flush()

    def row(
        self, table: type[Row], number: int, missing: str, *, hint: str, command: str = ""
    ) -> Row:
        """Return the row of a number, or raise what is said of one that isn't there."""
        found = self.session.get(table, number)
        if found is None:
            raise UnknownNameError(missing, hint=hint, command=command)
        return found


Value = TypeVar("Value")


class NumberedShelf(Shelf, Generic[Row, Value]):
    """Things that are found by their numbers, each a row of `table`.

    `missing` is what is said of a number that none has, `hint` and `command` what to do then.
    """

    table: type[Row]
    missing: str
    hint: str
    command = ""

    def value(self, row: Row) -> Value:
        """Return what a row holds."""
        raise NotImplementedError

    def all(self) -> tuple[Value, ...]:
        """Return all of them, the latest first."""
        rows = select(self.table).order_by(self.table.__table__.c.id.desc())
        return tuple(map(self.value, self.session.scalars(rows).all()))

    def get(self, number: int) -> Value:
        """Return one; raises `UnknownNameError` for a number that none has."""
        return self.value(self.numbered(number))

    def remove(self, number: int) -> Value:
        """Remove one, and return what it was."""
        row = self.numbered(number)
        gone = self.value(row)
        self.dropped(row)
        return gone

    def numbered(self, number: int) -> Row:
        """Return the row of a number."""
        missing = self.missing.format(number)
        return self.row(self.table, number, missing, hint=self.hint, command=self.command)


class SharedFields(Generic[Value]):
    """What a frozen value and the rows of a table have in common.

    `kind` is the dataclass. `table` is the table; its columns are named as the fields that it
    keeps.
    """

    def __init__(self, kind: type[Value], table: type[tables.LibraryTable]) -> None:
        columns, hints = table.__table__.columns, get_type_hints(kind)
        names = inspect.signature(kind).parameters
        self._kind = kind
        self._takers = {name: _taker(hints[name]) for name in names if name in columns}
        self.columns = tuple(getattr(table, name) for name in self._takers)

    def cells(self, value: Value) -> dict[str, Any]:
        """Return what a row keeps of a value, by columns."""
        return {name: as_kept(getattr(value, name)) for name in self._takers}

    def value(self, row: Any, **told: Any) -> Value:
        """Return the value of a row that has these columns by name.

        `row` is a row of the table, or of an answer with its `columns`. `told`: fields that the row
        doesn't hold, or not as they are.
        """
        taken = {n: take(getattr(row, n)) for n, take in self._takers.items() if n not in told}
        return self._kind(**taken, **told)


def as_kept(value: Any) -> Any:
    """Return a field as a column holds it: a recipe as its text, numbers as a list."""
    match value:
        case Recipe():
            return format_recipe(value, with_range=True)
        case StrEnum():
            return str(value)
        case set() | frozenset():
            return sorted(map(str, value))
        case np.ndarray() | np.generic():
            return value.astype(np.float64).tolist()
    return value


def _taker(hint: Any) -> Taker:
    """Return what makes of a column's value what a field says that it is."""
    if get_origin(hint) in {Union, UnionType}:
        (plain,) = [one for one in get_args(hint) if one is not NoneType]
        take = _taker(plain)
        return lambda value: None if value is None else take(value)
    if get_origin(hint) is np.ndarray:
        return np.array
    if get_origin(hint) is frozenset:
        (member,) = get_args(hint)
        return lambda value: frozenset(map(member, value))
    if isinstance(hint, type) and issubclass(hint, StrEnum):
        return hint
    return lambda value: value
