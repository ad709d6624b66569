"""Jobs in a library, in a file and on a server."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from laydown.errors import LibraryError, UnknownNameError
from laydown.store.jobs import packed
from laydown.store.library import Library
from laydown.store.records import Job, State

NOON = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)
SECOND = timedelta(seconds=1)


def add(library: Library, *, asked: str = "{}") -> Job:
    """Add a job."""
    with library.work("add a job") as work:
        return work.jobs.add("make_chart", packed(asked), title="Lemons", started_by="", when=NOON)


def get(library: Library, number: int) -> Job:
    """Return a job as the library has it."""
    with library.look() as work:
        return work.jobs.get(number)


def test_a_job_goes_from_waiting_to_done(any_library: Library) -> None:
    """What was asked and found, how far it came and when, are all kept."""
    job = add(any_library, asked='{"title":"Lemons “blue”"}')
    assert (job.state, job.started, job.ended) == (State.WAITING, None, None)
    told = replace(job, state=State.DONE, done=3, total=10, message="Fitted", started=NOON + SECOND)
    with any_library.work("end") as work:
        work.jobs.end(replace(told, ended=NOON + 2 * SECOND), packed("[1]"))
    done = get(any_library, job.id)
    assert done == replace(told, ended=NOON + 2 * SECOND, bytes_kept=done.bytes_kept)
    assert done.bytes_kept > job.bytes_kept
    with any_library.look() as work:
        assert work.jobs.asked(job.id) == '{"title":"Lemons “blue”"}'
        assert work.jobs.found(job.id) == "[1]"


def test_what_was_never_ended_was_interrupted(any_library: Library) -> None:
    """Jobs that wait or run are marked; one that is over stays as it is."""
    waiting, over = add(any_library), add(any_library)
    with any_library.work("end") as work:
        work.jobs.end(replace(over, state=State.FAILED, ended=NOON))
    with any_library.work("mark") as work:
        work.jobs.interrupt(NOON + SECOND)
    marked, failed = get(any_library, waiting.id), get(any_library, over.id)
    assert (marked.state, marked.ended) == (State.INTERRUPTED, NOON + SECOND)
    assert (failed.state, failed.ended) == (State.FAILED, NOON)


def test_a_number_is_never_given_twice(any_library: Library) -> None:
    """A bookmark of a job that was put away doesn't lead to another."""
    first = add(any_library)
    with any_library.work("remove") as work:
        work.jobs.remove(first.id)
    assert add(any_library).id > first.id
    with any_library.look() as work, pytest.raises(UnknownNameError, match="no job"):
        work.jobs.get(first.id)
    with any_library.look() as work, pytest.raises(UnknownNameError, match="Nothing is kept"):
        work.jobs.asked(first.id)


def test_the_end_of_a_job_that_was_put_away_is_nothing(any_library: Library) -> None:
    """It is no error, and brings nothing back."""
    job = add(any_library)
    with any_library.work("remove") as work:
        work.jobs.remove(job.id)
    with any_library.work("end") as work:
        work.jobs.end(replace(job, state=State.DONE), packed("[]"))
    with any_library.look() as work:
        assert work.jobs.all() == ()


def test_a_writer_that_does_not_wait_is_told_at_once(library: Library) -> None:
    """While another writes, it is refused in the words of a busy library."""
    with (
        library.work("hold the library"),
        pytest.raises(LibraryError, match="busy"),
        library.work("tell", waits=False),
    ):
        pass
