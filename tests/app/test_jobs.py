"""Long work in the background, on real libraries and real threads; only the clock is ours."""

import sqlite3
import subprocess
import sys
import textwrap
import threading
import time
import tracemalloc
import zlib
from collections.abc import Callable, Iterator
from contextlib import closing
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from laydown.app import jobs as app_jobs
from laydown.app.fits import Supplies
from laydown.app.jobs import Jobs, State
from laydown.app.library import Library, open_named
from laydown.app.matches.colors import Asking, MakeChart
from laydown.app.tasks import Tell, Watch, job_task
from laydown.errors import BadFileError, LibraryError, TooLargeError, UnknownNameError
from laydown.plan.chart import Chart
from laydown.store.jobs import MOST_UNPACKED, packed
from laydown.store.records import Job

PATIENCE = 600.0
"""A job of these tests that takes longer is stuck [s]."""
PAPER = "Gannet smooth"
SHORT = MakeChart(
    title="Two", colors=("Kelp", "Dune"), asking=Asking(Supplies(ranges=("Shoal",), paper=PAPER))
)
FAR = packed('{"miles": "far", "log": 7}')


@dataclass(frozen=True, slots=True)
class Sail:
    """A journey to make up."""

    miles: int = 3
    wreck: str = ""


@dataclass(frozen=True, slots=True)
class Landed:
    """How it went."""

    miles: int
    log: str


@dataclass(slots=True)
class Boat:
    """A task that goes a mile each time the test lets it."""

    sailing: threading.Event = field(default_factory=threading.Event)
    go: threading.Semaphore = field(default_factory=lambda: threading.Semaphore(0))
    aboard: set[str] = field(default_factory=set)

    def sail(self, library: Library, request: Sail, *, watch: Watch, tell: Tell) -> Landed:
        """Sail as far as was asked, or be wrecked."""
        self.aboard.add(threading.current_thread().name)
        self.sailing.set()
        tell("Under way")
        for mile in range(request.miles):
            assert self.go.acquire(timeout=PATIENCE)
            watch(mile, request.miles)
        if request.wreck == "rock":
            raise BadFileError(
                "There is a rock on the chart.", hint="Buy another chart.", command="--chart"
            )
        if request.wreck == "fog":
            raise ZeroDivisionError("nothing to be seen")
        return Landed(request.miles, "x" * request.miles)


@dataclass(slots=True)
class Clock:
    """A clock that stands still until it is put on."""

    moment: datetime = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)

    def __call__(self) -> datetime:
        """Return what it shows."""
        return self.moment


@pytest.fixture
def boat(monkeypatch: pytest.MonkeyPatch) -> Boat:
    """Put a boat in the place of the demo, so that any job of that name sails."""
    made = Boat()
    known = job_task
    sail = made.sail, Sail, Landed
    monkeypatch.setattr(app_jobs, "job_task", lambda n: sail if n == "run_demo" else known(n))
    return made


@pytest.fixture
def clock() -> Clock:
    """Return a clock that stands still."""
    return Clock()


@pytest.fixture
def place(library: Library) -> str:
    """Where the library of a test lies."""
    return library.location


@pytest.fixture
def jobs(place: str, boat: Boat, clock: Clock) -> Iterator[Jobs]:
    """The jobs of a library; whoever still sails at the end is let go."""
    with Jobs(place, clock=clock) as opened:
        yield opened
        boat.go.release(1000)


def until(jobs: Jobs, number: int, true_of: Callable[[Job], bool]) -> Job:
    """Wait until something is true of a job."""
    last = time.monotonic() + PATIENCE
    while not true_of(job := jobs.get(number)):
        assert time.monotonic() < last, job
        time.sleep(0.01)
    return job


def ended(jobs: Jobs, number: int) -> Job:
    """Wait until a job is over."""
    return until(jobs, number, lambda job: job.state.is_over)


def test_a_chart_made_in_the_background_is_the_chart(jobs: Jobs, place: str) -> None:
    """A job gives what its task gives, and the library keeps it for whoever asks later."""
    job = jobs.start("make_chart", SHORT, title="Two colors", started_by="desk")
    assert ended(jobs, job.id).state is State.DONE
    found = jobs.result(job.id)
    assert isinstance(found, Chart)
    assert {match.target.name for match in found.matches} == {"Kelp", "Dune"}
    with Jobs(place) as others:
        again = others.result(job.id)
        assert isinstance(again, Chart)
        assert again.title == "Two"
        assert [(j.title, j.started_by, j.state) for j in others.all()] == [
            ("Two colors", "desk", State.DONE)
        ]


def test_a_job_tells_how_far_it_has_come(jobs: Jobs, boat: Boat) -> None:
    """Progress and the sentence of the moment are there while it runs."""
    job = jobs.start("run_demo", Sail(4))
    boat.go.release(3)
    running = until(jobs, job.id, lambda j: j.done == 2)
    assert (running.state, running.total, running.message) == (State.RUNNING, 4, "Under way")
    boat.go.release()
    done = ended(jobs, job.id)
    assert (done.state, done.message) == (State.DONE, "")
    assert jobs.result(job.id) == Landed(4, "xxxx")


def test_a_job_whose_end_is_written_is_over(jobs: Jobs, monkeypatch: pytest.MonkeyPatch) -> None:
    """Between the library's record and its own books, a job is what the library says."""
    job = jobs.start("run_demo", Sail(0))
    ended(jobs, job.id)
    monkeypatch.setitem(jobs._live, job.id, app_jobs._Live(job))
    assert jobs.get(job.id).state is State.DONE


def test_one_thread_does_all_the_work(jobs: Jobs, boat: Boat) -> None:
    """A second job waits until the first is over, and both run in the same thread."""
    first, second = jobs.start("run_demo", Sail(1)), jobs.start("run_demo", Sail(1))
    assert boat.sailing.wait(PATIENCE)
    assert jobs.get(second.id).state is State.WAITING
    boat.go.release(2)
    assert ended(jobs, second.id).state is State.DONE
    assert jobs.get(first.id).state is State.DONE
    assert len(boat.aboard) == 1


def test_a_running_job_stops_at_its_next_step(jobs: Jobs, boat: Boat) -> None:
    """Cancelled, it gives nothing, and the next job goes on."""
    job, following = jobs.start("run_demo", Sail(500)), jobs.start("run_demo", Sail(0))
    assert boat.sailing.wait(PATIENCE)
    jobs.cancel(job.id)
    boat.go.release()
    assert ended(jobs, job.id).state is State.CANCELLED
    with pytest.raises(UnknownNameError, match="Nothing is kept"):
        jobs.result(job.id)
    assert ended(jobs, following.id).state is State.DONE


def test_a_waiting_job_is_cancelled_at_once(jobs: Jobs, boat: Boat) -> None:
    """It never begins, however long the one before it takes."""
    jobs.start("run_demo", Sail(1))
    waiting = jobs.start("run_demo", Sail(1))
    assert jobs.cancel(waiting.id).state is State.CANCELLED
    assert jobs.get(waiting.id).started is None
    assert jobs.cancel(waiting.id).state is State.CANCELLED


def test_an_error_is_one_sentence_and_a_way_on(jobs: Jobs) -> None:
    """What a task raises for people is kept with the job."""
    job = jobs.start("run_demo", Sail(0, "rock"))
    failed = ended(jobs, job.id)
    assert (failed.state, failed.message) == (State.FAILED, "There is a rock on the chart.")
    assert failed.hint == "Buy another chart."


def test_a_fault_of_ours_is_told_as_one(jobs: Jobs, caplog: pytest.LogCaptureFixture) -> None:
    """An error that is nobody's but ours ends the job, is logged, and harms no other."""
    job = jobs.start("run_demo", Sail(0, "fog"))
    failed = ended(jobs, job.id)
    assert failed.state is State.FAILED
    assert failed.message == (
        "This is a fault of laydown, not yours: ZeroDivisionError: nothing to be seen"
    )
    assert "nothing to be seen" in caplog.text
    assert ended(jobs, jobs.start("run_demo", Sail(0)).id).state is State.DONE


def test_a_chart_that_can_not_be_made_says_why(jobs: Jobs) -> None:
    """The sentence is the same as on the command line."""
    job = jobs.start("make_chart", MakeChart(colors=("Klep",), asking=SHORT.asking))
    failed = ended(jobs, job.id)
    assert failed.state is State.FAILED
    assert "Klep" in failed.message


def test_closing_interrupts_and_another_day_runs_it_again(
    place: str, boat: Boat, clock: Clock
) -> None:
    """What isn't finished at closing is marked, and can be started anew from what was asked."""
    with Jobs(place, clock=clock) as jobs:
        running, waiting = jobs.start("run_demo", Sail(7)), jobs.start("run_demo", Sail(2))
        assert boat.sailing.wait(PATIENCE)
        boat.go.release()
    with Jobs(place, clock=clock) as jobs:
        for job in (running, waiting):
            found = jobs.get(job.id)
            assert found.state is State.INTERRUPTED
            assert found.message == "laydown was closed before this was finished."
        boat.go.release(10)
        assert jobs.request(running.id) == Sail(7)
        assert ended(jobs, jobs.again(running.id).id).state is State.DONE


def test_progress_is_no_change_to_take_back(jobs: Jobs, library: Library) -> None:
    """Jobs leave the history of the library alone."""
    before = library.history()
    ended(jobs, jobs.start("run_demo", Sail(0)).id)
    assert library.history() == before


def test_a_task_that_holds_the_library_is_watched_without_waiting(
    jobs: Jobs, boat: Boat, library: Library, monkeypatch: pytest.MonkeyPatch
) -> None:
    """While another writes, progress goes on in memory, and nobody waits for the library."""
    monkeypatch.setattr("laydown.store.files.BUSY_MILLISECONDS", int(10_000 * PATIENCE))
    job = jobs.start("run_demo", Sail(3))
    assert boat.sailing.wait(PATIENCE)
    with library.work("hold the library"):
        boat.go.release(2)
        until(jobs, job.id, lambda j: j.done == 1)
    boat.go.release()
    assert ended(jobs, job.id).state is State.DONE


def test_the_end_of_a_job_is_written_however_busy_the_library(
    jobs: Jobs, boat: Boat, library: Library, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A job that ends while another writes is done all the same."""
    monkeypatch.setattr(app_jobs, "TRIES", 10_000)
    job = jobs.start("run_demo", Sail(1))
    assert boat.sailing.wait(PATIENCE)
    with pytest.MonkeyPatch.context() as context, library.work("hold the library"):
        context.setattr("laydown.store.files.BUSY_MILLISECONDS", 10)
        boat.go.release()
        time.sleep(0.1)
        assert not jobs.get(job.id).state.is_over
    assert ended(jobs, job.id).state is State.DONE


def test_whoever_runs_a_job_knows_best_how_it_stands(place: str, boat: Boat, jobs: Jobs) -> None:
    """A second process takes it for broken off, until its end is written."""
    job = jobs.start("run_demo", Sail(1))
    assert boat.sailing.wait(PATIENCE)
    with Jobs(place) as others:
        assert others.get(job.id).state is State.INTERRUPTED
        assert jobs.get(job.id).state is State.RUNNING
        assert [j.state for j in jobs.all()] == [State.RUNNING]
        boat.go.release()
        assert ended(jobs, job.id).state is State.DONE
        assert others.get(job.id).state is State.DONE


@pytest.mark.parametrize(
    "change",
    [
        f"update job_texts set content = x'{FAR.hex()}' where part = 'found'",
        "update jobs set task = 'rm'",
        "update jobs set task = 'make_chart'",
    ],
)
def test_a_result_that_is_none_of_ours_is_told(
    jobs: Jobs, place: str, change: str, clock: Clock
) -> None:
    """Whatever another program put into the library, one sentence says that it can't be read."""
    job = jobs.start("run_demo", Sail(0))
    ended(jobs, job.id)
    with closing(sqlite3.connect(place)) as other, other:
        other.execute(change)
    with Jobs(place, clock=clock) as others, pytest.raises(LibraryError) as trouble:
        others.result(job.id)
    assert trouble.value.hint


def test_a_packed_text_without_end_is_not_unpacked(jobs: Jobs, place: str, clock: Clock) -> None:
    """A megabyte that would become hundreds becomes a sentence, in little memory."""
    job = jobs.start("run_demo", Sail(0), form="{}")
    ended(jobs, job.id)
    packing = zlib.compressobj(1)
    bomb = b"".join(packing.compress(b" " * 10_000_000) for _ in range(16)) + packing.flush()
    with closing(sqlite3.connect(place)) as other, other:
        other.execute("update job_texts set content = ?", (bomb,))
    tracemalloc.start()
    with Jobs(place, clock=clock) as others:
        for ask in (others.result, others.request, others.form, others.again):
            with pytest.raises(LibraryError) as trouble:
                ask(job.id)
            assert trouble.value.hint
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert peak < 3 * MOST_UNPACKED


def test_what_is_too_large_is_refused_or_failed(
    jobs: Jobs, boat: Boat, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A request beyond the limit doesn't start; a result beyond it is not kept."""
    monkeypatch.setattr(app_jobs, "MOST_TEXT", 100)
    with pytest.raises(TooLargeError, match="made from"):
        jobs.start("run_demo", Sail(0, "x" * 100))
    assert jobs.all() == ()
    boat.go.release(90)
    failed = ended(jobs, jobs.start("run_demo", Sail(90)).id)
    assert failed.state is State.FAILED
    assert failed.hint == "Do it in smaller parts."


def test_old_jobs_are_put_away(jobs: Jobs, clock: Clock) -> None:
    """What ended over a month ago goes when the next one starts."""
    old = jobs.start("run_demo", Sail(0))
    ended(jobs, old.id)
    clock.moment += timedelta(days=31)
    new = jobs.start("run_demo", Sail(0))
    assert [job.id for job in jobs.all()] == [new.id]
    with pytest.raises(UnknownNameError, match=f"no job {old.id}"):
        jobs.get(old.id)


def test_only_so_many_and_so_much_is_kept(jobs: Jobs, monkeypatch: pytest.MonkeyPatch) -> None:
    """The oldest go first, by number and by what they take; what runs is never put away."""
    monkeypatch.setattr(app_jobs, "MOST_JOBS", 2)
    made = [ended(jobs, jobs.start("run_demo", Sail(0)).id) for _ in range(4)]
    assert [job.id for job in jobs.all()] == [job.id for job in reversed(made[1:])]
    monkeypatch.setattr(app_jobs, "MOST_BYTES_KEPT", made[0].bytes_kept)
    last = jobs.start("run_demo", Sail(0))
    assert {job.id for job in jobs.all()} == {last.id, made[-1].id}


def test_a_job_that_is_over_can_be_put_away(jobs: Jobs, boat: Boat) -> None:
    """One that runs stays."""
    over, running = jobs.start("run_demo", Sail(0)), jobs.start("run_demo", Sail(1))
    ended(jobs, over.id)
    for job in (over, running):
        jobs.remove(job.id)
    assert [job.id for job in jobs.all()] == [running.id]


def test_a_request_of_another_task_is_a_mistake_of_the_programmer(jobs: Jobs) -> None:
    """It is no error for people."""
    with pytest.raises(TypeError, match="takes a Sail"):
        jobs.start("run_demo", SHORT)


ANOTHER_PROCESS = """
    import sys, time
    from laydown.app import jobs as app_jobs
    from laydown.app.fits import Supplies
    def work(library, request, *, watch, tell):
        print("begun", flush=True)
        while True:
            watch(1, 2)
            time.sleep(0.01)
    app_jobs.job_task = lambda name: (work, Supplies, Supplies)
    with app_jobs.Jobs(sys.argv[1]) as jobs:
        job = jobs.start("make_chart", Supplies())
        time.sleep(600)
"""


def start_another(place: str) -> "subprocess.Popen[str]":
    """Start a process with an endless job, and wait until it has begun."""
    process = subprocess.Popen(
        [sys.executable, "-c", textwrap.dedent(ANOTHER_PROCESS), place],
        stdout=subprocess.PIPE,
        text=True,
    )
    assert process.stdout is not None
    assert process.stdout.readline() == "begun\n"
    return process


def test_a_process_that_was_killed_leaves_an_interrupted_job(place: str) -> None:
    """Its job is marked when the library is opened next, and can be run again."""
    with start_another(place) as process:
        process.kill()
    with Jobs(place) as jobs:
        (job,) = jobs.all()
        assert job.state is State.INTERRUPTED
    assert Path(place).is_file()
    open_named(place).close()


def test_the_library_changes_as_a_whole_only_while_no_job_is_under_way(
    jobs: Jobs, boat: Boat
) -> None:
    """While one runs the change is refused; afterwards it is made, and results are read anew."""
    job = jobs.start("run_demo", Sail(1))
    until(jobs, job.id, lambda j: j.state is State.RUNNING)
    with pytest.raises(LibraryError, match="under way"):
        jobs.while_still(lambda: "never")
    boat.go.release()
    ended(jobs, job.id)
    first = jobs.result(job.id)
    assert jobs.while_still(lambda: "changed") == "changed"
    assert jobs.result(job.id) == first
    assert jobs.result(job.id) is not first


def test_memory_is_given_back_after_each_job(
    jobs: Jobs, boat: Boat, monkeypatch: pytest.MonkeyPatch
) -> None:
    """However a job ends, what it freed is not kept for the next."""
    given_back: list[int] = []
    monkeypatch.setattr(app_jobs, "give_back_memory", lambda: given_back.append(1), raising=False)
    for expected in (1, 2):
        boat.go.release()
        ended(jobs, jobs.start("run_demo", Sail(1)).id)
        jobs.start("run_demo", Sail(1))  # behind it, so that it was over when this began
        boat.go.release()
        until(jobs, jobs.all()[0].id, lambda j: j.state.is_over)
        assert len(given_back) >= expected
