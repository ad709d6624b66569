"""A copy of the library put back at the bench."""

import sqlite3
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import pytest
from sqlalchemy import text
from starlette.testclient import TestClient

from laydown.app.jobs import Jobs
from laydown.store.files import find_location, make_engine
from laydown.store.migrating import REVISIONS, run_steps, version_number
from laydown.web.desk import open_desk
from laydown.web.phone import is_at_the_bench
from laydown.web.serving import create_application, names_of

HERE = "http://127.0.0.1:8017"


def test_a_copy_is_put_back(shoal: TestClient, tmp_path: Path) -> None:
    """All is as it was when it was made; what was there since lies beside the library."""
    copy = shoal.get("/backup").content
    shoal.post("/kits", data={"name": "later"})
    done = shoal.post("/history/restore", files={"file": ("safe.db", copy)})
    assert shoal.get("/kits.json").json() == {"kits": []}
    assert "safe.db is the library now." in shoal.get(done.headers["location"]).text
    (kept,) = tmp_path.glob("library.before-restore-*.db")
    shoal.post("/history/restore", files={"file": ("kept.db", kept.read_bytes())})
    assert [kit["name"] for kit in shoal.get("/kits.json").json()["kits"]] == ["later"]


@pytest.fixture
def older(tmp_path: Path) -> Path:
    """Return a library as an earlier laydown left it, with one paper."""
    path = tmp_path / "from elsewhere.db"
    engine = make_engine(find_location(path))
    with engine.begin() as connection:
        run_steps(connection, REVISIONS[-2])
        connection.execute(
            text("insert into papers (name, key, coats_limit) values ('Heron', 'heron', 5)")
        )
    engine.dispose()
    return path


def test_an_older_copy_is_brought_up_to_date_and_said_so(shoal: TestClient, older: Path) -> None:
    """What came from another computer, with an earlier laydown on it, is taken in all the same."""
    done = shoal.post("/history/restore", files={"file": (older.name, older.read_bytes())})
    page = shoal.get(done.headers["location"]).text
    assert "It was from an older laydown, and is brought up to date." in page
    assert [paper["name"] for paper in shoal.get("/papers.json").json()["papers"]] == ["Heron"]


def test_the_first_page_says_that_an_older_library_was_updated(older: Path) -> None:
    """It says where the copy from before is; the page after it no longer does."""
    with open_desk(str(older), hosts=names_of(8017)) as desk:
        browser = TestClient(create_application(desk), HERE, cookies=desk.keys.cookies(8017))
        (copy,) = older.parent.glob("from elsewhere.before-*.db")
        told = f"brought up to date. A copy from before is at {copy}"
        assert told in browser.get("/papers").text
        assert told not in browser.get("/papers").text


def test_a_newer_copy_is_refused_with_the_version_that_wrote_it(
    shoal: TestClient, older: Path
) -> None:
    """The library stays, and the sentence names the laydown to install."""
    with closing(sqlite3.connect(older, isolation_level=None)) as file:
        file.execute("update alembic_version set version_num = '0999'")
        file.execute(f"PRAGMA user_version = {version_number('7.31.2')}")
    refused = shoal.post("/history/restore", files={"file": (older.name, older.read_bytes())})
    assert refused.status_code == 422
    assert "laydown 7.31.2" in refused.text
    assert shoal.get("/swatches.json").json()["total"] == 7


@pytest.mark.parametrize("content", [b"", b"no library", b"SQLite format 3\x00" + bytes(4000)])
def test_what_is_no_library_is_not_put_in_place(shoal: TestClient, content: bytes) -> None:
    """The library stays, and a sentence says why."""
    refused = shoal.post("/history/restore.json", files={"file": ("safe.db", content)})
    assert refused.status_code == 422
    assert refused.json()["error"]["message"]
    assert shoal.get("/swatches.json").json()["total"] == 7


def test_what_jobs_found_is_the_copys(shoal: TestClient, started: Callable[..., int]) -> None:
    """A chart made since is gone, and another's result under its number isn't taken for it."""
    copy = shoal.get("/backup").content
    first = started("/charts", range="Shoal", pasted="Kelp", title="First")
    assert shoal.get(f"/chart?job={first}").status_code == 200
    shoal.post("/history/restore", files={"file": ("safe.db", copy)})
    assert shoal.get(f"/chart?job={first}").status_code == 404
    second = started("/charts", range="Shoal", pasted="Dune", title="Second")
    assert second == first
    assert "<h1>Second</h1>" in shoal.get(f"/chart?job={second}").text


def test_a_library_in_use_is_left_alone(
    shoal: TestClient, jobs: Jobs, monkeypatch: pytest.MonkeyPatch
) -> None:
    """While long work is under way nothing is put in its place, and the page says so."""
    copy = shoal.get("/backup").content
    monkeypatch.setattr(jobs, "_live", {1: "a job"})
    refused = shoal.post("/history/restore", files={"file": ("safe.db", copy)})
    monkeypatch.undo()
    assert refused.status_code == 422
    assert "Long work is under way" in refused.text


def test_a_phone_puts_nothing_back() -> None:
    """The whole library is replaced at the bench itself only."""
    assert is_at_the_bench("/history/restore")
    assert not is_at_the_bench("/history")
