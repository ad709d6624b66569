"""The journal: every row a command writes, before and after, in the command's own transaction.

The mapper's flush events report rows in the order they are written, so that taking a change back
is replaying its rows from the last to the first, each the other way round.
"""

import json
from collections.abc import Iterable, Mapping, Sequence
from datetime import UTC, datetime
from itertools import groupby
from typing import Any

import sqlalchemy as sql
from sqlalchemy.orm import Mapper, Session, object_session

from laydown.errors import LibraryError, NothingToRedoError, NothingToUndoError
from laydown.store import columns, files, records, tables, trouble
from laydown.store.tables import LibraryTable as Mapped

Image = dict[str, Any]
Edition = tuple[Any, ...]
"""Of all changes the count and the sum of their numbers, of the latest its label and moment; of the
entries of trials, which are in no change, the count and the highest number."""

TABLES = {row.__tablename__: Mapped.metadata.tables[row.__tablename__] for row in tables.JOURNALED}
LONGEST_LABEL = 500
AT_ONCE = 250
"""Rows that undo removes in one statement."""
_WRITTEN = columns.to_be_written(Mapped.metadata.tables[tables.JournalRow.__tablename__])
TABLE_OF_CHANGES = Mapped.metadata.tables[tables.ChangeRow.__tablename__]
_JOURNAL = "journal"
_BEFORE = "before"


def start(session: Session) -> None:
    """Begin to keep the journal of a session."""
    session.info[_JOURNAL] = []
    session.info[_BEFORE] = {}


def wrote(session: Session) -> bool:
    """Return whether the session has written a row that the journal keeps."""
    return bool(session.info[_JOURNAL])


def close(session: Session, label: str, when: datetime) -> None:
    """Write what the session did as one change; nothing where it did nothing."""
    entries: list[tuple[str, Image | None, Image | str | None]] = session.info[_JOURNAL]
    if not entries:
        return
    # what was taken back is forgotten: what is changed now may contradict it
    session.execute(sql.delete(tables.JournalRow).where(tables.JournalRow.change_id < 0))
    session.execute(sql.delete(tables.ChangeRow).where(tables.ChangeRow.id < 0))
    change = tables.ChangeRow(label=label[:LONGEST_LABEL], made=when, who=files.person(session))
    session.add(change)
    session.flush()
    rows = [
        {
            "change_id": change.id,
            "position": position,
            "table_name": name,
            "before": _written(before),
            "after": _written(after),
        }
        for position, (name, before, after) in enumerate(entries)
    ]
    columns.insert_all(session.connection(), _WRITTEN, rows)


def note_inserted(session: Session, name: str, images: Iterable[str]) -> None:
    """Note rows of a table that were written at once, each as JSON of all its columns."""
    session.info[_JOURNAL] += [(name, None, image) for image in images]


def _written(image: Image | str | None) -> str | None:
    return json.dumps(image) if isinstance(image, dict) else image


_LATEST = tables.ChangeRow.id.desc()
_TOLD = (
    (sql.select(sql.func.count(tables.ChangeRow.id)), sql.Integer),
    (sql.select(sql.func.sum(tables.ChangeRow.id)), sql.Integer),
    (sql.select(tables.ChangeRow.label).order_by(_LATEST).limit(1), sql.String),
    (sql.select(tables.ChangeRow.made).order_by(_LATEST).limit(1), sql.String),
    (sql.select(sql.func.count(tables.TrialEntryRow.id)), sql.Integer),
    (sql.select(sql.func.max(tables.TrialEntryRow.id)), sql.Integer),
)
EDITION = sql.select(
    # of no rows there is no sum and no latest, which isn't a row's missing value
    *(sql.type_coerce(asked.scalar_subquery(), kind) for asked, kind in _TOLD)
)


def edition(reader: sql.Connection | Session) -> Edition:
    """Return what tells a library as it is from others; a number is used again after undo."""
    return tuple(reader.execute(EDITION).one())


def history(
    session: Session, *, undone: bool = False, own: bool = False
) -> tuple[records.Change, ...]:
    """Return the changes that can be taken back, or one's own that were; the next one first.

    Each takes back its own alone: what undo takes next is the first of those.
    """
    such = tables.ChangeRow.id < 0 if undone else tables.ChangeRow.id > 0
    if undone or own:
        such &= tables.ChangeRow.who == files.person(session)
    counted = (
        sql.select(tables.ChangeRow, sql.func.count(tables.JournalRow.id))
        .join(tables.JournalRow, tables.JournalRow.change_id == tables.ChangeRow.id)
        .where(such)
        .group_by(tables.ChangeRow.id)
        .order_by(tables.ChangeRow.id.desc())
    )
    return tuple(
        records.Change(r.id, r.label, r.made, count, r.who) for r, count in session.execute(counted)
    )


def take_back(session: Session) -> records.Change:
    """Take back the latest change as a whole, and keep it until something else is changed.

    Raises `NothingToUndoError` when there is none, or the library was brought up to date since.
    Raises `LibraryError` when a row is no longer as the change left it.
    """
    latest = _last(session, tables.ChangeRow.id > 0)
    if latest is None:
        raise NothingToUndoError("There is no change left to take back.")
    rows = _rows_of(session, latest)
    if not rows:
        raise NothingToUndoError(
            f"“{latest.label}” can't be taken back: it was done before an update of laydown.",
            hint="Go back further with a backup from before it.",
            command="laydown library restore FILE",
        )
    for (name, adds), run in groupby(rows[::-1], lambda row: (row.table_name, row.before is None)):
        written = [(table_of(name, row.before, row.after), row.before, row.after) for row in run]
        if adds:
            _remove(session.connection(), TABLES[name], [after or {} for _, _, after in written])
            continue
        for one in written:
            _reverse(session.connection(), *one)
    return _renumber(session, latest, rows)


def do_again(session: Session) -> records.Change:
    """Do again, as a whole, the change that was taken back last.

    Raises `NothingToRedoError` when nothing was taken back since the last change. Raises
    `LibraryError` when a row is no longer as it was when the change was taken back.
    """
    undone = _last(session, tables.ChangeRow.id < 0)
    rows = _rows_of(session, undone) if undone is not None else ()
    if undone is None or not rows:
        raise NothingToRedoError("There is no undone change to do again.")
    for row in rows:
        table = table_of(row.table_name, row.before, row.after)
        _reverse(session.connection(), table, row.after, row.before)
    return _renumber(session, undone, rows)


def _last(session: Session, such: sql.ColumnElement[bool]) -> tables.ChangeRow | None:
    """Return the last such change of who is at work."""
    own = sql.select(tables.ChangeRow).where(such, tables.ChangeRow.who == files.person(session))
    return session.scalar(own.order_by(tables.ChangeRow.id.desc()).limit(1).with_for_update())


def _rows_of(session: Session, change: tables.ChangeRow) -> Sequence[tables.JournalRow]:
    of = sql.select(tables.JournalRow).where(tables.JournalRow.change_id == change.id)
    return session.scalars(of.order_by(tables.JournalRow.position)).all()


def _renumber(
    session: Session, row: tables.ChangeRow, rows: Sequence[tables.JournalRow]
) -> records.Change:
    """Turn the sign of a change's number, and return it as it was: undone ones are below zero.

    So the last of those below zero is always the one that was undone last.
    """
    change = records.Change(row.id, row.label, row.made, len(rows), row.who)
    connection = session.connection()
    kept = {"label": change.label, "made": change.when, "who": change.who}
    connection.execute(sql.insert(TABLE_OF_CHANGES).values(id=-change.id, **kept))
    moved = sql.update(tables.JournalRow).where(tables.JournalRow.change_id == change.id)
    connection.execute(moved.values(change_id=-change.id))
    connection.execute(sql.delete(tables.ChangeRow).where(tables.ChangeRow.id == change.id))
    return change


@trouble.from_rows
def table_of(name: str, before: Image | None, after: Image | None) -> sql.Table:
    """Return the table of an entry, whose images are such as can be rows of it."""
    table = TABLES[name]
    for image in (before, after):
        if image is not None:
            _check(table, image)
    if before is None and after is None:
        raise ValueError("nothing was there before or after")
    return table


def _check(table: sql.Table, image: Image) -> None:
    if image.keys() != set(table.c.keys()):
        raise ValueError(f"{', '.join(sorted(image))[:80]} are not the columns of {table.name}")
    for name, value in _values(table, image).items():
        kind = table.c[name].type
        assert isinstance(kind, columns.KeptColumn)
        kind.taker()(value)


def _remove(connection: sql.Connection, table: sql.Table, images: Sequence[Image]) -> None:
    """Remove rows that a change added, many at a time."""
    key = [column.name for column in table.primary_key]
    for start in range(0, len(images), AT_ONCE):
        some = images[start : start + AT_ONCE]
        these = sql.tuple_(*table.primary_key).in_(
            [tuple(image[name] for name in key) for image in some]
        )
        rows = connection.execute(sql.select(table).where(these)).mappings()
        here = {tuple(row[name] for name in key): _image_of(row) for row in rows}
        if any(here.get(tuple(image[name] for name in key)) != image for image in some):
            raise _changed(table)
        connection.execute(sql.delete(table).where(these))


def _changed(table: sql.Table) -> LibraryError:
    return LibraryError(
        f"A row of {table.name} is no longer as the last command left it.",
        hint="Something else wrote to the library; restore a backup instead.",
    )


def _reverse(
    connection: sql.Connection, table: sql.Table, before: Image | None, after: Image | None
) -> None:
    here = _condition(table, after or before or {})
    if _image(connection, table, here) != after:
        raise _changed(table)
    if before is None:
        connection.execute(sql.delete(table).where(here))
    elif after is None:
        connection.execute(sql.insert(table).values(_values(table, before)))
    else:
        connection.execute(sql.update(table).where(here).values(_values(table, before)))


def _condition(table: sql.Table, image: Image) -> Any:
    return sql.and_(*(column == image[column.name] for column in table.primary_key))


def _image(connection: sql.Connection, table: sql.Table, condition: Any) -> Image | None:
    row = connection.execute(sql.select(table).where(condition)).mappings().first()
    return None if row is None else _image_of(row)


def _image_of(row: Mapping[Any, Any]) -> Image:
    return {name: _plain(value) for name, value in row.items()}


def _plain(value: Any) -> Any:
    return value.astimezone(UTC).isoformat() if isinstance(value, datetime) else value


def _values(table: sql.Table, image: Image) -> Image:
    return {
        name: datetime.fromisoformat(value)
        if value is not None and isinstance(table.c[name].type, columns.Moment)
        else value
        for name, value in image.items()
    }


def _watched(row: Mapped) -> tuple[Session, sql.Table] | None:
    session = object_session(row)
    if session is None or not isinstance(row, tables.JOURNALED) or _JOURNAL not in session.info:
        return None
    return session, TABLES[row.__tablename__]


def _before_write(_mapper: Mapper[Any], connection: sql.Connection, row: Mapped) -> None:
    if watched := _watched(row):
        session, table = watched
        session.info[_BEFORE][id(row)] = _image(connection, table, _lies(row, table))


def _after_insert(_mapper: Mapper[Any], _connection: sql.Connection, row: Mapped) -> None:
    if watched := _watched(row):
        session, table = watched
        image = {column.name: _plain(getattr(row, column.name)) for column in table.c}
        session.info[_JOURNAL].append((table.name, None, image))


def _after_write(_mapper: Mapper[Any], connection: sql.Connection, row: Mapped) -> None:
    if watched := _watched(row):
        session, table = watched
        before = session.info[_BEFORE].pop(id(row), None)
        after = _image(connection, table, _lies(row, table))
        if before != after:
            session.info[_JOURNAL].append((table.name, before, after))


def _lies(row: Mapped, table: sql.Table) -> Any:
    return _condition(table, {key.name: getattr(row, key.name) for key in table.primary_key})


for _moment, _listener in (
    ("before_update", _before_write),
    ("before_delete", _before_write),
    ("after_insert", _after_insert),
    ("after_update", _after_write),
    ("after_delete", _after_write),
):
    sql.event.listen(Mapped, _moment, _listener, propagate=True)
