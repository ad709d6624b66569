"""One row of a library that can't be read shuts neither the first page nor the way out."""

import sqlite3
from contextlib import closing

import pytest
from starlette.testclient import TestClient

from laydown.app.jobs import Jobs
from laydown.app.library import Library
from laydown.store.columns import now
from laydown.store.jobs import packed


def damage(location: str, statement: str) -> None:
    """Have another program write to the library."""
    with closing(sqlite3.connect(location, isolation_level=None)) as connection:
        connection.execute(statement)


@pytest.mark.parametrize(
    "content", ["'{'", "'{}'", "X'00ff'", "cast(X'ff' as text)", "printf('%.900000c', '[')"]
)
def test_a_sheet_that_can_not_be_read_is_said_on_the_first_page(
    visit: TestClient, location: str, content: str
) -> None:
    """All else of the page is there; the page of the sheets says the same sentence by itself."""
    damage(location, f"insert into sheets values (5, {content}, '2026-03-04 10:00:00')")
    page = visit.get("/")
    assert page.status_code == 200
    assert "is damaged" in page.text
    assert visit.get("/stop").status_code == 200
    listed = visit.get("/sheets")
    assert listed.status_code == 422
    assert "is damaged" in listed.text


@pytest.mark.parametrize("change", ["state = 'odd'", "made = 'never'", "title = X'00ff'"])
def test_a_job_that_can_not_be_read_leaves_the_bench_to_be_closed(
    visit: TestClient, library: Library, location: str, change: str
) -> None:
    """The first page and the closing page don't need it; the list of jobs says what is wrong."""
    with library.work("keep a job") as work:
        work.jobs.add("read_sheet", packed("{}"), title="", started_by="", when=now())
    damage(location, f"update jobs set {change}")
    assert visit.get("/").status_code == 200
    assert visit.get("/stop.json").json()["unfinished"] == 0
    assert "is damaged" in visit.get("/jobs").text


@pytest.mark.parametrize("change", ["made = 'never'", "title = X'00ff'"])
def test_a_bench_opens_on_a_job_that_can_not_be_read(
    library: Library, location: str, change: str
) -> None:
    """What was broken off is marked all the same."""
    with library.work("keep a job") as work:
        work.jobs.add("read_sheet", packed("{}"), title="", started_by="", when=now())
    damage(location, f"update jobs set {change}")
    Jobs(location).close()
    with closing(sqlite3.connect(location)) as connection:
        assert connection.execute("select state from jobs").fetchone() == ("interrupted",)
