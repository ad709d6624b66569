"""What a library file is made of, step by step, and the check that it is made of nothing else.

Whoever hands on a library could have put a trigger, a view, a rule or a computed column into it,
and SQLite would run that with our next command. So the statements that a file keeps of its own
objects are compared with those that our steps write, recorded in ``migrations/objects.json`` by
``tools/make_library_objects.py``.
"""

import json
import re
import sqlite3
from functools import cache
from pathlib import Path

from laydown.errors import LibraryError

RECORDED = Path(__file__).parent / "migrations" / "objects.json"
VERSION_TABLE = "alembic_version"
MOST_OBJECTS = 500
"""Far more than we make; what comes after is not even looked at."""
LONGEST_SHOWN = 40
GONE = "gone"
"""Recorded in place of the kind of an object that a step takes away; its kind comes third."""

Object = tuple[str, str, str, str]
"""Kind, name, the table it belongs to, and its statement; empty for an index SQLite makes."""


def plain(statement: str) -> str:
    r"""Write a statement with as few blanks as it can have, for releases of what wrote it differ.

    Only what SQLite itself takes for a blank is one; everything else stays, to the letter.

    Examples
    --------
    >>> plain('CREATE TABLE kits (\n\tid INTEGER, \n\t"key" TEXT\n)')
    'CREATE TABLE kits(id INTEGER,"key" TEXT)'
    """
    return re.sub(r" ?([(),]) ?", r"\1", re.sub(r"[ \t\n\f\r]+", " ", statement)).strip(" ")


def objects_in(connection: sqlite3.Connection) -> frozenset[Object]:
    """Return the objects of a file, a few too many at most."""
    rows = connection.execute(
        f"select type, name, tbl_name, sql from sqlite_master limit {MOST_OBJECTS}"
    )
    return frozenset(
        (str(kind), str(name), str(table), plain(str(sql or ""))) for kind, name, table, sql in rows
    )


@cache
def objects_of(revision: str) -> frozenset[Object]:
    """Return the objects that a library has after a step."""
    recorded = json.loads(RECORDED.read_text(encoding="utf-8"))
    objects: dict[tuple[str, str], Object] = {}
    for step in sorted(recorded):  # a later step may write an earlier one's object anew
        for kind, name, table, sql in recorded[step] if step <= revision else ():
            if kind == GONE:
                del objects[table, name]
            else:
                objects[kind, name] = (kind, name, table, sql)
    return frozenset(objects.values())


def has_our_version(objects: frozenset[Object]) -> bool:
    """Return whether the table that names the last step is there, and is exactly ours."""
    ours = {made for made in objects_of("0001") if made[1] == VERSION_TABLE}
    return ours <= objects


def check_objects(objects: frozenset[Object], revision: str, where: str) -> None:
    """Refuse a library that has other objects than ours.

    Parameters
    ----------
    objects
        From `objects_in`.
    revision
        The last step it says it has taken.
    where
        The file, for messages.

    Raises
    ------
    LibraryError
        Names one that is too many, too few or altered.
    """
    ours = objects_of(revision)
    if objects == ours:
        return
    raise LibraryError(
        f"{where} is no sound laydown library: {_difference(objects, ours)}.",
        hint="Ask whoever gave it to you for a backup that laydown made, or choose another file.",
    )


def _difference(objects: frozenset[Object], ours: frozenset[Object]) -> str:
    known = {name for _, name, _, _ in ours}
    strange = [(name not in known, kind, name) for kind, name, _, _ in objects - ours]
    if not strange:
        kind, name = max((kind, name) for kind, name, _, _ in ours - objects)  # tables before all
        return f"its {_shown(kind, name)} is missing"
    added, kind, name = max(strange)
    if added:
        return f"laydown never makes its {_shown(kind, name)}"
    return f"its {_shown(kind, name)} is not as laydown makes it"


def _shown(kind: str, name: str) -> str:
    printable = "".join(sign if sign.isprintable() else "?" for sign in name[:LONGEST_SHOWN])
    return f"{kind} “{printable}”"
