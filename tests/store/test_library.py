"""The library: opened, worked on, and its kept fits."""

import sqlite3
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from types import SimpleNamespace

import pytest

from laydown.errors import LibraryError, UnknownNameError
from laydown.store.library import Library, open_library
from laydown.store.records import FitKey


def test_a_command_is_kept_as_a_whole(any_library: Library, supplies: SimpleNamespace) -> None:
    """What one command wrote is there for the next."""
    with any_library.work("add a paper and a kit") as work:
        work.add_paper("Gannet smooth")
        work.add_kit("mine")
        work.add_colorants([supplies.kelp])
        work.own("mine", [supplies.kelp])
    with any_library.look() as work:
        assert [paper.name for paper in work.papers()] == ["Gannet smooth"]
        assert work.kit("mine") == (supplies.kelp,)


@pytest.mark.parametrize("trouble", [RuntimeError, KeyboardInterrupt, UnknownNameError])
def test_any_exception_leaves_nothing_of_a_command(
    any_library: Library, trouble: type[BaseException]
) -> None:
    """Whatever breaks a command off, Ctrl-C too, nothing of it is kept."""

    def command() -> None:
        with any_library.work("break off") as work:
            work.add_paper("Gannet smooth")
            raise trouble("stop")

    with pytest.raises(trouble):
        command()
    with any_library.look() as work:
        assert work.papers() == ()
    assert any_library.history() == ()


def test_a_killed_process_leaves_nothing(path: Path, library: Library) -> None:
    """A process that dies in the middle of a command leaves the library as it was."""
    script = (
        "import os, sys\n"
        "from laydown.store.library import open_library\n"
        "with open_library(sys.argv[1]).work('die') as work:\n"
        "    work.add_paper('Gannet smooth')\n"
        "    os._exit(9)\n"
    )
    done = subprocess.run([sys.executable, "-c", script, str(path)], check=False, timeout=60)
    assert done.returncode == 9
    with library.look() as work:
        assert work.papers() == ()


def test_looking_can_not_write(library: Library) -> None:
    """A write while only looking is a programmer's mistake, and is not kept."""

    def command() -> None:
        with library.look() as work:
            work.add_paper("Gannet smooth")

    with pytest.raises(ValueError, match="only reads"):
        command()
    with library.look() as work:
        assert work.papers() == ()


def test_looking_waits_for_nobody(library: Library) -> None:
    """One may look while another command is writing."""
    with library.work("write") as work:
        work.add_paper("Gannet smooth")
        with library.look() as other:
            assert other.papers() == ()


def test_a_second_writer_is_told_to_wait(
    library: Library, path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A command that can't write because another writes gets one clear sentence."""
    monkeypatch.setattr("laydown.store.files.BUSY_MILLISECONDS", 50)
    other = open_library(path)

    def command() -> None:
        with other.work("write too"):
            pass

    with (
        library.work("write"),
        pytest.raises(LibraryError, match="busy: another command is writing") as trouble,
    ):
        command()
    assert "Wait" in trouble.value.hint


def test_sqlite_checks_and_syncs_everything(library: Library) -> None:
    """Foreign keys are checked and every commit reaches the disk, in one file without a log."""
    with library._engine.connect() as connection:
        asked = {
            name: connection.exec_driver_sql(f"PRAGMA {name}").scalar()
            for name in ("foreign_keys", "synchronous", "journal_mode", "busy_timeout")
        }
    assert asked == {
        "foreign_keys": 1,
        "synchronous": 2,
        "journal_mode": "delete",
        "busy_timeout": 120_000,
    }


def test_all_lies_in_one_file(full: Library, path: Path) -> None:
    """Between commands the library is one file: copying it copies everything."""
    assert [found.name for found in path.parent.iterdir()] == [path.name]
    copy = path.with_name("copy.db")
    copy.write_bytes(path.read_bytes())
    with open_library(copy).look() as work:
        assert len(work.swatches()) == 5


def test_opening_again_finds_the_same(full: Library, path: Path, supplies: SimpleNamespace) -> None:
    """What was written is there when the library is opened anew."""
    with full.look() as work:
        before = work.swatch_hash(["Estuary"], "Gannet smooth")
    full.close()
    with open_library(str(path)).look() as work:
        assert work.swatch_hash(["Estuary"], "Gannet smooth") == before
        assert work.find_colorant("kelp") == supplies.kelp


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"range,color\nEstuary,Kelp\n" * 400, "not a laydown library"),
        (b"SQLite format 3\x00" + b"\x07" * 4000, "not a laydown library"),
    ],
    ids=["text", "damaged"],
)
def test_another_file_is_refused_and_left_alone(path: Path, content: bytes, says: str) -> None:
    """A file that is no library is refused in one sentence and stays as it was."""
    path.write_bytes(content)
    with pytest.raises(LibraryError, match=says):
        open_library(path)
    assert path.read_bytes() == content


def test_the_database_of_another_program_is_refused(path: Path) -> None:
    """A database without our mark is left alone, even one that counts its steps as ours does."""
    connection = sqlite3.connect(path)
    connection.execute("create table swatches (id integer)")
    connection.execute("create table alembic_version (version_num text)")
    connection.execute("insert into alembic_version values ('0002')")
    connection.commit()
    connection.close()
    with pytest.raises(LibraryError, match="is a database, but not a laydown library"):
        open_library(path)


def test_a_server_that_is_not_there_is_told_plainly(tmp_path: Path) -> None:
    """Without a server at the address, one sentence says so."""
    pytest.importorskip("psycopg")
    with pytest.raises(LibraryError, match="can't be used"):
        open_library(f"postgresql://teacher@/colors?host={tmp_path}")


@pytest.mark.postgres
def test_a_database_of_others_on_a_server_is_refused(server_address: str) -> None:
    """On a server too, tables that aren't ours are left alone."""
    import psycopg  # noqa: PLC0415 - only where a server is

    with psycopg.connect(server_address) as connection:
        connection.execute("create table invoices (id integer)")
    with pytest.raises(LibraryError, match="is a database, but not a laydown library"):
        open_library(server_address)


def test_history_lists_commands_latest_first(
    any_library: Library, fill: Callable[[Library], None]
) -> None:
    """Each command that changed something is listed by its label; one that didn't is not."""
    fill(any_library)
    with any_library.work("add a kit") as work:
        work.add_kit("mine")
    with any_library.work("do nothing"):
        pass
    assert [change.label for change in any_library.history()] == [
        "add a kit",
        "take in five swatches",
    ]
    assert any_library.history()[0].rows == 1


KEY = ("Estuary", "Orchard"), "Gannet smooth", "1", "abc"
OTHER = *KEY[:3], "d"


def test_a_fit_is_found_by_exactly_its_key(any_library: Library) -> None:
    """The order of ranges doesn't matter; anything else does."""
    with any_library.work("keep") as work:
        work.keep_fit(KEY, '{"w": 0.5}')
    with any_library.look() as work:
        assert work.fit((("orchard", "Estuary"), *KEY[1:])) == '{"w": 0.5}'


@pytest.mark.parametrize(
    "other",
    [
        (("Estuary",), *KEY[1:]),
        (KEY[0], "Heron", *KEY[2:]),
        (*KEY[:2], "2", KEY[3]),
        OTHER,
    ],
)
def test_another_key_finds_nothing(library: Library, other: FitKey) -> None:
    """A fit of other ranges, paper, model or swatches is none for this question."""
    with library.work("keep") as work:
        work.keep_fit(KEY, "{}")
        assert work.fit(other) is None


def test_a_fit_too_long_to_be_read_again_is_not_kept(
    library: Library, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It would stand in the way of each later answer; the one before stays, for its own key."""
    monkeypatch.setattr("laydown.store.columns.LONGEST_PAYLOAD", 5)
    with library.work("keep") as work:
        work.keep_fit(KEY, "12345")
        work.keep_fit(OTHER, "123456")
        assert work.fit(OTHER) is None
        assert work.fit(KEY) == "12345"


def test_a_fit_too_long_to_be_ours_is_none(library: Library) -> None:
    """It is not even read out of the file: the fit is made anew."""
    with library.work("keep") as work:
        work.keep_fit(KEY, "12345")
        with pytest.MonkeyPatch.context() as context:
            context.setattr("laydown.store.columns.LONGEST_PAYLOAD", 4)
            assert work.fit(KEY) is None
        assert work.fit(KEY) == "12345"


def test_a_newer_fit_takes_the_place_of_the_older(any_library: Library) -> None:
    """One fit is kept for each set of ranges and paper."""
    with any_library.work("keep") as work:
        work.keep_fit(KEY, "old")
        work.keep_fit(OTHER, "new")
        assert work.fit(KEY) is None
        assert work.fit(OTHER) == "new"
