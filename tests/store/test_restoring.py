import sqlite3
from contextlib import closing
from pathlib import Path
from types import SimpleNamespace

import pytest

from laydown.errors import LibraryError
from laydown.store.copying import copy_over
from laydown.store.library import Library, open_library


def names(library: Library) -> list[str]:
    """Return the names of a library's papers."""
    with library.look() as work:
        return [paper.name for paper in work.papers()]


def test_a_backup_opens_as_a_library(full: Library, tmp_path: Path) -> None:
    """A backup holds the same swatches and the same history."""
    backup = full.backup(tmp_path / "kept" / "backup.db")
    copy = open_library(backup)
    with full.look() as ours, copy.look() as theirs:
        assert ours.swatch_hash(["Estuary"], "Gannet smooth") == theirs.swatch_hash(
            ["Estuary"], "Gannet smooth"
        )
    assert copy.history() == full.history()
    copy.undo()
    with full.look() as ours:
        assert len(ours.swatches()) == 5


def test_a_backup_never_overwrites(full: Library, tmp_path: Path) -> None:
    """A file that is there already stays as it was."""
    there = tmp_path / "notes.txt"
    there.write_text("mine", encoding="utf-8")
    with pytest.raises(LibraryError, match="is there already"):
        full.backup(there)
    assert there.read_text(encoding="utf-8") == "mine"


def test_a_backup_that_can_not_be_written_is_told(full: Library, tmp_path: Path) -> None:
    """A folder that can't be made is one clear sentence."""
    (tmp_path / "file").write_text("", encoding="utf-8")
    with pytest.raises(LibraryError, match="can't be written"):
        full.backup(tmp_path / "file" / "backup.db")


def test_restoring_brings_back_and_keeps_what_was_there(full: Library, tmp_path: Path) -> None:
    """The backup takes the library's place, and the library of before lies beside it."""
    backup = full.backup(tmp_path / "backup.db")
    with full.work("add") as work:
        work.add_paper("Heron laid")
    kept = full.restore(backup)
    assert names(full) == ["Gannet smooth"]
    assert [change.label for change in full.history()] == ["take in five swatches"]
    assert names(open_library(kept)) == ["Gannet smooth", "Heron laid"]
    again = full.restore(kept)
    assert names(full) == ["Gannet smooth", "Heron laid"]
    assert again != kept


def test_other_open_libraries_see_what_was_restored(
    full: Library, path: Path, tmp_path: Path
) -> None:
    """A restore is one transaction: a second one who has the file open sees it whole."""
    backup = full.backup(tmp_path / "backup.db")
    full.undo()
    other = open_library(path)
    assert names(other) == []
    full.restore(backup)
    assert names(other) == ["Gannet smooth"]


@pytest.mark.parametrize(
    "kind", ["missing", "text", "foreign", "empty", "cut", "scribbled", "newer"]
)
def test_what_is_no_backup_is_refused(full: Library, tmp_path: Path, kind: str) -> None:
    """A file that isn't a whole library of this laydown or an older one changes nothing."""
    bad = tmp_path / "bad.db"
    if kind == "text":
        bad.write_text("range,color\n" * 100, encoding="utf-8")
    elif kind == "empty":
        bad.touch()
    elif kind == "cut":
        whole = full.backup(tmp_path / "whole.db").read_bytes()
        bad.write_bytes(whole[: len(whole) // 2])
    elif kind == "scribbled":
        whole = full.backup(tmp_path / "whole.db").read_bytes()
        bad.write_bytes(whole[:-4096] + b"\xff" * 4096)  # the last page
    elif kind == "foreign":
        connection = sqlite3.connect(bad)
        connection.execute("create table invoices (id integer)")
        connection.close()
    elif kind == "newer":
        connection = sqlite3.connect(full.backup(bad))
        connection.execute("update alembic_version set version_num = '0999'")
        connection.commit()
        connection.close()
    before = Path(full.location).read_bytes()
    with pytest.raises(LibraryError) as trouble:
        full.restore(bad)
    assert trouble.value.hint
    assert Path(full.location).read_bytes() == before


@pytest.mark.postgres
def test_a_server_is_backed_up_by_its_own_tools(
    server_address: str, tmp_path: Path, supplies: SimpleNamespace
) -> None:
    """For a database server backup and restore name the tool to use."""
    library = open_library(server_address)
    with pytest.raises(LibraryError, match="database server") as trouble:
        library.backup(tmp_path / "backup.db")
    assert "pg_dump" in trouble.value.hint
    with pytest.raises(LibraryError) as trouble:
        library.restore(tmp_path / "backup.db")
    assert "pg_restore" in trouble.value.hint


def test_a_library_is_not_restored_from_itself(full: Library, path: Path) -> None:
    """Named as its own backup, the library is left alone and no copy is made."""
    with pytest.raises(LibraryError, match="is the library itself"):
        full.restore(path)
    assert [p.name for p in path.parent.iterdir()] == [path.name]
    assert names(full) == ["Gannet smooth"]


def test_a_copy_over_a_library_in_use_gives_up(
    full: Library, path: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """While another command is writing, a copy waits for the timeout and not forever."""
    backup = full.backup(tmp_path / "kept" / "backup.db")
    connect = sqlite3.connect

    def hurried(where: str | Path, **said: object) -> sqlite3.Connection:
        return connect(where, timeout=0.05, uri=bool(said.get("uri")))

    monkeypatch.setattr(sqlite3, "connect", hurried)
    with closing(connect(path, isolation_level=None)) as writer:
        writer.execute("BEGIN IMMEDIATE")
        with pytest.raises(sqlite3.OperationalError, match="in use by another command"):
            copy_over(backup, path)
        writer.execute("ROLLBACK")
    assert names(full) == ["Gannet smooth"]
