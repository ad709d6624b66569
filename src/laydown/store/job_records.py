"""What the store hands out of jobs: frozen, and free of any database."""

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum


class State(StrEnum):
    """How a job stands."""

    WAITING = "waiting"
    RUNNING = "running"
    DONE = "done"
    FAILED = "failed"
    CANCELLED = "cancelled"
    INTERRUPTED = "interrupted"

    @property
    def is_over(self) -> bool:
        """Whether it stays so."""
        return self not in (State.WAITING, State.RUNNING)


@dataclass(frozen=True, slots=True)
class Job:
    """A job.

    Parameters
    ----------
    id
        Its number in the library.
    task
        Name in ``laydown.app.TASKS`` of what it does.
    title
        What to call it before people.
    started_by
        At which place it was started, as the door calls that.
    state
        How it stands.
    done, total
        How far it has come, in steps of its own; a total of 0 is not known yet.
    message
        While it runs, what it is at; once it has failed, why: one sentence.
    hint
        What to do next, where it failed.
    bytes_kept
        What its request and its result take in the library.
    made, started, ended
        When, in UTC; None where it hasn't come to that.
    """

    id: int
    task: str
    title: str
    started_by: str
    state: State
    done: int
    total: int
    message: str
    hint: str
    bytes_kept: int
    made: datetime
    started: datetime | None
    ended: datetime | None


@dataclass(frozen=True, slots=True)
class Progress:
    """How far a job has come.

    Parameters
    ----------
    done, total, message
        As for a job.
    started
        When it began; None while it waits.
    """

    done: int = 0
    total: int = 0
    message: str = ""
    started: datetime | None = None

    @property
    def state(self) -> State:
        """Waiting, or running."""
        return State.RUNNING if self.started else State.WAITING


@dataclass(frozen=True, slots=True)
class Outcome:
    """How a job ended.

    Parameters
    ----------
    state
        One that stays.
    result
        What was found, as packed text; None where nothing was.
    message, hint
        As for a job.
    """

    state: State
    result: bytes | None = None
    message: str = ""
    hint: str = ""
