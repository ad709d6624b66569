"""Long work by several processes: a real local cluster of Dask, and the same answers."""

import os
import signal
from collections.abc import Iterator
from typing import Any

import pytest
from distributed import Client, LocalCluster

from laydown.app import crew as crew_module
from laydown.app.buying import ChooseKit, choose_kit
from laydown.app.crew import crew
from laydown.app.encoding import to_json
from laydown.app.fits import Supplies
from laydown.app.library import Library, open_named
from laydown.app.matches.colors import Asking, MakeChart, make_chart, write_chart
from laydown.app.swatches import ImportSwatches, import_swatches
from laydown.app.tasks import GivenFile
from laydown.errors import CrewError

pytestmark = pytest.mark.long
SHOAL = """\
range,medium,color,paper,coats,over,L,a,b
Shoal,marker,,Gannet smooth,,,95.0,0.5,-2.0
Shoal,marker,Kelp,Gannet smooth,1,,52.0,-22.0,24.0
Shoal,marker,Kelp,Gannet smooth,2,,40.0,-24.0,26.0
Shoal,marker,Dune,Gannet smooth,1,,82.0,3.0,22.0
Shoal,marker,Skiff,Gannet smooth,1,,60.0,-8.0,-30.0
Shoal,marker,Net,Gannet smooth,1,,70.0,0.0,3.0
"""
"""An invented range of four markers on an invented paper."""
COLORS = tuple(f"lab:{lightness},{a},{b}" for lightness in (40, 70) for a, b in ((5, 9), (-8, 4)))
REQUEST = MakeChart(
    colors=COLORS, asking=Asking(Supplies(ranges=("Shoal",), paper="Gannet smooth"))
)


@pytest.fixture(scope="module")
def library(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Library]:
    """Give a library with one small range."""
    opened = open_named(str(tmp_path_factory.mktemp("crew") / "library.db"))
    import_swatches(opened, ImportSwatches((GivenFile(SHOAL.encode(), "shoal.csv"),)))
    yield opened
    opened.close()


@pytest.fixture(scope="module")
def alone(library: Library) -> bytes:
    """Return the chart as one process makes it."""
    return write_chart(make_chart(library, REQUEST), "json")


@pytest.fixture(scope="module")
def running() -> Iterator[LocalCluster]:
    """Give a scheduler with two workers, which are started again when they die."""
    with LocalCluster(
        n_workers=2,
        threads_per_worker=1,
        host="127.0.0.1",
        dashboard_address="127.0.0.1:0",
        memory_limit=0,
    ) as one:
        yield one


@pytest.fixture
def cluster(running: LocalCluster) -> LocalCluster:
    """Give the scheduler with both of its workers there."""
    with Client(running) as client:
        client.wait_for_workers(2)
    return running


def test_two_make_the_chart_that_one_makes(library: Library, alone: bytes) -> None:
    """Processes of this computer give the same bytes, and tell how far they have come."""
    told: list[tuple[int, int]] = []
    with crew(workers=2):
        chart = make_chart(library, REQUEST, watch=lambda done, total: told.append((done, total)))
    assert write_chart(chart, "json") == alone
    assert told[-1] == (len(COLORS), len(COLORS))
    assert [done for done, _ in told] == sorted(done for done, _ in told)


@pytest.mark.parametrize("deaths", [1, 2])
def test_workers_that_are_killed_change_only_the_time(
    library: Library, alone: bytes, cluster: LocalCluster, deaths: int
) -> None:
    """What they were doing, and what they alone were given, is made anew: the same answer."""
    killed: list[int] = []

    def watch(_done: int, _total: int) -> None:
        if not killed:
            with Client(cluster) as client:
                killed.extend(list(client.run(os.getpid).values())[:deaths])
            for process in killed:
                os.kill(process, signal.SIGKILL)

    with crew(cluster=cluster.scheduler_address):
        chart = make_chart(library, REQUEST, watch=watch)
    assert len(killed) == deaths
    assert write_chart(chart, "json") == alone


LESSON = "laydown lesson 1\n" + "".join(
    f"\ncolor: C{n}\n  screen: #{n}0{n}0{n}0\n" for n in range(2, 8)
)


def test_a_choice_of_purchases_has_its_searches_done_by_two(
    library: Library, cluster: LocalCluster, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Colors that no short recipe makes are looked for by both; the choice is the same."""
    request = ChooseKit(lessons=(GivenFile(LESSON.encode(), "lesson.txt"),), tolerance="close")
    choice = to_json(choose_kit(library, request))
    shared: list[int] = []
    by_crew = crew_module._by_crew

    def count(*given: Any) -> Any:
        shared.append(len(given[2]))
        return by_crew(*given)

    monkeypatch.setattr(crew_module, "_by_crew", count)
    with crew(cluster=cluster.scheduler_address):
        assert to_json(choose_kit(library, request)) == choice
    assert shared
    assert shared[0] > 1


def test_cancelled_work_is_given_up(library: Library, cluster: LocalCluster) -> None:
    """What the watch raises comes through."""

    def watch(_done: int, _total: int) -> None:
        raise KeyboardInterrupt

    with crew(cluster=cluster.scheduler_address), pytest.raises(KeyboardInterrupt):
        make_chart(library, REQUEST, watch=watch)


def test_other_versions_are_refused(cluster: LocalCluster, monkeypatch: pytest.MonkeyPatch) -> None:
    """Answers must not depend on who worked."""
    monkeypatch.setattr(crew_module, "version", lambda name: "0.0")  # here, and not there
    with (
        pytest.raises(CrewError, match=r"has laydown .*, not 0\.0"),
        crew(cluster=cluster.scheduler_address),
    ):
        pass


def test_a_scheduler_out_of_reach_is_a_sentence() -> None:
    """Where nothing answers, and where nobody works."""
    with pytest.raises(CrewError, match="No scheduler answers"), crew(cluster="tcp://127.0.0.1:9"):
        pass
    with (
        LocalCluster(n_workers=0, host="127.0.0.1", dashboard_address="127.0.0.1:0") as empty,
        pytest.raises(CrewError, match="no workers"),
        crew(cluster=empty.scheduler_address),
    ):
        pass
