"""A bench to visit, with a library of its own."""

import shutil
import time
from collections.abc import Callable, Iterator
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from starlette.testclient import TestClient

from laydown.app.fits import fit_for
from laydown.app.jobs import Jobs
from laydown.app.library import Library, open_named
from laydown.cli.main import door
from laydown.store.records import Job
from laydown.web.desk import Desk, open_desk
from laydown.web.serving import create_application, names_of

HERE = "http://127.0.0.1:8017"
PATIENCE = 900.0
"""A job that takes longer is stuck: on a busy computer one may have to compile the search [s]."""

SHOAL = """\
range,medium,color,paper,coats,over,L,a,b
Shoal,marker,,Gannet smooth,,,95.0,0.5,-2.0
Shoal,marker,Kelp,Gannet smooth,1,,52.0,-22.0,24.0
Shoal,marker,Kelp,Gannet smooth,2,,40.0,-24.0,26.0
Shoal,marker,Dune,Gannet smooth,1,,82.0,3.0,22.0
Shoal,marker,Dune,Gannet smooth,2,,76.0,4.0,30.0
Shoal,marker,Skiff,Gannet smooth,1,,60.0,-8.0,-30.0
Shoal,marker,Net,Gannet smooth,1,,70.0,0.0,3.0
"""
"""An invented range of four markers on an invented paper."""


REEF = """\
range,medium,color,paper,coats,over,L,a,b
Reef,marker,,Gannet smooth,,,95.0,0.5,-2.0
Reef,marker,Foam,Gannet smooth,1,,85.0,-2.0,3.0
Reef,marker,Foam,Gannet smooth,2,,78.0,-3.0,4.0
Reef,marker,Sand eel,Gannet smooth,1,,72.0,-2.0,3.0
Reef,marker,Slate,Gannet smooth,1,,58.0,-2.0,3.0
Reef,marker,Slate,Gannet smooth,2,,44.0,-2.0,3.0
Reef,marker,Basalt,Gannet smooth,1,,44.0,-2.0,3.0
Reef,marker,Anemone,Gannet smooth,1,,50.0,55.0,30.0
Reef,marker,Anemone,Gannet smooth,2,,42.0,58.0,36.0
Reef,marker,Weed,Gannet smooth,1,,30.0,-35.0,18.0
"""
"""An invented range: four grays in even steps of value, a red and a green that stand alone."""


@pytest.fixture(scope="session")
def ranges() -> dict[str, bytes]:
    """Return both as files."""
    return {"shoal.csv": SHOAL.encode(), "reef.csv": REEF.encode()}


@pytest.fixture(scope="session")
def shoal_library(
    tmp_path_factory: pytest.TempPathFactory, lay_library: Callable[[Path], Path]
) -> Path:
    """Take the range Shoal into a library, for all tests to copy."""
    return _with_range("Shoal", SHOAL, lay_library(tmp_path_factory.mktemp("shoal") / "library.db"))


@pytest.fixture(scope="session")
def reef_library(tmp_path_factory: pytest.TempPathFactory, shoal_library: Path) -> Path:
    """Take the range Reef into a library beside Shoal, for all tests to copy."""
    library = tmp_path_factory.mktemp("reef") / "library.db"
    return _with_range("Reef", REEF, Path(shutil.copyfile(shoal_library, library)))


def _with_range(name: str, swatches: str, library: Path) -> Path:
    """Take a range into a library, and keep its fit there, so that no test makes it anew."""
    file = library.with_name(f"{name.lower()}.csv")
    file.write_text(swatches, encoding="utf-8")
    taken = CliRunner().invoke(door, ["swatches", "import", str(file), "--db", str(library)])
    assert taken.exit_code == 0, taken.output
    with closing(open_named(str(library))) as opened:
        fit_for(opened, [name], "Gannet smooth")
    return library


@pytest.fixture
def location(
    request: pytest.FixtureRequest, tmp_path: Path, lay_library: Callable[[Path], Path]
) -> str:
    """Return where the library of this test is: empty, but where Reef or Shoal is asked for."""
    path = tmp_path / "library.db"
    for name in ("reef", "shoal"):  # the first holds the second
        if name in request.fixturenames:
            return str(shutil.copyfile(request.getfixturevalue(f"{name}_library"), path))
    return str(lay_library(path))


@pytest.fixture
def library(location: str) -> Iterator[Library]:
    """Give an empty library."""
    opened = open_named(location)
    yield opened
    opened.close()


@pytest.fixture
def desk(location: str) -> Iterator[Desk]:
    """Give the open bench of that library."""
    with open_desk(location, hosts=names_of(8017)) as opened:
        yield opened


@pytest.fixture
def jobs(desk: Desk) -> Jobs:
    """Give the bench's long work."""
    return desk.jobs


@pytest.fixture
def visit(desk: Desk) -> Iterator[TestClient]:
    """Give a browser's stand-in at that bench; it does not follow redirects."""
    with TestClient(
        create_application(desk),
        base_url=HERE,
        cookies=desk.keys.cookies(8017),
        follow_redirects=False,
        raise_server_exceptions=False,
    ) as client:
        yield client


@pytest.fixture
def shoal(visit: TestClient, tmp_path: Path) -> TestClient:
    """Give the same with the range Shoal in the library, and its file beside it."""
    (tmp_path / "shoal.csv").write_text(SHOAL, encoding="utf-8")
    return visit


@pytest.fixture
def reef(shoal: TestClient) -> TestClient:
    """Give the same with the range Reef beside it."""
    return shoal


@pytest.fixture
def over(jobs: Jobs) -> Callable[[int], Job]:
    """Give a function that waits until a job is over, and returns it."""

    def wait(number: int) -> Job:
        last = time.monotonic() + PATIENCE
        while not (job := jobs.get(number)).state.is_over:
            assert time.monotonic() < last, job
            _let_work(jobs)
        return job

    return wait


@pytest.fixture
def ended(visit: TestClient, over: Callable[[int], Job]) -> Callable[[int], dict[str, Any]]:
    """Give a function that waits until a job is over, and returns it as its page tells it."""

    def wait(number: int) -> dict[str, Any]:
        over(number)
        return dict(visit.get(f"/job.json?number={number}").json())

    return wait


def _let_work(jobs: Jobs) -> None:
    """Wait a little, no longer than until a job is over: to look into the library takes work."""
    under_way = jobs.under_way
    for _ in range(20):
        time.sleep(0.02)
        if jobs.under_way < max(under_way, 1):
            return


@pytest.fixture
def started(visit: TestClient, over: Callable[[int], Job]) -> Callable[..., int]:
    """Give a function that sends a form which starts a job, waits, and returns its number."""

    def start(path: str, *, files: Any = None, **fields: str | list[str]) -> int:
        asked = visit.post(path, data=fields, files=files)
        assert asked.status_code == 303, asked.text
        number = int(asked.headers["location"].rpartition("=")[2])
        job = over(number)
        assert job.state == "done", job.message
        return number

    return start
