"""Jobs in the library: what was asked, how it ended, and what was found.

A job is written twice, as it begins and as it ends; how far it has come between is known to the
process that runs it. One that was never ended is one that a closed or killed process broke off.
"""

import zlib
from collections.abc import Iterable
from datetime import datetime, timedelta

from sqlalchemy import ColumnElement, delete, func, select, update

from laydown.errors import UnknownNameError
from laydown.store import files, shelf, trouble
from laydown.store.records import Job, State
from laydown.store.tables import JobRow, JobTextRow

KEPT = shelf.SharedFields(Job, JobRow)
ASKED, FOUND, FORM = "asked", "found", "form"
LIVE = (State.WAITING, State.RUNNING)
INTERRUPTED = "laydown was closed before this was finished."
GONE_HINT = "Jobs are put away after a month, or when there are many: run it again."
MOST_UNPACKED = 150_000_000
"""Bytes of one request or result; photographs take four thirds of theirs."""


class JobShelf(shelf.NumberedShelf[JobRow, Job]):
    """The jobs of a library; see `Work.jobs`."""

    table, missing, hint = JobRow, "There is no job {} here.", GONE_HINT

    @trouble.from_rows
    def value(self, row: JobRow) -> Job:
        """Return a job."""
        return KEPT.value(row)

    def add(
        self,
        task: str,
        asked: bytes,
        *,
        title: str,
        started_by: str,
        when: datetime,
        form: bytes = b"",
        bench: int = 0,
    ) -> Job:
        """Keep a job that waits to be run; what it is asked, and on what form, come `packed`."""
        row = JobRow(
            task=task,
            title=title[:300],
            started_by=started_by[:50],
            state=State.WAITING,
            made=when,
            bench=bench,
        )
        self._keep_text(self.kept(row), ASKED, asked)
        if form:
            self._keep_text(row, FORM, form)
        return self.value(row)

    def asked(self, number: int) -> str:
        """Return what a job was asked, as it was written."""
        return self._text(number, ASKED)

    def form(self, number: int) -> str:
        """Return the form that a job was asked on, as it was written; empty where none is kept."""
        row = self.session.get(JobTextRow, (number, FORM))
        return unpacked(row.content) if row else ""

    def found(self, number: int) -> str:
        """Return what a job found, as it was written; `UnknownNameError` where it has nothing."""
        return self._text(number, FOUND)

    def end(self, job: Job, found: bytes | None = None) -> None:
        """Take down how a job ended, and what it found; nothing where it was put away meanwhile."""
        row = self.session.get(JobRow, job.id)
        if row is None:
            return
        row.state, row.message, row.hint = job.state, job.message, job.hint
        row.done, row.total, row.started, row.ended = job.done, job.total, job.started, job.ended
        if found is not None:
            self._keep_text(row, FOUND, found)
        self.session.flush()

    def unended(self) -> int:
        """Count what was never ended, nor is under way at another bench of a server."""
        live = select(func.count(JobRow.id)).where(*self._broken_off())
        return self.session.scalar(live) or 0

    def interrupt(self, when: datetime) -> None:
        """Mark as interrupted what was never ended, nor is under way at another bench."""
        live = update(JobRow).where(*self._broken_off())
        self.session.execute(live.values(state=State.INTERRUPTED, message=INTERRUPTED, ended=when))

    def _broken_off(self) -> tuple[ColumnElement[bool], ...]:
        return JobRow.state.in_(LIVE), JobRow.bench.not_in(files.present(self.session))

    def remove(self, number: int) -> Job:
        """Put a job away with all that is kept of it, and return what it was."""
        gone = self.get(number)
        self._remove([number])
        return gone

    def make_room(self, *, most: int, most_bytes: int, age: timedelta, when: datetime) -> None:
        """Put away jobs that are over and ended longer ago than `age`, and the oldest of too many.

        `most` stay, and may take `most_bytes` together.
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

    def _keep_text(self, row: JobRow, part: str, content: bytes) -> None:
        self.session.merge(JobTextRow(job_id=row.id, part=part, content=content))
        row.bytes_kept += len(content)
        self.session.flush()

    def _text(self, number: int, part: str) -> str:
        row = self.session.get(JobTextRow, (number, part))
        if row is None:
            raise UnknownNameError(f"Nothing is kept of what job {number} {part}.", hint=GONE_HINT)
        return unpacked(row.content)


def packed(text: str) -> bytes:
    """Pack a text as it is kept; done before a transaction, since photographs take seconds."""
    return zlib.compress(text.encode())


@trouble.from_rows
def unpacked(content: bytes) -> str:
    """Unpack a text that is kept; one that would be longer than any of ours is not unpacked."""
    unpacking = zlib.decompressobj()
    text = unpacking.decompress(content, MOST_UNPACKED)
    if not unpacking.eof:
        raise trouble.DamagedError(
            "what is packed in it breaks off, or is longer than laydown keeps"
        )
    return text.decode()
