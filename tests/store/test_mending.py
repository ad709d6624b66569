"""A library that can't be read any more is mended from a backup, and loses nothing by it."""

import shutil
import sqlite3
import subprocess
import sys
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import pytest

from laydown.errors import LibraryError
from laydown.store.files import copy_file
from laydown.store.library import Library, library_to_mend, open_library
from laydown.store.migrating import make_new


def _cut(path: Path) -> None:
    path.write_bytes(path.read_bytes()[: path.stat().st_size // 2])


def _cut_in_the_head(path: Path) -> None:
    path.write_bytes(path.read_bytes()[:60])


def _garbled_inside(path: Path) -> None:
    content = bytearray(path.read_bytes())
    content[4096:] = b"\xa5" * (len(content) - 4096)
    path.write_bytes(content)


def _garbled_at_the_end(path: Path) -> None:
    path.write_bytes(path.read_bytes()[:-4096] + b"\xff" * 4096)


def _text(path: Path) -> None:
    path.write_text("my notes\n" * 1000, encoding="utf-8")


def _empty(path: Path) -> None:
    path.write_bytes(b"")


def _foreign(path: Path) -> None:
    path.unlink()
    _say(path, "create table invoices (id integer)")


def _newer(path: Path) -> None:
    _say(path, "update alembic_version set version_num = '0999'")


def _meddled_with(path: Path) -> None:
    _say(path, "create view more as select 1")


def _broken_off(path: Path) -> None:
    """Leave a log beside what is left of it, which SQLite would take for that of any other."""
    other = path.with_name("other.db")
    shutil.copy(path, other)
    with closing(sqlite3.connect(other, isolation_level=None)) as connection:
        connection.execute("pragma journal_mode = wal")
        connection.execute("insert into papers values (7, 'Heron laid', 'heron laid', 5, '')")
        shutil.copy(other, path)
        shutil.copy(f"{other}-wal", f"{path}-wal")
    other.unlink()
    _cut_in_the_head(path)


def _say(path: Path, statement: str) -> None:
    with closing(sqlite3.connect(path, isolation_level=None)) as connection:
        connection.execute(statement)


BROKEN = (
    _cut,
    _cut_in_the_head,
    _garbled_inside,
    _garbled_at_the_end,
    _text,
    _empty,
    _foreign,
    _newer,
    _meddled_with,
    _broken_off,
)


@pytest.mark.parametrize("breaks", BROKEN)
def test_a_backup_takes_the_place_of_a_broken_library(
    full: Library, path: Path, tmp_path: Path, breaks: Callable[[Path], None]
) -> None:
    """Of a library that can't be used restoring needs nothing, and keeps what there is of it."""
    backup = full.backup(tmp_path / "safe" / "good.db")
    full.close()
    breaks(path)
    before = path.read_bytes()
    broken = library_to_mend(path)
    kept = broken.restore(backup)
    broken.close()
    with open_library(path).look() as work:
        assert len(work.swatches()) == 5
    assert kept.stat().st_mode & 0o077 == 0
    if breaks in {_foreign, _newer, _meddled_with}:  # whose rights stay
        with closing(sqlite3.connect(kept)) as old, closing(sqlite3.connect(":memory:")) as same:
            same.deserialize(before)
            assert list(old.iterdump()) == list(same.iterdump())
    else:
        assert path.stat().st_mode & 0o077 == 0
        assert kept.read_bytes() == before
    beside = {p.name for p in path.parent.iterdir()}
    log = {f"{kept.name}-wal", f"{kept.name}-shm"} if breaks is _broken_off else set()
    assert beside == {path.name, kept.name, "safe"} | log


def test_a_bad_backup_leaves_a_broken_library_as_it_is(
    full: Library, path: Path, tmp_path: Path
) -> None:
    """What is no backup isn't put in the place even of a library that is none."""
    bad = tmp_path / "safe" / "bad.db"
    full.backup(bad)
    full.close()
    _cut(bad)
    _text(path)
    with pytest.raises(LibraryError, match=r"bad\.db"):
        library_to_mend(path).restore(bad)
    assert path.read_text(encoding="utf-8").startswith("my notes")
    assert {p.name for p in path.parent.iterdir()} == {path.name, "safe"}


def test_a_library_in_use_is_not_taken_for_broken(
    full: Library, path: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """While another command is writing, nothing is put in the library's place behind its back."""
    backup = full.backup(tmp_path / "safe" / "good.db")
    connect = sqlite3.connect

    def hurried(where: str | Path, **said: object) -> sqlite3.Connection:
        return connect(where, timeout=0.05, uri=bool(said.get("uri")))

    monkeypatch.setattr(sqlite3, "connect", hurried)
    number = path.stat().st_ino
    with closing(connect(path, isolation_level=None)) as writer:
        writer.execute("BEGIN EXCLUSIVE")
        with pytest.raises(LibraryError, match="is busy"):
            full.restore(backup)
        writer.execute("ROLLBACK")
    assert path.stat().st_ino == number


def test_a_library_that_lies_elsewhere_is_mended_where_it_lies(
    full: Library, path: Path, tmp_path: Path
) -> None:
    """A link to the library stays one: what it leads to is mended."""
    backup = full.backup(tmp_path / "safe" / "good.db")
    full.close()
    link = tmp_path / "linked" / "library.db"
    link.parent.mkdir()
    link.symlink_to(path)
    _text(path)
    library_to_mend(link).restore(backup)
    assert link.is_symlink()
    with open_library(path).look() as work:
        assert len(work.swatches()) == 5


def test_a_whole_library_is_opened_to_be_mended_as_ever(path: Path, full: Library) -> None:
    """Only what can't be opened is left unopened."""
    shutil.copy(path, path.with_name("same.db"))
    with library_to_mend(path.with_name("same.db")).look() as work:
        assert len(work.swatches()) == 5
    with library_to_mend(path.with_name("new.db")).look() as work:
        assert work.swatches() == ()


def test_an_empty_file_is_not_taken_for_a_new_library(path: Path) -> None:
    """A library that lost all its bytes is told, with the way out, and nothing is made of it."""
    path.touch()
    with pytest.raises(LibraryError, match="is empty") as trouble:
        open_library(path)
    assert "restore a backup" in trouble.value.hint
    assert path.read_bytes() == b""


def test_a_library_that_is_made_is_whole_or_not_there(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Broken off while it is made, it leaves no empty file that looks like one that was lost."""

    def broken_off(*_: object) -> None:
        raise KeyboardInterrupt

    with monkeypatch.context() as patched:
        patched.setattr("laydown.store.migrating.os.fsync", broken_off)
        with pytest.raises(KeyboardInterrupt):
            open_library(path)
    assert list(path.parent.iterdir()) == []
    open_library(path).close()


def test_a_library_that_another_made_meanwhile_stays(
    full: Library, path: Path, tmp_path: Path
) -> None:
    """Of two that are made at one moment the first is the library; the second is let go."""
    before = path.read_bytes()
    make_new(path)
    assert path.read_bytes() == before
    assert list(tmp_path.iterdir()) == [path]


def test_a_backup_lets_go_of_nobodys_lock(full: Library, path: Path, tmp_path: Path) -> None:
    """Who writes to a library while the same process copies it is still alone with it."""
    full.close()
    other = (
        "import sqlite3, sys; sqlite3.connect(sys.argv[1], timeout=0).execute('begin immediate')"
    )
    with closing(sqlite3.connect(path, isolation_level=None)) as writing:
        writing.execute("begin immediate")
        copy_file(path, tmp_path / "copy.db")
        told = subprocess.run(
            [sys.executable, "-c", other, str(path)], capture_output=True, text=True, check=False
        )
    assert "database is locked" in told.stderr


def test_a_library_with_a_log_is_brought_to_our_journal(full: Library, path: Path) -> None:
    """Opened, or restored over, it is one file again, and nothing written to the log is lost."""
    full.close()
    with closing(sqlite3.connect(path, isolation_level=None)) as other:
        other.execute("pragma journal_mode = wal")
        other.execute("insert into papers values (7, 'Heron laid', 'heron laid', 5, '')")
    with open_library(path).look() as work:
        assert work.paper_names() == ("Gannet smooth", "Heron laid")
    assert path.read_bytes()[18:20] == b"\x01\x01"
    assert not path.with_name(f"{path.name}-wal").exists()


def test_a_restored_library_keeps_our_journal(full: Library, path: Path, tmp_path: Path) -> None:
    """Restoring over a library that had a log beside it leaves one file."""
    backup = full.backup(tmp_path / "good.db")
    full.close()
    _say(path, "pragma journal_mode = wal")
    full.restore(backup)
    assert path.read_bytes()[18:20] == b"\x01\x01"
