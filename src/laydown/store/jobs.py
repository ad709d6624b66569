"""Jobs in the library: what was asked, how far it has come, and what was found.

A job belongs to the process that runs it, its owner. While it waits or runs the owner lets itself
be heard every few seconds; a job of which nothing was heard for longer was interrupted. What the
owner says always holds, so that one who was only asleep takes its job up again.
"""

import zlib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta

from sqlalchemy import ColumnElement, delete, select, update
from sqlalchemy.orm import Session

from laydown.errors import UnknownNameError
from laydown.store.fields import SharedFields
from laydown.store.records import Job, JobOutcome, Progress, State
from laydown.store.tables import JobRow, JobTextRow
from laydown.store.trouble import DamagedError, from_rows

TOLD = SharedFields(Job, JobRow)
ASKED, FOUND, FORM = "asked", "found", "form"
INTERRUPTED = "laydown was closed before this was finished."
MOST_UNPACKED = 150_000_000
"""Bytes of one request or result; photographs take four thirds of theirs."""
LIVE = (State.WAITING, State.RUNNING)


@dataclass(frozen=True, slots=True)
class JobShelf:
    """The jobs of a library, within one transaction; made by `Work.jobs`."""

    session: Session

    def add(
        self,
        task: str,
        asked: bytes,
        *,
        title: str,
        started_by: str,
        owner: str,
        when: datetime,
        form: bytes = b"",
    ) -> Job:
        """Keep a job that waits to be run; what it is asked, and on what form, come `packed`."""
        row = JobRow(
            task=task,
            title=title[:300],
            started_by=started_by[:50],
            owner=owner,
            state=State.WAITING,
            done=0,
            total=0,
            message="",
            hint="",
            to_be_stopped=False,
            bytes_kept=0,
            made=when,
            heard_of=when,
        )
        self.session.add(row)
        self.session.flush()
        self._keep_text(row, ASKED, asked)
        if form:
            self._keep_text(row, FORM, form)
        return _job(row)

    def get(self, number: int) -> Job:
        """Return a job.

        Raises
        ------
        UnknownNameError
            For a number that none has, or none has any longer.
        """
        return _job(self._row(number))

    def all(self) -> tuple[Job, ...]:
        """Return all jobs, the latest first."""
        rows = self.session.scalars(select(JobRow).order_by(JobRow.id.desc()))
        return tuple(_job(row) for row in rows)

    def asked(self, number: int) -> str:
        """Return what a job was asked, as it was written."""
        return self._text(number, ASKED)

    def form(self, number: int) -> str:
        """Return the form that a job was asked on, as it was written; empty where none is kept."""
        row = self.session.get(JobTextRow, (number, FORM))
        return unpacked(row.content) if row else ""

    def found(self, number: int) -> str:
        """Return what a job found, as it was written.

        Raises
        ------
        UnknownNameError
            Where it has found nothing, or there is no such job.
        """
        return self._text(number, FOUND)

    def hear(self, owner: str, told: Mapping[int, Progress], *, when: datetime) -> frozenset[int]:
        """Take down how far an owner's jobs have come; return those that are to be stopped."""
        rows = self._owned(owner, told)
        for row in rows:
            progress = told[row.id]
            row.state, row.started = progress.state, progress.started
            row.done, row.total, row.message = progress.done, progress.total, progress.message
            row.ended, row.heard_of = None, when
        self.session.flush()
        return frozenset(row.id for row in rows if row.to_be_stopped)

    def end(self, number: int, outcome: JobOutcome, progress: Progress, *, when: datetime) -> None:
        """Take down how a job ended; nothing where it was put away meanwhile."""
        row = self.session.get(JobRow, number)
        if row is None:
            return
        row.state, row.message, row.hint = outcome.state, outcome.message, outcome.hint
        row.done, row.total, row.started = progress.done, progress.total, progress.started
        row.ended = row.heard_of = when
        if outcome.result is not None:
            self._keep_text(row, FOUND, outcome.result)
        self.session.flush()

    def ask_to_stop(self, number: int) -> None:
        """Leave word for its owner that a job is to be stopped."""
        self._row(number).to_be_stopped = True
        self.session.flush()

    def unheard_of(self, *, since: datetime, but: str) -> bool:
        """Return whether `interrupt` would find anything."""
        found = select(JobRow.id).where(*_silent(since, but)).limit(1)
        return self.session.scalar(found) is not None

    def interrupt(self, *, since: datetime, but: str, when: datetime) -> None:
        """Mark as interrupted what should be running and wasn't heard of since some moment.

        Parameters
        ----------
        since
            The moment.
        but
            An owner whose jobs are left alone: the one who asks.
        when
            Now.
        """
        marked = update(JobRow).where(*_silent(since, but))
        self.session.execute(
            marked.values(state=State.INTERRUPTED, message=INTERRUPTED, ended=when)
        )

    def remove(self, number: int) -> None:
        """Put a job away with all that is kept of it."""
        self._remove([self._row(number).id])

    def make_room(self, *, most: int, most_bytes: int, age: timedelta, when: datetime) -> None:
        """Put away jobs that are over and too old, and the oldest where there are too many.

        Parameters
        ----------
        most, most_bytes
            How many stay, and what they may take together.
        age
            How long ago they may have ended.
        when
            Now.
        """
        total, gone = 0, []
        over = [job for job in self.all() if job.state.is_over]
        for place, job in enumerate(over):
            total += job.bytes_kept
            old = job.ended is not None and job.ended < when - age
            if place >= most or total > most_bytes or old:
                gone.append(job.id)
        self._remove(gone)

    def _remove(self, numbers: Iterable[int]) -> None:
        for number in numbers:
            self.session.execute(delete(JobTextRow).where(JobTextRow.job_id == number))
            self.session.execute(delete(JobRow).where(JobRow.id == number))

    def _owned(self, owner: str, numbers: Iterable[int]) -> tuple[JobRow, ...]:
        own = select(JobRow).where(JobRow.owner == owner, JobRow.id.in_(list(numbers)))
        return tuple(self.session.scalars(own))

    def _keep_text(self, row: JobRow, part: str, content: bytes) -> None:
        self.session.merge(JobTextRow(job_id=row.id, part=part, content=content))
        row.bytes_kept += len(content)
        self.session.flush()

    def _text(self, number: int, part: str) -> str:
        row = self.session.get(JobTextRow, (number, part))
        if row is None:
            raise UnknownNameError(
                f"Nothing is kept of what job {number} {part}.",
                hint="Jobs are put away after a month, or when there are many: run it again.",
            )
        return unpacked(row.content)

    def _row(self, number: int) -> JobRow:
        row = self.session.get(JobRow, number)
        if row is None:
            raise UnknownNameError(
                f"There is no job {number} here.",
                hint="Jobs are put away after a month, or when there are many: run it again.",
            )
        return row


def packed(text: str) -> bytes:
    """Pack a text as it is kept; done before a transaction, since photographs take seconds."""
    return zlib.compress(text.encode())


@from_rows
def unpacked(content: bytes) -> str:
    """Unpack a text that is kept; one that would be longer than any of ours is not unpacked."""
    unpacking = zlib.decompressobj()
    text = unpacking.decompress(content, MOST_UNPACKED)
    if not unpacking.eof:
        raise DamagedError("what is packed in it breaks off, or is longer than laydown keeps")
    return text.decode()


def _silent(since: datetime, but: str) -> tuple[ColumnElement[bool], ...]:
    return JobRow.state.in_(LIVE), JobRow.owner != but, JobRow.heard_of < since


@from_rows
def _job(row: JobRow) -> Job:
    return TOLD.value(row)
