"""What may stand in a column: a file holds its columns to no type, so we look as we read.

SQLite keeps a text where a number belongs, an endless one where a name does, and calls any text
JSON. Each kind of column here looks at what comes out of the database before anyone counts on it.
A text is not held to the length that its column names, for a file never was; but none of ours comes
near the bounds here.
"""

from collections.abc import Callable, Mapping, Sequence
from datetime import UTC, datetime
from operator import itemgetter
from typing import Any

import sqlalchemy as sql
from sqlalchemy.engine import Dialect
from sqlalchemy.types import TypeDecorator

from laydown.store.trouble import WRONG, DamagedError

LONGEST_WORD = 10_000
"""Characters of a name, a title, a code or a list of flags."""
LONGEST_PROSE = 1_000_000
LONGEST_LESSON = 5_000_000
LONGEST_PAYLOAD = 200_000_000
"""Characters of a kept fit; that of three hundred pencils takes 50 million."""
LONGEST_SHOWN = 30
MOST_DIGITS = 40
"""Characters that one number of a list takes, with all around it."""
MOST_NESTED = 10_000
"""Lists and objects in one value: each takes thirty times the memory of its two signs."""
MOST_WHOLE = 2**53
"""Beyond it whole numbers are no longer told apart everywhere."""
FARTHEST = 1e12
NUMBERS, WHOLE = frozenset({int, float}), frozenset({int, bool})

Taker = Callable[[Any], Any]


def shortened(value: object) -> str:
    """Show a value in a sentence, whatever it is."""
    shown = repr(value)
    return shown if len(shown) <= LONGEST_SHOWN else f"{shown[:LONGEST_SHOWN]}…"


class KeptColumn(TypeDecorator[Any]):
    """A column whose values are looked at as they are read.

    `arguments` are of the type that the database knows. `missing` says whether a value may be
    missing.
    """

    cache_ok = True

    def __init_subclass__(cls) -> None:
        super().__init_subclass__()
        cls.cache_ok = True  # SQLAlchemy asks each class for itself

    def __init__(self, *arguments: Any, missing: bool = False) -> None:
        super().__init__(*arguments)
        self.missing = missing

    def taker(self, read: Taker | None = None) -> Taker:
        """Return what takes a value, or refuses it by `refuse`.

        `read` is what turns a value of the database into Python's; None where it is that already.
        """
        passes, refuse = self._passing(), self.refuse

        def taken(value: Any) -> Any:
            return (read(value) if read else value) if passes(value) else refuse(value)

        return taken

    def _passing(self) -> Callable[[Any], bool]:
        """Return what tells whether a value of the database is what belongs there."""
        raise NotImplementedError

    def refuse(self, value: object) -> None:
        """Let a missing value pass where one may be missing, and nothing else."""
        if value is None and self.missing:
            return
        if value is None:
            raise DamagedError("something is missing in it")
        raise DamagedError(f"it holds {shortened(value)} where that can't be")

    def result_processor(self, dialect: Dialect, coltype: object) -> Taker:
        """Return what turns a value of the database into one of ours."""
        return self.taker(self.impl_instance.result_processor(dialect, coltype))


class NumberColumn(KeptColumn):
    """A finite number from `least` to `most`."""

    impl: type[sql.types.TypeEngine[Any]] = sql.Double
    kinds = NUMBERS

    def __init__(
        self, least: float = -FARTHEST, most: float = FARTHEST, *, missing: bool = False
    ) -> None:
        super().__init__(missing=missing)
        self.least, self.most = least, most

    def _passing(self) -> Callable[[Any], bool]:
        kinds, least, most = self.kinds, self.least, self.most
        return lambda value: type(value) in kinds and least <= value <= most


class WholeColumn(NumberColumn):
    """A whole number from `least` to `most`."""

    impl = sql.Integer
    kinds = frozenset({int})

    def __init__(self, least: int = 0, most: int = MOST_WHOLE, *, missing: bool = False) -> None:
        super().__init__(least, most, missing=missing)


class TruthColumn(KeptColumn):
    """Yes or no; the type below would take any text for yes."""

    impl = sql.Boolean

    def _passing(self) -> Callable[[Any], bool]:
        return lambda value: type(value) in WHOLE and value in {0, 1}


class WordColumn(KeptColumn):
    """A short text; where `among` says some, one of those."""

    impl = sql.String

    def __init__(self, length: int, *, among: tuple[str, ...] = (), missing: bool = False) -> None:
        super().__init__(length, missing=missing)
        self.length, self.among = length, among

    def _passing(self) -> Callable[[Any], bool]:
        if among := frozenset(map(str, self.among)):
            return lambda value: type(value) is str and value in among
        return lambda value: type(value) is str and len(value) <= LONGEST_WORD


class ProseColumn(KeptColumn):
    """A text of at most `longest` characters."""

    impl: type[sql.types.TypeEngine[Any]] = sql.Text
    kind: type[str] | type[bytes] = str

    def __init__(self, longest: int = LONGEST_PROSE) -> None:
        super().__init__()
        self.longest = longest

    def _passing(self) -> Callable[[Any], bool]:
        kind, longest = self.kind, self.longest
        return lambda value: type(value) is kind and len(value) <= longest


class ContentColumn(ProseColumn):
    """The content of a file, at most `longest` bytes."""

    impl, kind = sql.LargeBinary, bytes


def now() -> datetime:
    """Return the present moment, in UTC, to the second."""
    return datetime.now(UTC).replace(microsecond=0)


class Moment(KeptColumn):
    """A moment; databases that know no time zones hold it as UTC."""

    impl = sql.DateTime

    def __init__(self, *, missing: bool = False) -> None:
        super().__init__(True, missing=missing)  # with its time zone, where there are such

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        """Turn any aware moment into UTC."""
        del dialect
        return None if value is None else value.astimezone(UTC)

    def taker(self, read: Taker | None = None) -> Taker:
        """Say of what comes back that it is UTC, see `KeptColumn.taker`."""

        def taken(value: Any) -> Any:
            if value is None:
                return self.refuse(value)
            try:
                moment = read(value) if read else value
                return (
                    moment.replace(tzinfo=UTC) if moment.tzinfo is None else moment.astimezone(UTC)
                )
            except WRONG:
                return self.refuse(value)

        return taken


class JsonColumn(KeptColumn):
    """JSON of at most `longest` characters, of which `holds` says whether it is what belongs."""

    impl = sql.JSON
    longest = LONGEST_WORD

    def taker(self, read: Taker | None = None) -> Taker:
        """See `KeptColumn.taker`."""

        def taken(value: Any) -> Any:
            if value is None or (isinstance(value, str) and self._is_too_much(value)):
                return self.refuse(value)
            try:
                found = read(value) if read else value
                return found if self.holds(found) else self.refuse(value)
            except WRONG:
                return self.refuse(value)

        return taken

    def _is_too_much(self, text: str) -> bool:
        """Return whether a text would take too much memory once it is read."""
        return len(text) > self.longest or text.count("[") + text.count("{") > MOST_NESTED

    def holds(self, found: Any) -> bool:
        """Return whether a value is what belongs there."""
        raise NotImplementedError


class NumbersColumn(JsonColumn):
    """So many numbers as `count` says, none of them beyond `most`."""

    def __init__(self, count: int, *, most: float, missing: bool = False) -> None:
        super().__init__(missing, missing=missing)  # one that may be missing is NULL, not "null"
        self.count, self.most = count, most
        self.longest = count * MOST_DIGITS

    def holds(self, found: Any) -> bool:
        """Return whether these are the numbers; their sum tells of one that is none (NaN)."""
        return (
            type(found) is list
            and len(found) == self.count
            and NUMBERS.issuperset(map(type, found))
            and -FARTHEST < sum(found) < FARTHEST
            and -self.most <= min(found)
            and max(found) <= self.most
        )


class WordsColumn(JsonColumn):
    """A few short texts."""

    def holds(self, found: Any) -> bool:
        """Return whether these are texts."""
        return type(found) is list and all(isinstance(word, str) for word in found)


class ImageColumn(JsonColumn):
    """A row as the journal keeps it, by its columns; `laydown.store.journal` looks at those."""

    longest = 4 * LONGEST_LESSON  # a lesson is the longest; other signs than ASCII take six

    def __init__(self) -> None:
        super().__init__(True, missing=True)

    def holds(self, found: Any) -> bool:
        """Return whether this is a row."""
        return type(found) is dict


class WrittenJson(TypeDecorator[str]):
    """JSON that is text already, so that a transaction doesn't have to wait for it."""

    impl = sql.JSON
    cache_ok = True

    def bind_processor(self, dialect: Dialect) -> None:
        """Hand the text over as it is."""


def free_numbers(connection: sql.Connection, table: sql.Table, count: int) -> list[int]:
    """Take so many numbers for new rows of a table, the same that they would be given one by one.

    It needs the right to write, which keeps another from taking the same.
    """
    if connection.dialect.name == "sqlite":
        highest = sql.select(sql.func.coalesce(sql.func.max(table.c.id), 0))
        first = 1 + (connection.scalar(highest) or 0)
        return list(range(first, first + count))
    number = sql.func.nextval(sql.func.pg_get_serial_sequence(table.name, "id"))
    numbers = sql.select(number).select_from(sql.func.generate_series(1, count))
    return list(connection.scalars(numbers))


def to_be_written(table: sql.Table) -> sql.Table:
    """Return a table for writing alone, whose JSON comes as text."""
    columns = (
        sql.Column(
            column.name,
            WrittenJson() if isinstance(column.type, JsonColumn) else column.type,
            primary_key=column.primary_key,
        )
        for column in table.c
    )
    return sql.Table(table.name, sql.MetaData(), *columns)


def insert_all(
    connection: sql.Connection, table: sql.Table, rows: Sequence[Mapping[str, Any]]
) -> None:
    """Write rows of the same columns in one step, which takes half as long as one statement each.

    The driver is handed what it asks for, so that nothing looks at every value twice meanwhile.
    """
    dialect, names = connection.dialect, list(rows[0])
    written = sql.insert(table).compile(dialect=dialect, column_keys=names)
    kinds = {name: table.c[name].type.dialect_impl(dialect) for name in names}
    turned = {n: turn for n, kind in kinds.items() if (turn := kind.bind_processor(dialect))}
    if turned:
        rows = [{**row, **{n: turn(row[n]) for n, turn in turned.items()}} for row in rows]
    order = written.positiontup
    connection.exec_driver_sql(str(written), list(map(itemgetter(*order), rows)) if order else rows)
