"""Record the objects that each step of a library makes, in store/migrations/objects.json.

Run after a step is added: python tools/make_library_objects.py
"""

import json
import sqlite3
import tempfile
from contextlib import closing
from pathlib import Path

from laydown.store.files import find_location, make_engine
from laydown.store.migrating import GONE, RECORDED, REVISIONS, Object, objects_in, run_steps


def objects_after(revision: str) -> frozenset[Object]:
    """Return the objects of a new library that has taken the steps up to one."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "library.db"
        engine = make_engine(find_location(path))
        with engine.begin() as connection:
            run_steps(connection, revision)
        engine.dispose()
        with closing(sqlite3.connect(path)) as connection:
            return objects_in(connection)


def recorded() -> str:
    """Return the record: step by step what is there and wasn't before, or not so, or is gone."""
    before: frozenset[Object] = frozenset()
    made = {}
    for revision in REVISIONS:
        after = objects_after(revision)
        gone = {each[:2] for each in before} - {each[:2] for each in after}
        made[revision] = sorted((after - before) | {(GONE, name, kind, "") for kind, name in gone})
        before = after
    return json.dumps(made, indent=1) + "\n"


if __name__ == "__main__":
    RECORDED.write_text(recorded(), encoding="utf-8")
    print(f"Wrote {RECORDED.name}.")
