"""Libraries that were meddled with: refused as backups, and never opened to do their work."""

import sqlite3
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import pytest

from laydown.errors import LibraryError
from laydown.store.library import Library, open_library


def replacing(words: str, others: str) -> str:
    """Return the statement that puts other words into the making of the table of papers."""
    change = f"update sqlite_master set sql = replace(sql, '{words}', '{others}')"
    return f"{change} where name = 'papers'"


ENDLESS = (
    "create view papers as with recursive n(i) as (select 1 union all select i + 1 from n) "
    "select i as id, 'p' || i as name, 'p' || i as \"key\", 6 as coats_limit from n"
)
"""A view that never ends in the place of a table."""
OBJECTS = {
    "trigger": ("create trigger greedy after insert on papers begin delete from kit_members; end",),
    "view": ("create view more as select * from papers",),
    "view for a table": ("alter table papers rename to old_papers", ENDLESS),
    "view for the version": (
        "alter table alembic_version rename to old_version",
        "create view alembic_version as select version_num from old_version",
    ),
    "missing table": ("drop table swatch_colorants",),
    "missing index": ("drop index ix_swatch_colorants_colorant_id",),
    "further table": ("create table more (id integer)",),
    "missing column": ("alter table plans drop column revision",),
    "further column": ("alter table papers add column more text",),
    "generated column": ("alter table papers add column more as (coats_limit * 2)",),
    "index of an expression": ("create index more on papers (lower(name))",),
    "index of a part": ("create index more on papers (name) where coats_limit > 5",),
    "virtual table": ("create virtual table more using fts5(name)",),
    "statistics": ("analyze",),
    "constraint that deletes": (
        "pragma writable_schema = on",
        replacing('UNIQUE ("key")', 'UNIQUE ("key") ON CONFLICT REPLACE'),
    ),
    "default that computes": (
        "pragma writable_schema = on",
        replacing("coats_limit INTEGER", "coats_limit INTEGER DEFAULT (abs(-9))"),
    ),
    "blank that is none": (
        "pragma writable_schema = on",
        replacing("coats_limit INTEGER NOT NULL", "coats_limit INTEGER NOT\N{NO-BREAK SPACE}NULL"),
    ),
}
"""Ways to make the objects of a library others than ours."""


@pytest.mark.parametrize("kind", OBJECTS)
def test_a_backup_with_other_objects_is_refused(
    full: Library, meddled: Callable[..., Path], refused: Callable[..., str], kind: str
) -> None:
    """A trigger, a view, a table, column or index that isn't exactly ours is never taken in."""
    backup = meddled(full, *OBJECTS[kind])
    assert str(backup) in refused(full, backup)


@pytest.mark.parametrize("kind", OBJECTS)
def test_a_library_with_other_objects_is_not_opened(
    full: Library, meddled: Callable[..., Path], kind: str
) -> None:
    """Nor is it used where it lies, and not a byte of it changes."""
    given = meddled(full, *OBJECTS[kind])
    before = given.read_bytes()
    with pytest.raises(LibraryError, match=r"backup\.db") as trouble:
        open_library(given)
    assert trouble.value.hint
    assert given.read_bytes() == before


def with_shared_pages(path: Path, *, levels: int = 6) -> None:
    """Let the tree of the changes lead to the same page of rows over and over again."""
    with closing(sqlite3.connect(path)) as connection:
        ((root,),) = connection.execute("select rootpage from sqlite_master where name = 'changes'")
        ((size,),) = connection.execute("pragma page_size")
    content = bytearray(path.read_bytes())
    pages = len(content) // size
    content += content[(root - 1) * size : root * size]  # the rows, on a page of their own
    for level in range(levels):
        to = (pages + 1 + level).to_bytes(4, "big")
        many = (size - 12) // (2 + 5)
        starts = [size - 5 * (place + 1) for place in range(many)]
        page = bytearray(size)
        page[:12] = (
            b"\x05\0\0" + many.to_bytes(2, "big") + starts[-1].to_bytes(2, "big") + b"\0" + to
        )
        for place, start in enumerate(starts):
            page[12 + 2 * place : 14 + 2 * place] = start.to_bytes(2, "big")
            page[start : start + 5] = to + b"\x01"
        if level < levels - 1:
            content += page
        else:
            content[(root - 1) * size : root * size] = page
    content[28:32] = (len(content) // size).to_bytes(4, "big")
    path.write_bytes(content)


def with_a_million_tables(path: Path) -> None:
    """Fill the schema of a library beyond what SQLite reads in minutes."""
    with closing(sqlite3.connect(path, isolation_level=None)) as connection:
        connection.execute("pragma writable_schema = on")
        connection.execute(
            "insert into sqlite_master with recursive n(i) as (select 1 union all select i + 1 "
            "from n limit 1000000) select 'table', 't' || i, 't' || i, 2, 'create table t' || i || "
            "'(a)' from n"
        )


@pytest.mark.parametrize("meddle", [with_shared_pages, with_a_million_tables])
def test_what_would_take_for_ever_is_broken_off(
    full: Library,
    meddled: Callable[..., Path],
    refused: Callable[..., str],
    meddle: Callable[[Path], None],
) -> None:
    """Pages that are read over and over, and a schema without end, end in a sentence."""
    meddle(given := meddled(full))
    refused(full, given)
    with pytest.raises(LibraryError) as trouble:
        open_library(given).history()
    assert trouble.value.hint
