"""The whole job on invented data, run at the bench."""

from collections.abc import Callable
from dataclasses import fields
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient

from laydown.app.demo import FOLDER, MARK, DemoDone, Missed, RunDemo, claim_folder, folder_beside
from laydown.app.jobs import Jobs
from laydown.app.library import Library
from laydown.store.records import Job

Over = Callable[[int], Job]

MISSED = Missed(recipes=25, mean=1.5, largest=4.2, inside=21)


@pytest.fixture
def done(library: Library, jobs: Jobs, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> DemoDone:
    """Give a demo that was run, as job 7: two files where they belong, one from elsewhere."""
    folder = claim_folder(folder_beside(library))
    (folder / "chart.csv").write_text("number\n")
    (tmp_path / "own.txt").write_text("somebody's own")
    files = (folder / "chart.csv", folder / "chart.pdf", folder / ".." / "own.txt")
    made: dict[str, Any] = {field.name: None for field in fields(DemoDone)}
    misses = {name: MISSED for name in made if name.startswith("missed")}
    result = DemoDone(**{**made, **misses, "files": files})
    monkeypatch.setattr(jobs, "result", lambda _: result)
    return result


def test_the_demo_is_run_beside_the_library(visit: TestClient, jobs: Jobs, tmp_path: Path) -> None:
    """The form starts long work that is asked what the command would be, in a folder of its own."""
    assert str(tmp_path / FOLDER) in visit.get("/demo").text
    asked = visit.post("/demo/run", data={"page": "Letter", "for_class": "true"})
    number = int(asked.headers["location"].rpartition("=")[2])
    jobs.cancel(number)
    assert jobs.request(number) == RunDemo(tmp_path / FOLDER, "Letter", for_class=True)
    assert visit.get("/demo").text.count(f"/job?number={number}") == 1


def test_somebodys_own_folder_of_that_name_is_left_alone(
    visit: TestClient, over: Over, tmp_path: Path
) -> None:
    """Files that are not the demo's are told of, and stay."""
    (tmp_path / FOLDER).mkdir()
    (tmp_path / FOLDER / "mine.txt").write_text("mine")
    asked = visit.post("/demo/run")
    number = int(asked.headers["location"].rpartition("=")[2])
    assert over(number).state == "failed"
    assert "holds files that are not the demo" in visit.get(f"/job?number={number}").text
    assert not (tmp_path / FOLDER / MARK).exists()


@pytest.mark.usefixtures("done")
def test_its_files_are_handed_over_and_no_others(visit: TestClient) -> None:
    """A file in the demo's folder is; one that is gone, or that lies elsewhere, is not."""
    page = visit.get("/demo/done?job=7").text
    assert "21 of 25" in page
    assert "/demo/file?job=7&amp;number=3" in page
    assert visit.get("/demo/file?job=7&number=1").text == "number\n"
    for number in (2, 3, 4):
        gone = visit.get(f"/demo/file?job=7&number={number}")
        assert gone.status_code == 404
        assert "here any longer" in gone.text
