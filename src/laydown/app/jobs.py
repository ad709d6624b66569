"""Long work in the background: started at a door, run one after the other, kept in the library.

One thread does the work, so that two charts never fight for the processor. What a job was asked,
how it ended and what it found are kept in the library, so that a reload, a second window and a
restart find it; how far it has come is known here, where it runs.

This is one of the three places where errors are caught.
"""

import ctypes
import gc
import logging
import sys
import threading
from collections import OrderedDict
from collections.abc import Callable
from concurrent.futures import Future, ThreadPoolExecutor
from contextlib import suppress
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Any, TypeVar

from laydown.app.encoding import MOST_VALUES, from_text, to_text, values_in
from laydown.app.library import open_named
from laydown.app.tasks import BY_CLOCK, Watch, do_with, job_task, told_if_long, wait_words
from laydown.errors import LaydownError, LibraryError, LookOnlyError, TooLargeError, bounded
from laydown.store.columns import now
from laydown.store.jobs import INTERRUPTED, MOST_UNPACKED, packed
from laydown.store.records import Job, State

__all__ = ["Job", "Jobs", "State"]

MOST_JOBS, LONGEST_KEPT = 200, timedelta(days=30)
"""How many jobs that are over are kept, and how long."""
MOST_BYTES_KEPT = 300_000_000
"""What they may take together."""
MOST_TEXT = MOST_UNPACKED
"""What a single request or result may have [bytes]."""
RESULTS_AT_HAND = 4
"""How many results stay in memory, for they are read again and again."""
TRIES = 4
"""How often the end of a job is written anew while the library is busy, two minutes each."""

Changed = TypeVar("Changed")
_log = logging.getLogger(__name__)


class _StoppedError(Exception):
    """Raised out of a task that is to be stopped."""


@dataclass(slots=True, eq=False)
class _Live:
    """A job that is not over, as it stands."""

    job: Job
    to_be_stopped: bool = False
    future: "Future[None] | None" = None

    def note(self, **told: Any) -> None:
        """Note how it stands; raise where it is to be stopped."""
        self.job = replace(self.job, **told)
        if self.to_be_stopped:
            raise _StoppedError

    def watch(self, done: int, total: int) -> None:
        """Note how far it has come."""
        self.note(done=done, total=total)

    def tell(self, sentence: str) -> None:
        """Note what it is at."""
        self.note(message=sentence)


class Jobs:
    """The jobs of a library, and the thread that runs them. Any thread may call it.

    What was never ended when it is opened counts as interrupted: the bench is one process, and of
    others at the same server it is known which run. `location`: path or URL of the library; empty
    for the usual place. `clock`: tells the present moment, in UTC.
    """

    def __init__(self, location: str, *, clock: Callable[[], datetime] = now) -> None:
        self._library = open_named(location)
        self._present = self._library.present()
        self._clock = clock
        self._live: dict[int, _Live] = {}
        self._at_hand: OrderedDict[int, object] = OrderedDict()
        self._books = threading.Lock()  # what is live, and what the library is told of it
        self._table = threading.Lock()  # what is at hand
        self._closing = False
        self._worker = ThreadPoolExecutor(1, thread_name_prefix="laydown-job")
        self._mark_interrupted()

    def start(
        self, task: str, request: object, *, title: str = "", started_by: str = "", form: str = ""
    ) -> Job:
        """Start a job, or put it behind those that wait.

        Raises `TooLargeError` when the request is too large to be kept.

        `task`: name in ``laydown.app.TASKS`` of what to do. `title`: what to call it before people.
        `started_by`: at which place it was started. `form`: how it was asked there, in the door's
        own words, for it to lead back.
        """
        (_, kind, _), moment = job_task(task), self._clock()
        if not isinstance(request, kind):
            raise TypeError(f"{task} takes a {kind.__name__}.")
        asked = _packed(to_text(request), "What this was to be made from")
        told = {"title": title or task.replace("_", " "), "started_by": started_by}
        with self._books:
            with self._library.work("start a job") as work:
                room = {"most": MOST_JOBS, "most_bytes": MOST_BYTES_KEPT}
                work.jobs.make_room(**room, age=LONGEST_KEPT, when=moment)
                written = packed(form) if form else b""
                job = work.jobs.add(
                    task, asked, **told, when=moment, form=written, bench=self._present.number
                )
            live = self._live[job.id] = _Live(job)
            live.future = self._worker.submit(self._run, live, request)
            self._worker.submit(give_back_memory)
        return job

    def again(self, number: int, *, started_by: str = "") -> Job:
        """Start what a job was asked once more, as a job of its own."""
        job, request = self.get(number), self.request(number)
        form = self.form(number)
        return self.start(job.task, request, title=job.title, started_by=started_by, form=form)

    def get(self, number: int) -> Job:
        """Return a job as it stands now.

        Raises `UnknownNameError` for a number that none has, or none has any longer.
        """
        with self._library.look() as work:
            return self._as_it_stands(work.jobs.get(number))

    def all(self) -> tuple[Job, ...]:
        """Return all jobs as they stand now, the latest first."""
        with self._library.look() as work:
            return tuple(map(self._as_it_stands, work.jobs.all()))

    @property
    def under_way(self) -> int:
        """How many jobs run or wait."""
        return len(self._live)

    def request(self, number: int) -> object:
        """Return what a job was asked."""
        with self._library.look() as work:
            task, asked = work.jobs.get(number).task, work.jobs.asked(number)
        return _read(number, asked, lambda: job_task(task)[1])

    def form(self, number: int) -> str:
        """Return how a job was asked at its door; empty where that isn't known."""
        with self._library.look() as work:
            return work.jobs.form(number)

    def result(self, number: int) -> object:
        """Return what a job found, the same as the task gave it.

        Raises `UnknownNameError` where it has found nothing, or there is no such job.
        """
        with self._table:
            if number in self._at_hand:
                self._at_hand.move_to_end(number)
                return self._at_hand[number]
        with self._library.look() as work:
            task, found = work.jobs.get(number).task, work.jobs.found(number)
        result = _read(number, found, lambda: job_task(task)[2])
        self._put_at_hand(number, result)
        return result

    def while_still(self, change: Callable[[], Changed]) -> Changed:
        """Change the library as a whole while no job is under way.

        What earlier jobs found is read anew afterwards, for it may be another's by then. Raises
        `LibraryError` where a job runs or waits.
        """
        with self._books:
            if self._live:
                raise LibraryError(
                    "Long work is under way on this library.",
                    hint="Wait until it is over, or stop it, and try again.",
                )
            changed = change()
            self._mark_interrupted()
        with self._table:
            self._at_hand.clear()
        return changed

    def cancel(self, number: int) -> Job:
        """Ask a job to stop; one that is over stays as it is.

        A job that runs stops at its next step. What it was doing to the library by then is undone,
        as with any command that is broken off.
        """
        if live := self._live.get(number):
            self._stop(live, State.CANCELLED)
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
        self._closing = True
        for live in list(self._live.values()):
            self._stop(live, State.INTERRUPTED)
        self._worker.shutdown()
        self._present.end()
        self._library.close()

    def __enter__(self) -> "Jobs":
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    # The thread that works

    def _run(self, live: _Live, request: object) -> None:
        try:
            live.note(state=State.RUNNING, started=self._clock())
            task, *_ = job_task(live.job.task)
            watch: Watch = live.watch
            if live.job.task not in BY_CLOCK:
                watch = told_if_long(watch, lambda _, seconds: live.tell(wait_words(seconds)))
            offered = {"library": self._library, "watch": watch, "tell": live.tell}
            result = do_with(task, request=request, **offered)
            found = _packed(to_text(result), "What was found")
            self._put_at_hand(live.job.id, result)
            self._end(live, State.DONE, found=found)
        except _StoppedError:
            self._end(live, State.INTERRUPTED if self._closing else State.CANCELLED)
        except LaydownError as error:
            self._end(live, State.FAILED, error.message, error.hint)
        except Exception as error:
            _log.exception("Job %d failed", live.job.id)
            fault = f"This is a fault of laydown, not yours: {type(error).__name__}: {error}"
            self._end(
                live, State.FAILED, bounded(fault), "Please report it, with what you asked for."
            )

    def _stop(self, live: _Live, state: State) -> None:
        live.to_be_stopped = True
        if live.future is not None and live.future.cancel():  # it waited, and never begins
            self._end(live, state)

    def _end(
        self, live: _Live, state: State, message: str = "", hint: str = "", *, found: bytes = b""
    ) -> None:
        """Write down how a job ended, however long the library is busy."""
        message = message or (INTERRUPTED if state is State.INTERRUPTED else "")
        moment = self._clock()
        over = replace(live.job, state=state, message=message, hint=hint, ended=moment)
        with self._books:
            for _ in range(TRIES):
                try:
                    with self._library.work("end a job") as work:
                        work.jobs.end(over, found or None)
                    break
                except LaydownError as error:
                    _log.warning("Job %d: %s", live.job.id, error.message)
            self._live.pop(live.job.id, None)

    # What both need

    def _mark_interrupted(self) -> None:
        with self._library.look() as work:
            if not work.jobs.unended():
                return
        with suppress(LookOnlyError), self._library.work("mark interrupted jobs") as work:
            work.jobs.interrupt(self._clock())

    def _as_it_stands(self, job: Job) -> Job:
        live = self._live.get(job.id)
        taken_for_lost = job.state is State.INTERRUPTED  # by another process, and wrongly
        return job if live is None or (job.state.is_over and not taken_for_lost) else live.job

    def _put_at_hand(self, number: int, result: object) -> None:
        with self._table:
            self._at_hand[number] = result
            while len(self._at_hand) > RESULTS_AT_HAND:
                self._at_hand.popitem(last=False)


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


def give_back_memory() -> None:
    """Have the system take back what was freed.

    On Linux the C library keeps what it was given for as long as anything above it is in use; once
    a picture of a hundred megapixels was read, that is some hundred megabytes for as long as the
    bench is open. Other systems take it back by themselves.
    """
    gc.collect()
    if sys.platform.startswith("linux"):
        trim = getattr(ctypes.CDLL(None), "malloc_trim", None)  # which only glibc has
        if trim is not None:
            trim(0)
