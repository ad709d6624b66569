"""All of a library read once, so that what can't be read is told before anyone counts on it."""

from collections.abc import Iterable, Sequence
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from laydown.media.recipe import checked_name, name_key
from laydown.store.jobs import unpacked
from laydown.store.journal import table_of
from laydown.store.lightfastness import Ratings
from laydown.store.sheets import Sheets
from laydown.store.swatches import SwatchesWanted, count_records, read_swatches
from laydown.store.tables import (
    ColorantRow,
    JobTextRow,
    JournalRow,
    KitRow,
    LibraryTable,
    PaperRow,
    RangeRow,
)
from laydown.store.trials import Notebook
from laydown.store.trouble import from_rows

NAMED = (RangeRow, ColorantRow, PaperRow, KitRow)
AT_ONCE = 1000
"""Swatches that are in memory together."""


def read_through(session: Session) -> None:
    """Read every value of every table, and make of the rows what is ever made of them.

    Raises
    ------
    DamagedError
        For what no laydown writes.
    """
    for table in LibraryTable.metadata.sorted_tables:
        for _ in one_by_one(session, table.c):
            pass
    for named in NAMED:
        for name, key in session.execute(select(named.name, named.key)):
            _check_name(name, key)
    for skip in range(0, count_records(session, SwatchesWanted()), AT_ONCE):
        read_swatches(session, SwatchesWanted(), skip=skip, most=AT_ONCE)
    Ratings(session).all()
    Ratings(session).tests()
    Notebook(session).read_through()
    Sheets(session).read_through()
    images = (JournalRow.table_name, JournalRow.before, JournalRow.after)
    for entry in one_by_one(session, images):
        name, before, after = tuple(entry)
        table_of(name, before, after)
    for (content,) in one_by_one(session, (JobTextRow.content,)):
        unpacked(content)


def one_by_one(session: Session, columns: Iterable[Any]) -> Iterable[Sequence[Any]]:
    """Return rows of which never more than one is in memory, for each may be large."""
    return session.execute(select(*columns).execution_options(yield_per=1))


@from_rows
def _check_name(name: str, key: str) -> None:
    if checked_name(name, "thing") != name or name_key(name) != key:
        raise ValueError(f"“{name[:40]}” is not found by its name")
