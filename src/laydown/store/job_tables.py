"""The tables of jobs: long work that a door started, and what came of it.

What was asked and what was found stand in a table of their own, since the row of a job is written
again and again while it runs. The journal leaves jobs alone: a job is no change to take back.
"""

from datetime import datetime

from sqlalchemy import ForeignKey, LargeBinary, String, Text
from sqlalchemy.orm import Mapped, mapped_column

from laydown.store.tables import Table


class JobRow(Table):
    """A job as it was last told."""

    __tablename__ = "jobs"

    id: Mapped[int] = mapped_column(primary_key=True)
    task: Mapped[str] = mapped_column(String(50))
    title: Mapped[str] = mapped_column(String(300))
    started_by: Mapped[str] = mapped_column(String(50))
    owner: Mapped[str] = mapped_column(String(32))
    state: Mapped[str] = mapped_column(String(20), index=True)
    done: Mapped[int]
    total: Mapped[int]
    message: Mapped[str] = mapped_column(Text)
    hint: Mapped[str] = mapped_column(Text)
    to_be_stopped: Mapped[bool]
    bytes_kept: Mapped[int]
    made: Mapped[datetime]
    started: Mapped[datetime | None]
    ended: Mapped[datetime | None]
    heard_of: Mapped[datetime]


class JobTextRow(Table):
    """What a job was asked, or what it found, packed."""

    __tablename__ = "job_texts"

    job_id: Mapped[int] = mapped_column(ForeignKey("jobs.id"), primary_key=True)
    part: Mapped[str] = mapped_column(String(10), primary_key=True)
    content: Mapped[bytes] = mapped_column(LargeBinary)
