import json
import os
import shutil
import sqlite3
from collections.abc import Callable
from contextlib import closing
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from laydown.errors import LibraryError, NothingToUndoError
from laydown.media.recipe import AnyStep, Colorant, Recipe, Step, TreatmentStep
from laydown.store import restoring
from laydown.store.files import copy_over, find_location, make_engine, usual_path
from laydown.store.library import Library, open_library
from laydown.store.migrating import REVISIONS, run_steps
from laydown.store.records import StoredSwatch


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


@pytest.mark.skipif(os.name != "posix", reason="other systems have other rights")
def test_a_library_and_its_copies_are_for_its_owner_alone(
    path: Path, fill: Callable[[Library], None], tmp_path: Path
) -> None:
    """However open the folder is, no other account of the computer reads the file or a backup."""
    before = os.umask(0o000)
    try:
        library = open_library(path)
        fill(library)
        backup = library.backup(tmp_path / "backup.db")
        kept = library.restore(backup)
    finally:
        os.umask(before)
    assert [p.stat().st_mode & 0o777 for p in (path, backup, kept)] == [0o600] * 3


@pytest.mark.skipif(os.name != "posix", reason="other systems have other rights")
@pytest.mark.parametrize(
    ("before", "after"),
    [(0o644, 0o600), (0o640, 0o600), (0o604, 0o600), (0o664, 0o660), (0o666, 0o666)],
)
def test_a_library_that_lay_open_is_closed_to_who_can_only_read(
    path: Path, before: int, after: int
) -> None:
    """On opening, who was not let write loses the file; one shared for writing stays shared."""
    open_library(path).close()
    path.chmod(before)
    open_library(path).close()
    assert path.stat().st_mode & 0o777 == after


@pytest.mark.skipif(os.name != "posix", reason="other systems have other rights")
def test_the_usual_library_is_its_owners_alone() -> None:
    """In one's own data folder nothing is shared, whatever an earlier laydown left."""
    open_library().close()
    usual = usual_path()
    usual.chmod(0o664)
    open_library().close()
    assert usual.stat().st_mode & 0o777 == 0o600


@pytest.mark.skipif(os.name != "posix", reason="other systems have other rights")
def test_the_rights_to_what_is_not_ours_stay(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Neither another account's library nor a file that is no library is closed by opening it."""
    open_library(path).close()
    other = path.with_name("other.db")
    other.write_bytes(b"a letter to somebody, longer than the header of a database" * 9)
    for file in (path, other):
        file.chmod(0o644)
    with pytest.raises(LibraryError):
        open_library(other)
    monkeypatch.setattr(os, "geteuid", lambda: path.stat().st_uid + 1)
    open_library(path).close()
    assert [file.stat().st_mode & 0o777 for file in (path, other)] == [0o644] * 2


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


def rows_of(path: str | Path) -> dict[str, list[Any]]:
    """Return the rows of every table of a library that is kept for its own sake."""
    with closing(sqlite3.connect(path)) as connection:
        return {
            table: connection.execute(f"select * from {table} order by 1, 2").fetchall()
            for (table,) in connection.execute("select name from sqlite_master where type='table'")
            if table not in {"alembic_version", "fits"}
        }


def written_before(crammed: Library, revision: str) -> dict[str, list[Any]]:
    """Return the rows of a library as they were after a step, those of its swatches among them."""
    rows = rows_of(crammed.location)
    if revision >= "0011":
        return rows
    with crammed.look() as work:
        rows |= {table: [] for table in ("swatches", "steps", "parts")}
        numbers = {c.label: n for n, c in enumerate(_as_given(crammed), 1)}
        for kept in work.swatches():
            if revision < "0003" and any(step.mixed for step in laid_in(kept.swatch.recipe)):
                continue  # nothing was mixed then
            rows["swatches"].append(_old_swatch(kept))
            for position, step in enumerate(kept.swatch.recipe.steps):
                number = len(rows["steps"]) + 1
                rows["steps"].append((number, kept.id, position, *_old_step(step, numbers)))
                rows["parts"] += [
                    (len(rows["parts"]) + k, number, k, numbers[part.colorant.label], part.parts)
                    for k, part in enumerate(getattr(step, "mixed", ()), 1)
                ]
    rows["journal"] = [
        (*row[:3], row[3].replace("swatch_colorants", "steps"), *row[4:]) for row in rows["journal"]
    ]
    rows["jobs"] = [
        (*row[:4], "me", *row[4:9], 0, *row[9:], "2026-03-04 10:00:00.000000")
        for row in rows["jobs"]
    ]
    del rows["swatch_colorants"]
    return rows


def _as_given(library: Library) -> list[Colorant]:
    """Return the colorants in the order of their numbers."""
    with library.look() as work, closing(sqlite3.connect(library.location)) as connection:
        known = {(c.range, c.name): c for c in work.colorants()}
        named = "select r.name, c.name from colorants c join ranges r on r.id = c.range_id"
        return [known[of, name] for of, name in connection.execute(f"{named} order by c.id")]


def laid_in(recipe: Recipe) -> list[Step]:
    """Return the steps of a recipe that lay a colorant."""
    return [step for step in recipe.steps if isinstance(step, Step)]


def _old_swatch(kept: StoredSwatch) -> tuple[Any, ...]:
    swatch = kept.swatch
    flags = sorted(swatch.flags) + ([f"read-after-{swatch.hours:g}h"] if swatch.hours else [])
    numbers, when = json.dumps(swatch.reflectance.tolist()), kept.when.replace(tzinfo=None)
    return (
        kept.id, 1, str(swatch.basis), numbers, "[1.0, 1.0, 1.0]", swatch.spread,
        json.dumps(flags), f"{when:%Y-%m-%d %H:%M:%S.%f}",
    )  # fmt: skip


def _old_step(step: AnyStep, numbers: dict[str, int]) -> tuple[Any, ...]:
    if isinstance(step, TreatmentStep):
        return (None,) * 6 + (str(step.treatment), str(step.tool))
    laid = step.laydown
    how = (laid.coats, str(laid.stroke), str(laid.pressure), laid.dilution, str(laid.wait))
    return (numbers[step.colorant.label], *how, None, None)


def older(path: Path, revision: str, rows: dict[str, list[Any]]) -> Path:
    """Make a library that has taken the steps up to one, with the rows it has tables for."""
    engine = make_engine(find_location(path))
    with engine.begin() as connection:
        run_steps(connection, revision)
    engine.dispose()
    with closing(sqlite3.connect(path)) as connection, connection:
        tables = rows_of(path).keys() - {"sqlite_sequence"}
        for table in tables:
            columns = len(connection.execute(f"pragma table_info({table})").fetchall())
            for row in rows[table]:  # what later steps add to a table stands at its end
                marks = ", ".join("?" * columns)
                connection.execute(f"insert into {table} values ({marks})", row[:columns])
    return path


@pytest.mark.parametrize("revision", REVISIONS)
def test_a_backup_of_any_step_is_taken_in(crammed: Library, tmp_path: Path, revision: str) -> None:
    """Whatever it has tables for is there again, to the last value; the rest is empty."""
    today = rows_of(crammed.location)
    given = older(tmp_path / "given.db", revision, written_before(crammed, revision))
    before, was = given.read_bytes(), rows_of(given)
    library = open_library(tmp_path / "new" / "library.db")
    library.restore(given)
    now = rows_of(library.location)
    for table in now.keys() & was.keys() - {"swatches", "journal", "jobs"}:
        kept = [row[: len(old)] for row, old in zip(now[table], was[table], strict=True)]
        assert kept == was[table]
    assert now["jobs"] == (today["jobs"] if "jobs" in was else [])
    numbers = {row[0] for row in was["swatches"]}
    assert now["swatches"] == [row for row in today["swatches"] if row[0] in numbers]
    uses = [row for row in today["swatch_colorants"] if row[0] in numbers]
    assert now["swatch_colorants"] == uses
    assert not any(now[table] for table in now.keys() - was.keys() - {"swatch_colorants"})
    assert given.read_bytes() == before
    assert open_library(library.location).upgraded_from is None


def test_undo_goes_back_to_the_change_that_an_update_wrote_anew(
    crammed: Library, tmp_path: Path
) -> None:
    """What was done since can be taken back; of a change to swatches of old undo says it can't."""
    given = older(tmp_path / "given.db", "0010", written_before(crammed, "0010"))
    library = open_library(given)
    assert [change.label for change in library.history()] == ["take one back"]
    assert library.undo().label == "take one back"
    with pytest.raises(NothingToUndoError, match="“fill every table” can't be taken back"):
        library.undo()
    with library.look() as work:
        assert len(work.swatches()) == 8
    with library.work("take in one more") as work:
        work.add_paper("Heron laid")
    assert library.undo().label == "take in one more"


OLD_DAMAGE = {
    "coats beyond a step": "update steps set coats = 10 where coats is not null",
    "dilution of text": "update steps set dilution = 'deep' where dilution is not null",
    "dilution of all": "update steps set dilution = 1 where dilution is not null",
    "stroke missing": "update steps set stroke = null where stroke is not null",
    "tool missing": "update steps set tool = null where tool is not null",
    "parts beyond count": "update parts set parts = 9",
    "mixture without its first": "delete from parts where position = 1",
    "steps without end": "insert into steps with recursive n(i) as (select 99 union all "
    "select i + 1 from n limit 500) select i, 1, i, 1, 1, 'even', 'medium', 0, 'dry', null, null "
    "from n",
    "hours of text": "update swatches set flags = '[\"read-after-longh\"]'",
    "flags not JSON": "update swatches set flags = '[read-after-'",
}
"""Statements that make an older library say what no laydown wrote."""


@pytest.mark.parametrize("kind", OLD_DAMAGE)
def test_an_older_backup_with_a_wrong_value_is_refused(
    crammed: Library, tmp_path: Path, refused: Callable[..., str], kind: str
) -> None:
    """The steps that bring it up to date look at what they read, and end in a sentence."""
    given = older(tmp_path / "given" / "old.db", "0010", written_before(crammed, "0010"))
    with closing(sqlite3.connect(given, isolation_level=None)) as connection:
        connection.execute(OLD_DAMAGE[kind])
    before = given.read_bytes()
    assert str(given) in refused(crammed, given)
    with pytest.raises(LibraryError, match=r"old\.db"), open_library(given).look() as work:
        work.swatches()
    if kind != "dilution of all":  # which is seen only where a swatch is made of it
        assert given.read_bytes() == before


def test_a_fit_is_not_taken_in(crammed: Library, tmp_path: Path) -> None:
    """What is worked out from the swatches is worked out anew."""
    crammed.restore(crammed.backup(tmp_path / "backup.db"))
    with crammed.look() as work:
        assert work.fit((("Estuary",), "Gannet smooth", "marker", "a hash")) is None


def test_a_number_given_before_is_not_given_again(crammed: Library, tmp_path: Path) -> None:
    """A lesson that was put away before the backup was made doesn't lend its number."""
    with crammed.work("put it away") as work:
        (gone,) = work.lessons.all()
        work.lessons.remove(gone.number)
    library = open_library(tmp_path / "new.db")
    library.restore(crammed.backup(tmp_path / "backup.db"))
    with library.work("keep another") as work:
        assert work.lessons.keep("x", title="", paper="", colors=1).number == gone.number + 1


@pytest.mark.parametrize("is_open", [False, True])
def test_a_backup_with_a_log_is_taken_in_whole(
    full: Library, tmp_path: Path, *, is_open: bool
) -> None:
    """What another program left in a log beside it counts, and its folder stays as it was."""
    backup = full.backup(tmp_path / "given" / "backup.db")
    with closing(sqlite3.connect(backup)) as other:
        other.execute("pragma journal_mode = wal")
        other.execute("insert into papers values (7, 'Heron laid', 'heron laid', 5, '')")
        other.commit()
        if is_open:
            copied = tmp_path / "copied" / "backup.db"
            shutil.copytree(backup.parent, copied.parent)
            backup = copied
    before = {path.name for path in backup.parent.iterdir()}
    full.restore(backup)
    assert names(full) == ["Gannet smooth", "Heron laid"]
    assert Path(full.location).read_bytes()[18:20] == b"\x01\x01"  # no log here
    assert {path.name for path in backup.parent.iterdir()} == before


@pytest.mark.parametrize("bound", ["MOST_BYTES", "MOST_ROWS"])
def test_a_backup_that_is_too_large_is_refused(
    full: Library,
    tmp_path: Path,
    refused: Callable[..., str],
    monkeypatch: pytest.MonkeyPatch,
    bound: str,
) -> None:
    """A file larger than any library, or one of more rows, is not taken in."""
    backup = full.backup(tmp_path / "given" / "backup.db")
    monkeypatch.setattr(restoring, bound, 10)
    assert str(backup) in refused(full, backup)
