import base64
import hashlib
import io
import json
import sqlite3
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from PIL import Image
from sqlalchemy import text

from laydown import __version__
from laydown.bare_picture import bare
from laydown.errors import LibraryError
from laydown.media.recipe import format_recipe
from laydown.store import migrating
from laydown.store.columns import KeptColumn
from laydown.store.files import find_location, make_engine
from laydown.store.jobs import packed
from laydown.store.library import Library, open_library
from laydown.store.migrating import (
    REVISIONS,
    objects_in,
    objects_of,
    run_steps,
    version_number,
)
from laydown.store.migrations.steps import STEPS
from laydown.store.tables import LibraryTable


def older_library(path: Path) -> None:
    """Make a library that has taken the first step only, with one paper."""
    engine = make_engine(find_location(path))
    with engine.begin() as connection:
        run_steps(connection, REVISIONS[0])
        connection.execute(text("PRAGMA user_version = 0"))
        connection.execute(
            text("insert into papers (name, key, coats_limit) values ('Heron', 'heron', 5)")
        )
    engine.dispose()


def test_the_steps_make_the_tables_that_are_mapped(any_library: Library) -> None:
    """After all steps a database has exactly the tables and columns the code maps."""
    with any_library._engine.connect() as connection:
        context = MigrationContext.configure(connection, opts={"compare_type": True})
        assert compare_metadata(context, LibraryTable.metadata) == []
        assert context.get_current_revision() == REVISIONS[-1]


def test_every_step_is_known_and_listed() -> None:
    """There is a revision for each of the steps, and none is taken twice."""
    assert len(set(STEPS)) == len(STEPS) == len(REVISIONS)


def test_an_older_library_is_backed_up_and_brought_up_to_date(path: Path) -> None:
    """Its content stays, and a copy from before lies beside it."""
    older_library(path)
    before = path.read_bytes()
    library = open_library(path)
    with library.look() as work:
        assert [(p.name, p.coats_limit) for p in work.papers()] == [("Heron", 5)]
        assert work.kits() == ()
    assert library.upgraded_from is not None
    assert library.upgraded_from.parent == path.parent
    assert library.upgraded_from.name.startswith(f"library.before-{REVISIONS[-1]}-")
    engine = make_engine(find_location(library.upgraded_from))
    with engine.connect().execution_options(reads_only=True) as connection:
        version = connection.execute(text("select version_num from alembic_version")).scalar()
    assert version == REVISIONS[0]
    assert len(before) == library.upgraded_from.stat().st_size


NUMBERS = "[" + ", ".join(["0.5"] * 36) + "]"
LAID_BEFORE = (
    "insert into ranges values (1, 'Pond', 'pond', 'wash')",
    (
        "insert into colorants values (1, 1, 'Loam', 'loam', '', false), "
        "(2, 1, 'Reed', 'reed', '', false)"
    ),
    "insert into papers values (1, 'Heron', 'heron', 5)",
    *(
        f"insert into swatches values ({number}, 1, 'spectrum', '{NUMBERS}', '[1, 1, 1]', 0.5, "
        f"'{flags}', '2026-03-04 10:00:00+00:00')"
        for number, flags in ((1, "[]"), (2, '["above-white", "read-after-0.25h"]'), (7, "[]"))
    ),
    (
        "insert into steps values (1, 2, 1, 2, 3, 'even', 'medium', 0.1, 'wet', null, null), "
        "(2, 2, 0, 1, 1, 'even', 'medium', 0, 'dry', null, null), "
        "(3, 7, 0, 1, 1, 'even', 'medium', 0.3333333333333333, 'dry', null, null), "
        "(4, 7, 1, null, null, null, null, null, null, 'solvent', 'swab')"
    ),
    "insert into parts values (1, 3, 0, 1, 2), (2, 3, 1, 2, 1)",
    "insert into fits values (1, '[\"Pond\"]', 'Heron', 'film', 'a hash', '{}')",
)
"""Rows of a library as step 0010 left it: bare paper, two steps read while wet, and a mixture."""


@pytest.mark.parametrize(
    "where", ["path", pytest.param("server_address", marks=pytest.mark.postgres)]
)
def test_what_was_laid_becomes_the_text_of_a_recipe(
    where: str, request: pytest.FixtureRequest
) -> None:
    """Steps and parts are written as people type them, to the last digit; hours become a number."""
    place = request.getfixturevalue(where)
    engine = make_engine(find_location(place))
    with engine.begin() as connection:
        run_steps(connection, "0010")
        for statement in LAID_BEFORE:
            connection.execute(text(statement))
    engine.dispose()
    library = open_library(place)
    with library.look() as work:
        kept = {one.id: one.swatch for one in work.swatches()}
        assert work.fit((("Pond",), "Heron", "film", "a hash")) is None
        assert [(c.swatches, c.colorants) for c in work.coverage()] == [(2, 2)]
    library.close()
    assert [format_recipe(swatch.recipe) for swatch in kept.values()] == [
        "",
        "Loam; Reed*3 (wet, dilution 0.1)",
        "mix 2 Loam + 1 Reed (dilution 0.3333333333333333); solvent by swab",
    ]
    assert [swatch.hours for swatch in kept.values()] == [None, 0.25, None]
    assert kept[2].flags == {"above-white"}


def test_a_step_that_fails_leaves_the_older_library(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A step that breaks off is rolled back: the library is as old as it was, and whole."""
    older_library(path)

    def fail(*_arguments: object, **_options: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("alembic.op.create_index", fail)
    with pytest.raises(KeyboardInterrupt):
        open_library(path)
    monkeypatch.undo()
    library = open_library(path)
    assert library.upgraded_from is not None
    with library.look() as work:
        assert [paper.name for paper in work.papers()] == ["Heron"]


def test_a_library_of_today_needs_no_backup(full: Library, path: Path) -> None:
    """Opening a library that is up to date changes no byte and makes no file."""
    full.close()
    before = path.read_bytes()
    assert open_library(path).upgraded_from is None
    assert path.read_bytes() == before
    assert list(path.parent.iterdir()) == [path]


def test_a_newer_library_is_refused(any_library: Library) -> None:
    """A library that has taken steps unknown here is left alone."""
    with any_library._engine.begin() as connection:
        connection.execute(text("update alembic_version set version_num = '0999'"))
    where = any_library._engine.url.render_as_string(hide_password=False)
    with pytest.raises(LibraryError, match="written by a newer laydown") as trouble:
        open_library(where)
    assert "Install the newer laydown" in trouble.value.hint


def test_a_newer_laydown_is_told_by_its_version(full: Library, path: Path) -> None:
    """A file says who wrote it, so that one knows what to install; nothing of it is changed."""
    full.close()
    with closing(sqlite3.connect(path, isolation_level=None)) as file:
        assert file.execute("PRAGMA user_version").fetchone() == (version_number(__version__),)
        file.execute("update alembic_version set version_num = '0999'")
        file.execute(f"PRAGMA user_version = {version_number('7.31.2')}")
    before = path.read_bytes()
    with pytest.raises(LibraryError, match=r"written by laydown 7\.31\.2, newer than this"):
        open_library(path)
    assert path.read_bytes() == before


def test_a_name_of_a_folder_is_refused(tmp_path: Path, supplies: SimpleNamespace) -> None:
    """A folder in the place of a file is told as it is."""
    with pytest.raises(LibraryError, match="is a folder"):
        open_library(tmp_path)


def test_the_objects_of_every_step_are_recorded(tmp_path: Path) -> None:
    """What a file may hold is what our steps make: else `make_library_objects.py` is to be run."""
    for revision in REVISIONS:
        engine = make_engine(find_location(tmp_path / f"{revision}.db"))
        with engine.begin() as connection:
            run_steps(connection, revision)
            file = connection.connection.driver_connection
            assert isinstance(file, sqlite3.Connection)
            assert objects_in(file) == objects_of(revision)


def test_what_a_step_writes_anew_or_takes_away_is_recorded(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """An object is as the last step left it, and one that is gone is none, until it comes again."""
    pot, lid = ("table", "pot", "pot", "a"), ("index", "lid", "pot", "b")
    recorded = {"0001": [pot, lid], "0002": [(*pot[:3], "c"), ("gone", "lid", "index", "")]}
    path = tmp_path / "objects.json"
    path.write_text(json.dumps({**recorded, "0003": [lid]}), encoding="utf-8")
    monkeypatch.setattr(migrating, "RECORDED", path)
    assert [objects_of.__wrapped__(step) for step in ("0001", "0002", "0003")] == [
        {pot, lid},
        {(*pot[:3], "c")},
        {(*pot[:3], "c"), lid},
    ]


def test_every_column_is_looked_at_as_it_is_read() -> None:
    """Each has a type of our own, which lets a value be missing where the database does."""
    for table in LibraryTable.metadata.tables.values():
        for column in table.c:
            assert isinstance(column.type, KeptColumn), column
            assert column.type.missing == column.nullable, column


LONG_AGO = datetime(2026, 3, 4, 10, tzinfo=UTC)
NOTED = {
    "version": 1, "withdrawn": False, "recorded": LONG_AGO, "kit": "", "paper": "Heron",
    "recipe": "Pond/Loam", "reflectance": [0.5] * 36, "basis": "xyz", "spread": 0.0,
    "measured": "typed", "wanted": "", "intended": None, "remark": "", "done": "",
    "fill": "usual", "picture": "", "shared": 0.0,
}  # fmt: skip
DONE = {
    "task": "read_sheet", "title": "", "started_by": "", "state": "done", "done": 1, "total": 1,
    "message": "", "hint": "", "made": LONG_AGO,
}  # fmt: skip


def camera_picture(owner: str) -> bytes:
    """Return a picture that says whose it is."""
    told, file = Image.Exif(), io.BytesIO()
    told[0x013B] = owner
    Image.new("RGB", (90, 60), "#406020").save(file, "JPEG", exif=told)
    return file.getvalue()


def test_pictures_of_an_older_library_are_bared(path: Path) -> None:
    """Photographs and the pictures of jobs lose what a camera noted; two of the same become one."""
    engine = make_engine(find_location(path))
    ada, ben = camera_picture("Ada Okonkwo"), camera_picture("Ben Okonkwo")
    asked = packed(json.dumps({"files": [{"content": base64.b64encode(ada).decode()}]}))
    rows: list[tuple[str, dict[str, Any]]] = []
    for number, content in enumerate((ada, ben, b"no picture"), 1):
        digest = hashlib.sha256(content).hexdigest()
        photograph = {"id": number, "digest": digest, "name": "bowl.jpg", "content": content}
        rows += [
            ("photographs", photograph),
            ("trials", {"id": number, "uid": f"trial {number}"}),
            ("trial_entries", {"trial_id": number, "photograph_id": number, **NOTED}),
        ]
    for number, content in ((1, asked), (2, b"damaged")):
        rows += [
            ("jobs", {"id": number, "bytes_kept": len(content), **DONE}),
            ("job_texts", {"job_id": number, "part": "asked", "content": content}),
        ]
    with engine.begin() as connection:
        run_steps(connection, "0011")
        for name, row in rows:
            connection.execute(LibraryTable.metadata.tables[name].insert().values(**row))
    engine.dispose()
    library = open_library(path)
    with library.look() as work:
        digests = [trial.photograph for trial in work.notebook.latest()]
        shown = [work.notebook.photograph(digest)[1] for digest in digests]
        request, job = work.jobs.asked(1), work.jobs.get(1)
    assert shown == [bare(ada), bare(ada), b"no picture"]
    assert digests == [hashlib.sha256(content).hexdigest() for content in shown]
    (file,) = json.loads(request)["files"]
    assert base64.b64decode(file["content"]) == bare(ada)
    assert job.bytes_kept == len(packed(request))
    assert b"Okonkwo" not in path.read_bytes()
    assert library.upgraded_from is not None
    assert b"Okonkwo" in library.upgraded_from.read_bytes()


def test_pdfs_of_an_older_library_are_bared(path: Path) -> None:
    """Where pictures were bared before PDFs were, a job's PDF loses what its program noted."""
    engine = make_engine(find_location(path))
    scan = b"%PDF-1.5\n1 0 obj << /Author (Ada Okonkwo) >> endobj\n" + b"%" * 400
    scan += b"\ntrailer << /Info 1 0 R >>"
    asked = packed(json.dumps({"files": [{"content": base64.b64encode(scan).decode()}]}))
    tables = LibraryTable.metadata.tables
    with engine.begin() as connection:
        run_steps(connection, "0013")
        job = {"id": 1, "bytes_kept": len(asked), **DONE}
        connection.execute(tables["jobs"].insert().values(**job))
        text_row = {"job_id": 1, "part": "asked", "content": asked}
        connection.execute(tables["job_texts"].insert().values(**text_row))
    engine.dispose()
    with open_library(path).look() as work:
        (file,) = json.loads(work.jobs.asked(1))["files"]
    kept = base64.b64decode(file["content"])
    assert kept == bare(scan)
    assert b"Okonkwo" not in kept
