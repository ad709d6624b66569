"""A copy of the library put back at the bench."""

from collections.abc import Callable
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from laydown.app.jobs import Jobs
from laydown.web.phone import is_at_the_bench


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
