import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from click.testing import Result

from laydown.store.files import find_location, make_engine
from laydown.store.library import Work, open_library
from laydown.store.migrating import REVISIONS, run_steps

Run = Callable[..., Result]
AsJson = Callable[..., Any]


def test_the_library_says_where_it_is(shoal: Run, tmp_path: Path) -> None:
    """The path alone goes to stdout, so that a script can use it; what it holds goes to stderr."""
    told = shoal("library", "path")
    assert told.stdout == f"{tmp_path / 'library.db'}\n"
    assert "7 swatches of 4 colorants in 1 range" in told.stderr


def test_undo_takes_back_a_whole_command(shoal: Run, as_json: AsJson) -> None:
    """Undo takes back the latest command as a whole; again, the one before; then no more."""
    shoal("paper", "add", "Heron laid")
    assert shoal("library", "undo").stdout.startswith("Taken back: add the paper Heron laid.")
    assert [p["name"] for p in as_json("paper", "list")["papers"]] == ["Gannet smooth"]
    shoal("library", "undo")
    assert as_json("swatches", "list")["swatches"] == []
    assert shoal("library", "undo").exit_code == 1


def test_history_is_latest_first(shoal: Run, as_json: AsJson) -> None:
    """The history names each command that can be taken back, latest first."""
    shoal("kit", "create", "mine")
    labels = [change["label"] for change in as_json("library", "history")["changes"]]
    assert labels == ["create the kit mine", "import swatches from shoal.csv"]


def test_a_backup_brings_everything_back(shoal: Run, as_json: AsJson) -> None:
    """What was in the library when it was backed up is there again after restoring."""
    before = as_json("swatches", "list")
    assert shoal("library", "backup", "safe.db").exit_code == 0
    shoal("paper", "remove", "Gannet smooth", "--with-swatches")
    assert shoal("library", "restore", "safe.db").exit_code == 0
    assert as_json("swatches", "list") == before


def test_an_older_library_is_brought_up_to_date_and_said_so(run: Run, tmp_path: Path) -> None:
    """Once, with where the copy from before is; a backup of it that is put back says so, too."""
    path = tmp_path / "library.db"
    engine = make_engine(find_location(path))
    with engine.begin() as connection:
        run_steps(connection, REVISIONS[-2])
    engine.dispose()
    told = run("library", "path").stderr
    (copy,) = tmp_path.glob("library.before-*.db")
    assert f"brought up to date. A copy from before is at {copy}." in told
    assert "up to date" not in run("library", "path").stderr
    assert "It was from an older laydown" in run("library", "restore", str(copy)).stderr


def test_what_is_no_library_is_not_restored(shoal: Run, as_json: AsJson) -> None:
    """A file that is no library is refused and the library stays."""
    assert shoal("library", "restore", "shoal.csv").exit_code == 1
    assert len(as_json("swatches", "list")["swatches"]) == 7


def test_a_broken_library_is_restored_over(shoal: Run, as_json: AsJson, tmp_path: Path) -> None:
    """Where the library can't be opened any more, a backup takes its place; its bytes are kept."""
    before = as_json("swatches", "list")
    shoal("library", "backup", "safe.db")
    (tmp_path / "library.db").write_bytes(b"scribbled" * 1000)
    assert shoal("library", "path").exit_code == 1
    restored = shoal("library", "restore", "safe.db")
    assert restored.exit_code == 0
    assert as_json("swatches", "list") == before
    kept = Path(restored.stdout.rsplit(": ", 1)[1].strip())
    assert kept.read_bytes() == b"scribbled" * 1000


def test_a_file_that_is_no_library_is_not_opened(run: Run, tmp_path: Path) -> None:
    """Another program's file given as the library is refused and left alone."""
    (tmp_path / "notes.txt").write_text("my notes", encoding="utf-8")
    refused = run("paper", "list", "--db", "notes.txt")
    assert refused.exit_code == 1
    assert (tmp_path / "notes.txt").read_text(encoding="utf-8") == "my notes"


def test_ctrl_c_leaves_the_library_whole(
    shoal: Run, as_json: AsJson, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Ctrl-C in the middle of an import leaves nothing of it behind."""
    before = as_json("swatches", "list")
    add = Work.add_written

    def add_and_stop(work: Work, swatches: Any) -> None:
        add(work, swatches)
        raise KeyboardInterrupt

    monkeypatch.setattr(Work, "add_written", add_and_stop)
    text = "range,color,paper,L,a,b\nShoal,Gull,Gannet smooth,70,0,0\n"
    stopped = shoal("swatches", "import", "-", stdin=text)
    assert stopped.exit_code == 130
    assert as_json("swatches", "list") == before
    assert [p["name"] for p in as_json("paper", "list")["papers"]] == ["Gannet smooth"]


def test_the_same_door_opens_as_a_module(tmp_path: Path) -> None:
    """``python -m laydown`` is the command, and --db names its library."""
    where = tmp_path / "new" / "library.db"
    open_library(where).close()
    told = subprocess.run(
        [sys.executable, "-m", "laydown", "library", "path", "--db", str(where)],
        capture_output=True,
        text=True,
        check=True,
    )
    assert told.stdout == f"{where}\n"


def test_a_mistyped_library_is_not_made_by_looking(run: Run, tmp_path: Path) -> None:
    """What only reads refuses a library that isn't there; what brings something in makes it."""
    for looking in (["paper", "list"], ["match", "Kelp", "--range", "Shoal"], ["library", "path"]):
        refused = run(*looking, "--db", "libary.db")
        assert refused.exit_code == 1
        assert refused.stderr.startswith("There is no library at libary.db.")
    assert list(tmp_path.iterdir()) == []
    made = run("kit", "create", "mine", "--db", "new.db")
    assert made.exit_code == 0
    assert made.stderr.startswith("A new library is made: new.db")
    assert run("kit", "create", "yours", "--db", "new.db").stderr.count("A new library") == 0
    assert (tmp_path / "new.db").exists()
