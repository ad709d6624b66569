"""Jobs in a library, in a file and on a server."""

from datetime import UTC, datetime, timedelta

import pytest

from laydown.errors import LibraryError, UnknownNameError
from laydown.store.jobs import packed
from laydown.store.library import Library
from laydown.store.records import Job, JobOutcome, Progress, State

NOON = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)
SECOND = timedelta(seconds=1)


def add(library: Library, *, owner: str = "desk", when: datetime = NOON, asked: str = "{}") -> Job:
    """Add a job."""
    with library.work("add a job") as work:
        return work.jobs.add(
            "make_chart", packed(asked), title="Lemons", started_by="", owner=owner, when=when
        )


def get(library: Library, number: int) -> Job:
    """Return a job as the library has it."""
    with library.look() as work:
        return work.jobs.get(number)


def test_a_job_goes_from_waiting_to_done(any_library: Library) -> None:
    """What was asked and found, how far it came and when, are all kept."""
    job = add(any_library, asked='{"title":"Lemons “blue”"}')
    assert (job.state, job.started, job.ended) == (State.WAITING, None, None)
    under_way = Progress(3, 10, "Fitting", NOON + SECOND)
    with any_library.work("tell") as work:
        assert work.jobs.hear("desk", {job.id: under_way}, when=NOON + SECOND) == frozenset()
    told = get(any_library, job.id)
    assert (told.state, told.done, told.total) == (State.RUNNING, 3, 10)
    assert (told.message, told.started) == ("Fitting", NOON + SECOND)
    with any_library.work("end") as work:
        work.jobs.end(
            job.id, JobOutcome(State.DONE, packed("[1]")), under_way, when=NOON + 2 * SECOND
        )
    done = get(any_library, job.id)
    assert (done.state, done.message, done.ended) == (State.DONE, "", NOON + 2 * SECOND)
    assert done.bytes_kept > job.bytes_kept
    with any_library.look() as work:
        assert work.jobs.asked(job.id) == '{"title":"Lemons “blue”"}'
        assert work.jobs.found(job.id) == "[1]"


def test_only_its_owner_is_heard(any_library: Library) -> None:
    """Another process that tells of a job changes nothing of it."""
    job = add(any_library)
    with any_library.work("tell") as work:
        work.jobs.hear("other", {job.id: Progress(1, 2, "", NOON)}, when=NOON)
    assert get(any_library, job.id) == job


def test_what_is_silent_for_long_was_interrupted(any_library: Library) -> None:
    """Jobs waiting or running, not one's own, not heard of since; others stay as they are."""
    silent, heard = add(any_library), add(any_library, when=NOON + SECOND)
    own, over = add(any_library, owner="mine"), add(any_library)
    with any_library.work("end") as work:
        work.jobs.end(over.id, JobOutcome(State.FAILED), Progress(), when=NOON)
    since = NOON + SECOND
    with any_library.look() as work:
        assert work.jobs.unheard_of(since=since, but="mine")
    with any_library.work("mark") as work:
        work.jobs.interrupt(since=since, but="mine", when=since)
    states = [get(any_library, job.id).state for job in (silent, heard, own, over)]
    assert states == [State.INTERRUPTED, State.WAITING, State.WAITING, State.FAILED]
    with any_library.look() as work:
        assert not work.jobs.unheard_of(since=since, but="mine")


def test_word_to_stop_reaches_the_owner(any_library: Library) -> None:
    """It is told so whenever it lets itself be heard."""
    job, other = add(any_library), add(any_library)
    with any_library.work("ask") as work:
        work.jobs.ask_to_stop(job.id)
    with any_library.work("tell") as work:
        told = {job.id: Progress(), other.id: Progress()}
        assert work.jobs.hear("desk", told, when=NOON) == {job.id}


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
    with any_library.work("end") as work:
        work.jobs.end(7, JobOutcome(State.DONE, packed("[]")), Progress(), when=NOON)
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
