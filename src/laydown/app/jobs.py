"""Long work in the background: started at a door, run one after the other, kept in the library.

One thread does the work, so that two charts never fight for the processor. A second one, every few
seconds, writes down how far it has come and reads whether it is to be stopped; it never waits for a
library in use, for the user of it may be the very task that is being watched. What a job was asked
and what it found are kept in the library: a reload, a second window or a restart loses neither.

This is one of the three places where errors are caught.
"""

import contextlib
import logging
import threading
import uuid
from collections import OrderedDict
from collections.abc import Callable
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from typing import TypeVar

from laydown.app.kept_text import MOST_VALUES, from_text, to_text, values_in
from laydown.app.library import open_named
from laydown.app.tasks import JobTask, job_task
from laydown.errors import LaydownError, LibraryError, TooLargeError
from laydown.store.jobs import INTERRUPTED, MOST_UNPACKED, packed
from laydown.store.records import Job, JobOutcome, Progress, State
from laydown.store.stamps import now

__all__ = ["Job", "Jobs", "State"]

BEAT = 2.0
"""How often a running job lets itself be heard [s]."""
SILENCE = timedelta(seconds=20)
"""After so long without a word a job counts as interrupted."""
MOST_JOBS, LONGEST_KEPT = 200, timedelta(days=30)
"""How many jobs that are over are kept, and how long."""
MOST_BYTES_KEPT = 300_000_000
"""What they may take together."""
MOST_TEXT = MOST_UNPACKED
"""What a single request or result may have [bytes]."""
RESULTS_AT_HAND = 4
"""How many results stay in memory, for they are read again and again."""
TRIES = 12
"""How often the end of a job is written anew while the library is busy, ten seconds each."""

Changed = TypeVar("Changed")
_log = logging.getLogger(__name__)


class _StoppedError(Exception):
    """Raised out of a task that is to be stopped."""


@dataclass(slots=True, eq=False)
class _Running:
    """A job of this process that is not over."""

    progress: Progress = field(default_factory=Progress)
    to_be_stopped: bool = False
    future: "Future[None] | None" = None

    def watch(self, done: int, total: int) -> None:
        """Note how far it has come; raise where it is to be stopped."""
        self.progress = replace(self.progress, done=done, total=total)
        self.stop_if_asked()

    def tell(self, sentence: str) -> None:
        """Note what it is at; raise where it is to be stopped."""
        self.progress = replace(self.progress, message=sentence)
        self.stop_if_asked()

    def stop_if_asked(self) -> None:
        """Raise where it is to be stopped."""
        if self.to_be_stopped:
            raise _StoppedError


class Jobs:
    """The jobs of a library, and this process's hand in them. Any thread may call it.

    Parameters
    ----------
    location
        Path or URL of the library; empty for the usual place.
    clock
        Tells the present moment, in UTC.
    """

    def __init__(self, location: str, *, clock: Callable[[], datetime] = now) -> None:
        self._library = open_named(location)
        self._clock = clock
        self._owner = uuid.uuid4().hex
        self._running: dict[int, _Running] = {}
        self._at_hand: OrderedDict[int, object] = OrderedDict()
        self._books = threading.Lock()  # what is running, and what the library is told of it
        self._table = threading.Lock()  # what is at hand
        self._closing = threading.Event()
        self._worker = ThreadPoolExecutor(1, thread_name_prefix="laydown-job")
        self._keeper = threading.Thread(target=self._keep, name="laydown-job-keeper", daemon=True)
        self._mark_interrupted()
        self._keeper.start()

    def start(
        self, task: str, request: object, *, title: str = "", started_by: str = "", form: str = ""
    ) -> Job:
        """Start a job, or put it behind those that wait.

        Parameters
        ----------
        task
            Name in ``laydown.app.TASKS`` of what to do.
        request
            What to do it with.
        title
            What to call it before people.
        started_by
            At which place it was started.
        form
            How it was asked there, in the door's own words, for it to lead back.

        Raises
        ------
        TooLargeError
            When the request is too large to be kept.
        """
        known = job_task(task)
        if not isinstance(request, known.request):
            raise TypeError(f"{task} takes a {known.request.__name__}.")
        asked = _packed(to_text(request), "What this was to be made from")
        moment = self._clock()
        with self._books:
            with self._library.work("start a job") as work:
                work.jobs.make_room(
                    most=MOST_JOBS, most_bytes=MOST_BYTES_KEPT, age=LONGEST_KEPT, when=moment
                )
                job = work.jobs.add(
                    task,
                    asked,
                    title=title or task.replace("_", " "),
                    started_by=started_by,
                    owner=self._owner,
                    when=moment,
                    form=packed(form) if form else b"",
                )
            running = self._running[job.id] = _Running()
        running.future = self._worker.submit(self._run, job.id, known, request, running)
        return job

    def again(self, number: int, *, started_by: str = "") -> Job:
        """Start what a job was asked once more, as a job of its own."""
        job, request = self.get(number), self.request(number)
        form = self.form(number)
        return self.start(job.task, request, title=job.title, started_by=started_by, form=form)

    def get(self, number: int) -> Job:
        """Return a job as it stands now.

        Raises
        ------
        UnknownNameError
            For a number that none has, or none has any longer.
        """
        self._mark_interrupted()
        with self._library.look() as work:
            return self._as_it_stands(work.jobs.get(number))

    def all(self) -> tuple[Job, ...]:
        """Return all jobs as they stand now, the latest first."""
        self._mark_interrupted()
        with self._library.look() as work:
            return tuple(map(self._as_it_stands, work.jobs.all()))

    def request(self, number: int) -> object:
        """Return what a job was asked."""
        job = self.get(number)
        with self._library.look() as work:
            asked = work.jobs.asked(number)
        return _read(number, asked, lambda: job_task(job.task).request)

    def form(self, number: int) -> str:
        """Return how a job was asked at its door; empty where that isn't known."""
        with self._library.look() as work:
            return work.jobs.form(number)

    def result(self, number: int) -> object:
        """Return what a job found, the same as the task gave it.

        Raises
        ------
        UnknownNameError
            Where it has found nothing, or there is no such job.
        """
        with self._table:
            if number in self._at_hand:
                self._at_hand.move_to_end(number)
                return self._at_hand[number]
        with self._library.look() as work:
            task, found = work.jobs.get(number).task, work.jobs.found(number)
        result = _read(number, found, lambda: job_task(task).result)
        self._put_at_hand(number, result)
        return result

    def while_still(self, change: Callable[[], Changed]) -> Changed:
        """Change the library as a whole while no job of this process is under way.

        What earlier jobs found is read anew afterwards, for it may be another's by then.

        Raises
        ------
        LibraryError
            Where a job runs or waits.
        """
        with self._books:
            if self._running:
                raise LibraryError(
                    "Long work is under way on this library.",
                    hint="Wait until it is over, or stop it, and try again.",
                )
            changed = change()
        with self._table:
            self._at_hand.clear()
        return changed

    def cancel(self, number: int) -> Job:
        """Ask a job to stop; one that is over stays as it is.

        A job that runs stops at its next step. What it was doing to the library by then is undone,
        as with any command that is broken off.
        """
        running = self._running.get(number)
        if running is None:
            return self._cancel_elsewhere(number)
        running.to_be_stopped = True
        if running.future is not None and running.future.cancel():
            self._end(number, running, JobOutcome(State.CANCELLED))
        return self.get(number)

    def remove(self, number: int) -> None:
        """Put a job away that is over, with what it found; one that isn't is left alone."""
        if not self.get(number).state.is_over:
            return
        with self._library.work("put a job away") as work:
            work.jobs.remove(number)
        with self._table:
            self._at_hand.pop(number, None)

    def close(self) -> None:
        """Stop what runs, and let go of the library; what isn't finished counts as interrupted."""
        self._closing.set()
        for number, running in list(self._running.items()):
            running.to_be_stopped = True
            if running.future is not None and running.future.cancel():
                self._end(number, running, _interrupted())
        self._worker.shutdown()
        self._keeper.join()
        self._library.close()

    def __enter__(self) -> "Jobs":
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    # The thread that works

    def _run(self, number: int, task: JobTask, request: object, running: _Running) -> None:
        running.progress = replace(running.progress, started=self._clock())
        self._tell()
        self._end(number, running, self._outcome(number, task, request, running))

    def _outcome(
        self, number: int, task: JobTask, request: object, running: _Running
    ) -> JobOutcome:
        try:
            running.stop_if_asked()
            result = task(self._library, request, watch=running.watch, tell=running.tell)
            found = _packed(to_text(result), "What was found")
        except _StoppedError:
            return _interrupted() if self._closing.is_set() else JobOutcome(State.CANCELLED)
        except LaydownError as error:
            return JobOutcome(State.FAILED, message=error.message, hint=error.hint)
        except Exception as error:
            _log.exception("Job %d failed", number)
            return JobOutcome(
                State.FAILED,
                message=f"This is a fault of laydown, not yours: {type(error).__name__}: {error}",
                hint="Please report it, with what you asked for.",
            )
        self._put_at_hand(number, result)
        return JobOutcome(State.DONE, found)

    def _end(self, number: int, running: _Running, outcome: JobOutcome) -> None:
        """Write down how a job ended, however long the library is busy."""
        with self._books:
            for _ in range(TRIES):
                try:
                    with self._library.work("end a job") as work:
                        work.jobs.end(number, outcome, running.progress, when=self._clock())
                    break
                except LaydownError as error:
                    _log.warning("Job %d: %s", number, error.message)
            self._running.pop(number, None)

    # The thread that keeps the books

    def _keep(self) -> None:
        while not self._closing.wait(BEAT):
            if self._running:
                self._tell()

    def _tell(self) -> None:
        """Write down how far all have come, unless the library is in use; stop what is to stop."""
        stopping: frozenset[int] = frozenset()
        with self._books, contextlib.suppress(LaydownError):  # in use; it will be free again
            told = {number: running.progress for number, running in self._running.items()}
            with self._library.work("tell of jobs", waits=False) as work:
                stopping = work.jobs.hear(self._owner, told, when=self._clock())
        for number in stopping:
            self.cancel(number)

    def _mark_interrupted(self) -> None:
        moment = self._clock()
        since = moment - SILENCE
        with self._library.look() as work:
            if not work.jobs.unheard_of(since=since, but=self._owner):
                return
        with (
            contextlib.suppress(LaydownError),  # in use; whoever asks next marks them
            self._library.work("mark interrupted jobs", waits=False) as work,
        ):
            work.jobs.interrupt(since=since, but=self._owner, when=moment)

    # What both need

    def _as_it_stands(self, job: Job) -> Job:
        running = self._running.get(job.id)
        taken_for_lost = job.state is State.INTERRUPTED  # by another process, and wrongly
        if running is None or (job.state.is_over and not taken_for_lost):
            return job
        told = running.progress
        return replace(
            job,
            state=told.state,
            done=told.done,
            total=told.total,
            message=told.message,
            started=told.started,
        )

    def _cancel_elsewhere(self, number: int) -> Job:
        if not self.get(number).state.is_over:
            with self._library.work("ask a job to stop") as work:
                work.jobs.ask_to_stop(number)
        return self.get(number)

    def _put_at_hand(self, number: int, result: object) -> None:
        with self._table:
            self._at_hand[number] = result
            while len(self._at_hand) > RESULTS_AT_HAND:
                self._at_hand.popitem(last=False)


def _interrupted() -> JobOutcome:
    return JobOutcome(State.INTERRUPTED, message=INTERRUPTED)


def _packed(text: str, what: str) -> bytes:
    size = len(text.encode())
    if size > MOST_TEXT or values_in(text) > MOST_VALUES:
        raise TooLargeError(
            f"{what} takes {size / 1e6:.0f} MB; at most {MOST_TEXT / 1e6:.0f} MB are kept, of at "
            f"most {MOST_VALUES / 1e6:.0f} million numbers and words.",
            hint="Do it in smaller parts.",
        )
    return packed(text)


def _read(number: int, text: str, kind: Callable[[], type[object]]) -> object:
    """Read what is kept of a job; what was kept in another library may be anything."""
    try:
        return from_text(text, kind())
    except ValueError as error:
        raise LibraryError(
            f"What is kept of job {number} can't be read: it is damaged, or of another laydown.",
            hint="Put it away, and ask for it anew.",
        ) from error
